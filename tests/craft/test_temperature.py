"""Temperatures against NIST SP 811 and as people write them."""

from typing import Any

import pytest

from shop.craft.temperature import (
    TemperatureError,
    celsius_of_fahrenheit,
    check_celsius,
    kelvin_of_celsius,
    parse_temperature,
)
from tests.craft.figures import figures


@pytest.mark.parametrize("case", figures("unit-F"), ids=lambda case: case["id"])
def test_converts_as_the_outside_figures_say(case: dict[str, Any]) -> None:
    # NIST SP 811, appendix B.8, as named in the figure's source.
    celsius = celsius_of_fahrenheit(case["inputs"]["t_F"])
    assert celsius == pytest.approx(case["expected"]["t_C"], abs=1e-6)
    assert kelvin_of_celsius(celsius) == pytest.approx(case["expected"]["T_K"], abs=1e-6)


@pytest.mark.parametrize(
    ("text", "celsius"),
    [
        ("20", 20),
        ("20 °C", 20),
        ("20C", 20),
        ("68 °F", 20),
        ("68 f", 20),
        ("-3,5", -3.5),
        ("293.15 K", 20),
        ("+4", 4),
        ("68 degrees Fahrenheit", 20),
        ("20 deg c", 20),
        ("-40", -40),
        ("80", 80),
    ],
)
def test_reads_what_people_write(text: str, celsius: float) -> None:
    assert parse_temperature(text) == pytest.approx(celsius)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "warm",
        "20 R",
        "nan",
        "999",
        "-40.1",
        "80.1",
        "1e2",
        "20 elsius",
        "20 Kelsius",
        "٣",
        "٢٠ °C",
        "２０",
    ],
)
def test_refuses_what_is_no_temperature_of_a_shop(text: str) -> None:
    with pytest.raises(TemperatureError):
        parse_temperature(text)


@pytest.mark.parametrize("celsius", [float("nan"), float("inf"), 80.1, -40.1])
def test_refuses_numbers_that_are_no_temperature_of_a_shop(celsius: float) -> None:
    with pytest.raises(TemperatureError):
        check_celsius(celsius)


def test_takes_the_unit_that_is_usual_here() -> None:
    assert parse_temperature("68", "F") == pytest.approx(20)
    assert parse_temperature("20 C", "F") == 20


def test_says_what_a_shop_s_temperature_may_be() -> None:
    with pytest.raises(TemperatureError, match=r"^200 °C is not .* between -40 and 80 °C\.$"):
        parse_temperature("200")
