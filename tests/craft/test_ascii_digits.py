"""Figures are read from the digits 0 to 9 alone, wherever they are typed: Python would read others too."""

from collections.abc import Callable
from datetime import UTC
from typing import Any

import pytest

from shop.craft.lengths import LengthError, parse_length
from shop.craft.quantities import parse_quantity
from shop.craft.temperature import TemperatureError, parse_temperature
from shop.rules.hours import parse_time
from shop.rules.logger_files import read_rows
from tests.rules.builders import after

# Arabic-Indic, Devanagari and full-width digits.
OTHERS = ("٣", "३", "３")


@pytest.mark.parametrize("digit", OTHERS)
@pytest.mark.parametrize(
    ("read", "fault", "shape"),
    [
        (parse_temperature, TemperatureError, "{} °C"),
        (parse_temperature, TemperatureError, "1.{}"),
        (parse_length, LengthError, "{} mm"),
        (parse_length, LengthError, "1 {}/8 in"),
        (parse_length, LengthError, "6' {}\""),
        (parse_quantity, ValueError, "{} g"),
    ],
)
def test_no_other_digit_is_a_figure(
    read: Callable[[str], Any], fault: type[Exception], shape: str, digit: str
) -> None:
    assert read(shape.format(3)) is not None
    with pytest.raises(fault):
        read(shape.format(digit))


@pytest.mark.parametrize("digit", OTHERS)
def test_no_other_digit_is_a_time_of_day_or_a_logger_s_reading(digit: str) -> None:
    assert parse_time("3:00") is not None
    assert parse_time(f"{digit}:00") is None
    head = (1, ("time", "celsius"))
    told = read_rows([head, (2, ("2026-03-02 09:00", f"1{digit}"))], UTC, after(1))
    assert (told.readings, [fault.line for fault in told.faults]) == ([], [2])
    right = read_rows([head, (2, ("2026-03-02 09:00", "13"))], UTC, after(1))
    assert len(right.readings) == 1
