"""Measured figures: reading, writing, and the ends of a tolerance."""

import pytest

from shop.craft.quantities import (
    Dimension,
    Quantity,
    QuantityError,
    format_quantity,
    is_fine,
    parse_quantity,
    within,
)


@pytest.mark.parametrize(
    ("text", "dimension", "amount", "shown"),
    [
        ("8 3/16 in", Dimension.LENGTH, 207_962_500, "8 3/16 in (207.9625 mm)"),
        ("62 g", Dimension.MASS, 62_000_000, "62 g"),
        # NIST SP 811, appendix B.8: 1 oz (avoirdupois) is 28.349523125 g exactly.
        ("1 oz", Dimension.MASS, 28_349_523, "28.349523 g"),
        ("3 deg", Dimension.ANGLE, 3_000_000, "3°"),
        ("3°", Dimension.ANGLE, 3_000_000, "3°"),
        ("21 °C", Dimension.TEMPERATURE, 21_000, "21 °C"),
        ("-2,5 g", Dimension.MASS, -2_500_000, "-2.5 g"),
        ("68 °F", Dimension.TEMPERATURE, 20_000, "20 °C"),
        ("-40 F", Dimension.TEMPERATURE, -40_000, "-40 °C"),
        ("1.2345 °C", Dimension.TEMPERATURE, 1_235, "1.235 °C"),
        ("0.0000005 g", Dimension.MASS, 1, "0.000001 g"),
        (".5 deg", Dimension.ANGLE, 500_000, "0.5°"),
        ("+2 degrees", Dimension.ANGLE, 2_000_000, "2°"),
        ("62 grams", Dimension.MASS, 62_000_000, "62 g"),
        ("-1/2 in", Dimension.LENGTH, -12_700_000, "-1/2 in (-12.7 mm)"),
        ("9", Dimension.COUNT, 9_000_000, "9"),
    ],
)
def test_reads_and_writes_figures(text: str, dimension: Dimension, amount: int, shown: str) -> None:
    quantity = parse_quantity(text)
    assert quantity == Quantity(dimension, amount)
    assert format_quantity(quantity) == shown


@pytest.mark.parametrize(
    ("tolerance", "fine", "shown"),
    [
        ("0.003 in", True, "0.596 in (15.1384 mm)"),
        ("0 mm", True, "0.596 in (15.1384 mm)"),
        # 1/64 in is 0.396875 mm exactly.
        ("0.396874 mm", True, "0.596 in (15.1384 mm)"),
        ("1/64 in", False, "19/32 in (15.1384 mm)"),
        ("1/8 in", False, "19/32 in (15.1384 mm)"),
        ("0.1 g", False, "19/32 in (15.1384 mm)"),
    ],
)
def test_a_length_held_closer_than_a_64th_is_shown_in_decimals(
    tolerance: str, fine: bool, shown: str
) -> None:
    assert is_fine(parse_quantity(tolerance)) is fine
    assert format_quantity(parse_quantity("0.596 in"), fine) == shown


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("0.003 in", "0.003 in (0.0762 mm)"),
        ("-0.0005 in", "-0.0005 in (-0.0127 mm)"),
        ("1 in", "1.000 in (25.4 mm)"),
        ("62 g", "62 g"),
        ("3°", "3°"),
    ],
)
def test_a_fine_figure_keeps_its_unit(text: str, shown: str) -> None:
    assert format_quantity(parse_quantity(text), fine=True) == shown


@pytest.mark.parametrize("text", ["", "heavy", "3 bananas", "1e400 g", "nan g", "9" * 30 + " g", "1,250 g"])
def test_refuses_what_is_no_figure(text: str) -> None:
    with pytest.raises(QuantityError):
        parse_quantity(text)


def test_refuses_a_figure_of_another_kind() -> None:
    with pytest.raises(QuantityError, match="a mass; a length is asked for"):
        parse_quantity("62 g", Dimension.LENGTH)
    with pytest.raises(QuantityError, match="a count; an angle is asked for"):
        parse_quantity("9", Dimension.ANGLE)
    with pytest.raises(QuantityError, match="missing"):
        parse_quantity(" ")


@pytest.mark.parametrize(
    ("measured", "inside"),
    [("7 31/32 in", True), ("8 1/32 in", True), ("8 in", True), ("203.99376 mm", False), ("7.9 in", False)],
)
def test_a_tolerance_holds_to_its_ends(measured: str, inside: bool) -> None:
    nominal, tolerance = parse_quantity("8 in"), parse_quantity("1/32 in")
    assert within(parse_quantity(measured), nominal, tolerance) is inside


@pytest.mark.parametrize(
    ("measured", "nominal", "tolerance", "says"),
    [
        ("8 g", "8 in", "1/32 in", "^A mass cannot be compared with a length.$"),
        ("3°", "3°", "1 g", "^An angle cannot be compared with a mass.$"),
    ],
)
def test_compares_only_what_is_alike(measured: str, nominal: str, tolerance: str, says: str) -> None:
    with pytest.raises(QuantityError, match=says):
        within(parse_quantity(measured), parse_quantity(nominal), parse_quantity(tolerance))
