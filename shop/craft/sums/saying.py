"""How the values of a calculator are written, by their kind; the words themselves are `shop.craft.saying`."""

from datetime import date
from typing import Any

from shop.craft.saying import plain, say_fine, say_length, say_money
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
