"""Measured figures: reading, writing, and the ends of a tolerance."""

import pytest

from shop.craft.quantities import (
    Dimension,
    Quantity,
    QuantityError,
    format_quantity,
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
        ("9", Dimension.COUNT, 9_000_000, "9"),
    ],
)
def test_reads_and_writes_figures(text: str, dimension: Dimension, amount: int, shown: str) -> None:
    quantity = parse_quantity(text)
    assert quantity == Quantity(dimension, amount)
    assert format_quantity(quantity) == shown


@pytest.mark.parametrize("text", ["", "heavy", "3 bananas", "1e400 g", "nan g", "9" * 30 + " g"])
def test_refuses_what_is_no_figure(text: str) -> None:
    with pytest.raises(QuantityError):
        parse_quantity(text)


def test_refuses_a_figure_of_another_kind() -> None:
    with pytest.raises(QuantityError, match="a mass; a length is asked for"):
        parse_quantity("62 g", Dimension.LENGTH)


@pytest.mark.parametrize(
    ("measured", "inside"),
    [("7 31/32 in", True), ("8 1/32 in", True), ("8 in", True), ("203.99376 mm", False), ("7.9 in", False)],
)
def test_a_tolerance_holds_to_its_ends(measured: str, inside: bool) -> None:
    nominal, tolerance = parse_quantity("8 in"), parse_quantity("1/32 in")
    assert within(parse_quantity(measured), nominal, tolerance) is inside


def test_compares_only_what_is_alike() -> None:
    with pytest.raises(QuantityError):
        within(parse_quantity("8 g"), parse_quantity("8 in"), parse_quantity("1/32 in"))
