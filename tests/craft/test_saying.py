"""How figures are written: rounded half away from zero, in both units, without noise behind the point."""

from datetime import date
from typing import Any

import pytest

from shop.craft.lengths import parse_length
from shop.craft.saying import plain
from shop.craft.sums.base import Kind
from shop.craft.sums.saying import say


@pytest.mark.parametrize(
    ("kind", "value", "said"),
    [
        (Kind.LENGTH, parse_length("3 15/16 in"), "3 15/16 in (100.01 mm)"),
        (Kind.LENGTH, parse_length("1/8 in"), "1/8 in (3.18 mm)"),  # 3.175 mm, a half
        (Kind.LENGTH, -parse_length("1/8 in"), "-1/8 in (-3.18 mm)"),
        (Kind.LENGTH, 0, "0 in (0 mm)"),
        (Kind.FINE, parse_length("0.865 in"), "0.865 in (21.97 mm)"),
        (Kind.FINE, parse_length("0.00375 in"), "0.0038 in (0.095 mm)"),
        (Kind.FINE, parse_length("1 in"), "1.000 in (25.4 mm)"),
        (Kind.FINE, 1, "0.000 in (0 mm)"),
        (Kind.MASS, 62.0, "62 g"),
        (Kind.VOLUME, 5.8695, "5.87 mL"),
        (Kind.ANGLE, 67.96, "67.96°"),
        (Kind.MONEY, 72220, "722.20"),
        (Kind.MONEY, -5, "-0.05"),
        (Kind.YES, True, "yes"),
        (Kind.DAY, date(2026, 3, 2), "2026-03-02"),
        (Kind.TEXT, "tip →", "tip →"),
        (Kind.COUNT, None, "–"),
    ],
)
def test_a_value_is_written_as_a_builder_reads_it(kind: Kind, value: Any, said: str) -> None:
    assert say(kind, value) == said


def test_a_number_carries_the_unit_it_is_given_with() -> None:
    assert say(Kind.NUMBER, 22.22, "%") == "22.22 %"
    assert say(Kind.NUMBER, 3.0) == "3"


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (1234.5678, "1234.6"),
        (12.3456, "12.35"),
        (1.23456, "1.235"),
        (0.123456, "0.1235"),
        (0.00001234, "1.23e-05"),
        (0.0, "0"),
        (-0.5, "-0.5"),
        (7, "7"),
    ],
)
def test_a_plain_number_shows_about_four_figures(value: float, said: str) -> None:
    assert plain(value) == said
