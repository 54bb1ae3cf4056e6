"""Lengths against outside figures, against `fractions.Fraction`, and as people mistype them."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.lengths import (
    NM_PER_64TH,
    NM_PER_INCH,
    NM_PER_MM,
    LengthError,
    format_inches,
    format_mm,
    mm_of,
    nm_of_mm,
    parse_length,
)
from tests.craft.figures import figure, figures


def test_the_inch_is_exact() -> None:
    # NIST SP 811, appendix B.8: 1 in = 25.4 mm exactly.
    assert (NM_PER_INCH, NM_PER_64TH * 64) == (25_400_000, 25_400_000)


@pytest.mark.parametrize("case", figures("frac-parse"), ids=lambda case: case["id"])
def test_reads_inches_as_the_outside_figures_say(case: dict[str, Any]) -> None:
    nm = parse_length(case["inputs"]["text"], "in")
    assert nm / NM_PER_MM == pytest.approx(case["expected"]["mm"], abs=1e-9)
    assert nm / NM_PER_INCH == pytest.approx(case["expected"]["inches"], abs=1e-9)


@pytest.mark.parametrize("case", figures("frac-format"), ids=lambda case: case["id"])
def test_writes_inches_as_the_outside_figures_say(case: dict[str, Any]) -> None:
    value, unit = case["inputs"]["value"], case["inputs"]["unit"]
    nm = nm_of_mm(value) if unit == "mm" else parse_length(f"{value} in")
    assert format_inches(nm, case["inputs"]["denominator"]) == case["expected"]["text"]


@given(st.integers(-(10**9), 10**9))
def test_the_rounding_to_a_64th_is_never_off_by_more_than_half_of_one(nm: int) -> None:
    most_mm = figure("frac-max-rounding-error-64")["expected"]["max_error_mm"]
    shown = parse_length(f"{format_inches(nm)} in")
    assert abs(shown - nm) <= most_mm * NM_PER_MM


@given(st.integers(0, 3000), st.integers(0, 63))
def test_every_64th_reads_back_as_itself(whole: int, parts: int) -> None:
    nm = parse_length(f"{whole} {parts}/64 in")
    assert Fraction(nm, NM_PER_INCH) == whole + Fraction(parts, 64)
    assert parse_length(f"{format_inches(nm)} in") == nm


@given(st.integers(-(10**10), 10**10))
def test_millimetres_read_back_as_themselves(nm: int) -> None:
    assert parse_length(f"{format_mm(nm)} mm") == nm
    assert nm_of_mm(mm_of(nm)) == nm


@pytest.mark.parametrize(
    ("text", "nm"),
    [
        ("8 3/16 in", 207_962_500),
        ('8-3/16"', 207_962_500),
        ("8 3/16 inches", 207_962_500),
        ("207.9625 mm", 207_962_500),
        ("207,9625 mm", 207_962_500),
        ("20.8 cm", 208_000_000),
        ("2.1 m", 2_100_000_000),
        ("6' 6 1/2\"", 1_993_900_000),
        ("6 ft 6 in", 1_981_200_000),
        ("9 ft", 2_743_200_000),
        ("6 1/2 ft", 1_981_200_000),
        ("6.5'", 1_981_200_000),
        ("6' 6''", 1_981_200_000),
        ("8 3⁄16 in", 207_962_500),
        ("+3/16 in", 4_762_500),
        ("0,498 in", 12_649_200),
        ("1234,5 mm", 1_234_500_000),
        ("2⅜ in", 60_325_000),
        (".5 in", 12_700_000),
        ("0 mm", 0),
        ("-1/2 in", -12_700_000),
        ("0.0000005 mm", 1),
    ],
)
def test_reads_what_people_write(text: str, nm: int) -> None:
    assert parse_length(text) == nm


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "missing"),
        ("8 3/16", "no unit"),
        ("12", "no unit"),
        ("8 3/0 in", "divides by zero"),
        ("eight inches", "not a length"),
        ("8 3/16 furlongs", "unit"),
        ("nan mm", "not a length"),
        ("inf mm", "not a length"),
        ("1e9 mm", "not a length"),
        ("200 m", "100 m"),
        ("1,234 mm", "two ways"),
        ("6 ft 20 cm", "only inches follow"),
        ("--1 in", "not a length"),
        ("1 2 3 in", "not a length"),
        ("9" * 80, "too long"),
    ],
)
def test_says_what_is_wrong_with_a_length(text: str, says: str) -> None:
    with pytest.raises(LengthError, match=says):
        parse_length(text)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), 1e300, -100_001, Decimal("1e999999"), True])
def test_refuses_numbers_that_are_no_length(value: float | Decimal) -> None:
    with pytest.raises(LengthError):
        nm_of_mm(value)


@pytest.mark.parametrize(
    ("value", "nm"),
    [
        (207.9625, 207_962_500),
        (0.0000005, 1),
        (-0.0000005, -1),
        (0.0000004, 0),
        (5e-324, 0),
        (100_000, 10**11),
    ],
)
def test_takes_millimetres_by_the_decimal_that_was_written(value: float, nm: int) -> None:
    assert nm_of_mm(value) == nm


@given(st.integers(0, 10**6), st.integers(1, 10**6), st.integers(1, 999))
def test_reads_any_fraction_as_exact_arithmetic_does(whole: int, above: int, below: int) -> None:
    exact = (whole + Fraction(above, below)) * NM_PER_INCH
    text = f"{whole} {above}/{below} in"
    if exact > 100_000 * NM_PER_MM:
        with pytest.raises(LengthError, match="100 m"):
            parse_length(text)
    else:
        assert abs(parse_length(text) - exact) <= Fraction(1, 2)


@given(st.integers(-(10**10), 10**10), st.sampled_from([16, 32, 64]))
def test_writes_the_nearest_fraction_halves_away_from_zero(nm: int, denominator: int) -> None:
    parts = Fraction(nm * denominator, NM_PER_INCH)
    shown = Fraction(parse_length(f"{format_inches(nm, denominator)} in") * denominator, NM_PER_INCH)
    nearest = [n for n in (shown - 1, shown, shown + 1) if abs(n - parts) <= Fraction(1, 2)]
    assert shown == max(nearest, key=abs)
