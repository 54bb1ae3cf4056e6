"""Measured figures of a known dimension, exact: lengths, masses, angles, temperatures, plain counts.

A figure is a whole number of a small unit, so that comparing it with a tolerance never depends on how
floats round. 1 oz (avoirdupois) is 28.349523125 g exactly, and
t/°C = (t/°F − 32)/1.8 (NIST SP 811, appendix B.8).
"""

import re
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from shop.craft.lengths import (
    NM_PER_64TH,
    LengthError,
    format_inches,
    format_mm,
    fraction_of_decimal,
    half_away,
    parse_length,
)
from shop.craft.saying import fine_inches

MILLION = 1_000_000
MOST = 10**15


class Dimension(StrEnum):
    """What a figure measures. The unit of `amount`: nm, µg, 1e-6 °, 1e-3 °C, millionths."""

    LENGTH = "length"
    MASS = "mass"
    ANGLE = "angle"
    TEMPERATURE = "temperature"
    COUNT = "count"


class QuantityError(ValueError):
    """A figure that cannot be read or compared; its text is a sentence for a person."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A figure: a whole number of its dimension's small unit."""

    dimension: Dimension
    amount: int


_UNITS: dict[str, tuple[Dimension, Fraction]] = {
    "mg": (Dimension.MASS, Fraction(1000)),
    "kg": (Dimension.MASS, Fraction(1000 * MILLION)),
    **dict.fromkeys(("g", "gram", "grams"), (Dimension.MASS, Fraction(MILLION))),
    **dict.fromkeys(("oz", "ounce", "ounces"), (Dimension.MASS, Fraction("28.349523125") * MILLION)),
    **dict.fromkeys(("°", "deg", "degree", "degrees"), (Dimension.ANGLE, Fraction(MILLION))),
    **dict.fromkeys(("°c", "c", "°f", "f"), (Dimension.TEMPERATURE, Fraction(1000))),
    "": (Dimension.COUNT, Fraction(MILLION)),
}
_TEXT = re.compile(
    r"(?P<sign>[-−+]?)(?P<number>[0-9]+(?:[.,][0-9]+)?|\.[0-9]+)\s*(?P<unit>°\s*[cCfF]|°|[a-zA-Z]*)\.?"
)


def parse_quantity(text: str, dimension: Dimension | None = None) -> Quantity:
    """A figure as people write it: `8 3/16 in`, `62 g`, `2.2 oz`, `3°`, `21 °C`, `9`. Raises `QuantityError`.

    With `dimension` given, a figure of another dimension is refused. What is not a whole number of the
    dimension's small unit is rounded half away from zero.
    """
    shown = text.strip()
    if not shown:
        raise QuantityError("The figure is missing.")
    try:
        quantity = _read(shown)
    except LengthError as fault:
        raise QuantityError(f"{fault} A mass is in g or oz, an angle in °, a temperature in °C.") from fault
    if abs(quantity.amount) > MOST:
        raise QuantityError(f"“{shown}” is far too large for anything in a rod shop.")
    if dimension is not None and quantity.dimension is not dimension:
        raise QuantityError(f"“{shown}” is {_a(quantity.dimension)}; {_a(dimension)} is asked for.")
    return quantity


def _read(shown: str) -> Quantity:
    found = _TEXT.fullmatch(shown)
    unit = "".join(found["unit"].lower().split()) if found is not None else ""
    if found is None or unit not in _UNITS:
        return Quantity(Dimension.LENGTH, parse_length(shown))
    kind, size = _UNITS[unit]
    number = fraction_of_decimal(found["number"]) * (-1 if found["sign"] in ("-", "−") else 1)
    if unit.endswith("f"):
        number = (number - 32) / Fraction("1.8")
    return Quantity(kind, half_away(number * size))


def _a(dimension: Dimension) -> str:
    return f"{'an' if dimension is Dimension.ANGLE else 'a'} {dimension}"


def is_fine(tolerance: Quantity) -> bool:
    """Whether figures of that tolerance are lengths held closer than 1/64 in, which no fraction can show."""
    return tolerance.dimension is Dimension.LENGTH and tolerance.amount < NM_PER_64TH


def format_quantity(quantity: Quantity, fine: bool = False) -> str:
    """A figure with its unit; a length in both: `8 3/16 in (207.9625 mm)`, `62 g`, `3°`.

    A length that is `fine` is in decimals of an inch: `0.596 in (15.1384 mm)`.
    """
    amount = quantity.amount
    if quantity.dimension is Dimension.LENGTH:
        return f"{fine_inches(amount) if fine else format_inches(amount)} in ({format_mm(amount)} mm)"
    if quantity.dimension is Dimension.TEMPERATURE:
        return f"{_decimal(amount, 3)} °C"
    unit = {Dimension.MASS: " g", Dimension.ANGLE: "°", Dimension.COUNT: ""}[quantity.dimension]
    return f"{_decimal(amount, 6)}{unit}"


def _decimal(amount: int, places: int) -> str:
    whole, rest = divmod(abs(amount), 10**places)
    digits = f"{rest:0{places}d}".rstrip("0")
    return ("-" if amount < 0 else "") + f"{whole}" + (f".{digits}" if digits else "")


def within(measured: Quantity, nominal: Quantity, tolerance: Quantity) -> bool:
    """Whether a figure lies within the tolerance, its ends included. Raises `QuantityError`."""
    for other in (nominal, tolerance):
        if other.dimension is not measured.dimension:
            what, with_what = _a(measured.dimension).capitalize(), _a(other.dimension)
            raise QuantityError(f"{what} cannot be compared with {with_what}.")
    return abs(measured.amount - nominal.amount) <= tolerance.amount
