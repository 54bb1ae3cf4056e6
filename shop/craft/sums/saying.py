"""How the figures of the bench sums are written: an inch fraction or thousandths, and millimetres beside.

What is shown is rounded; what is computed with is not.
"""

from datetime import date
from typing import Any

from shop.craft.lengths import NM_PER_INCH, NM_PER_MM, format_inches
from shop.craft.sums.base import Kind


def say(kind: Kind, value: Any, unit: str = "") -> str:
    """A value of a kind as a person reads it; a dash where there is none."""
    if value is None:
        return "–"
    if kind is Kind.LENGTH:
        return say_length(value)
    if kind is Kind.FINE:
        return say_fine(value)
    if kind is Kind.MONEY:
        return say_money(value)
    if kind is Kind.YES:
        return "yes" if value else "no"
    if isinstance(value, date):
        return value.isoformat()
    if kind in _UNIT_OF or kind is Kind.NUMBER:
        mark = _UNIT_OF.get(kind) or (f" {unit}" if unit else "")
        return f"{plain(value)}{mark}"
    return str(value)


_UNIT_OF = {Kind.MASS: " g", Kind.VOLUME: " mL", Kind.ANGLE: "°"}


def say_length(nm: int) -> str:
    """A length to the nearest 1/64 in and 0.01 mm: `3 15/16 in (100.01 mm)`."""
    return f"{format_inches(nm)} in ({plain_mm(nm)} mm)"


def say_fine(nm: int) -> str:
    """A diameter, a wall or a gap to 0.0001 in and 0.01 mm: `0.865 in (21.97 mm)`."""
    inches = f"{nm / NM_PER_INCH:.4f}"
    shown = inches[:-1] if inches.endswith("0") else inches
    return f"{shown} in ({plain_mm(nm)} mm)"


def plain_mm(nm: int) -> str:
    """Millimetres to 0.01 mm, without trailing zeros; below 0.1 mm to 0.001 mm."""
    mm = nm / NM_PER_MM
    text = f"{mm:.3f}" if abs(mm) < 0.1 else f"{mm:.2f}"
    text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def plain(value: float) -> str:
    """A number to four significant figures, without an exponent and without trailing zeros."""
    if isinstance(value, int) or (value == int(value) and abs(value) < 1e12):
        return str(int(value))
    size = abs(value)
    digits = 1 if size >= 100 else 2 if size >= 10 else 3 if size >= 1 else 4
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".")
    return f"{value:.3g}" if text in ("0", "-0") else text


def say_money(cents: int) -> str:
    """Whole cents as an amount: `18.50`."""
    whole, rest = divmod(abs(cents), 100)
    return f"{'-' if cents < 0 else ''}{whole}.{rest:02d}"
