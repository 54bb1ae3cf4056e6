"""Temperatures: degrees Celsius inside, Fahrenheit and kelvin at the edges.

t/°C = (t/°F − 32)/1.8 and T/K = t/°C + 273.15, both exact (NIST SP 811, appendix B.8).
"""

import re
from math import isfinite
from typing import Literal

ZERO_CELSIUS_K = 273.15
# What a thermometer can read in a shop, wherever the figure is typed, posted or logged; from memory.
COLDEST_SHOP_C = -40.0
WARMEST_SHOP_C = 80.0

_TEXT = re.compile(
    r"(?P<number>[-−+]?[0-9]+(?:[.,][0-9]+)?)\s*(?:°|deg(?:rees)?\b)?\s*"
    r"(?P<unit>c(?:elsius)?|f(?:ahrenheit)?|k(?:elvin)?)?",
    re.IGNORECASE,
)


class TemperatureError(ValueError):
    """A temperature that cannot be; its text is a sentence for a person."""


def celsius_of_fahrenheit(fahrenheit: float) -> float:
    """Degrees Fahrenheit as degrees Celsius."""
    return (fahrenheit - 32) / 1.8


def kelvin_of_celsius(celsius: float) -> float:
    """Degrees Celsius as kelvin."""
    return celsius + ZERO_CELSIUS_K


def parse_temperature(text: str, default_unit: Literal["C", "F", "K"] = "C") -> float:
    """A temperature as people write it (`68 °F`, `20 C`, `20`), in °C. Raises `TemperatureError`."""
    found = _TEXT.fullmatch(text.strip())
    if found is None:
        raise TemperatureError(f"“{text.strip()}” is not a temperature; write it like 20 °C or 68 °F.")
    number = float(found["number"].replace("−", "-").replace(",", "."))
    unit = (found["unit"] or default_unit)[0].upper()
    if unit == "F":
        number = celsius_of_fahrenheit(number)
    elif unit == "K":
        number -= ZERO_CELSIUS_K
    return check_celsius(number)


def check_celsius(celsius: float) -> float:
    """The temperature, if it can be that of a shop. Raises `TemperatureError`."""
    if not isfinite(celsius):
        raise TemperatureError("A temperature is a finite number.")
    if not COLDEST_SHOP_C <= celsius <= WARMEST_SHOP_C:
        raise TemperatureError(
            f"{celsius:g} °C is not the temperature of a shop; "
            f"one lies between {COLDEST_SHOP_C:g} and {WARMEST_SHOP_C:g} °C."
        )
    return celsius
