"""Reads what is given to a calculator, typed or as JSON: every fault is gathered, by the input's name.

A length is `"8 3/16 in"` or `{"mm": 207.9625}`; a mass, a volume and an angle are text with their unit;
counts, numbers and money (whole cents) may be plain numbers or text. A table is a list of mappings.
"""

import re
from collections.abc import Callable, Mapping
from datetime import date
from fractions import Fraction
from math import isfinite
from typing import Any

from shop.craft.faults import SumFault
from shop.craft.lengths import LengthError, fraction_of_decimal, nm_of_mm, parse_length
from shop.craft.quantities import MILLION, Dimension, QuantityError, parse_quantity
from shop.craft.sums.base import Input, Kind, Sum
from shop.craft.sums.saying import say

MOST_ROWS = 60
MOST_TEXT = 200
# US fluid ounce: 231 in³ / 128 (NIST Handbook 44, appendix C, exact).
_ML = {"ml": Fraction(1), "cc": Fraction(1), "cm³": Fraction(1), "l": Fraction(1000)}
_ML["fl oz"] = Fraction("29.5735295625")
_VOLUME = re.compile(
    r"(?P<sign>[-−+]?)\s*(?P<number>[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)\s*(?P<unit>[a-zA-Z³]+(?:\s+oz)?)\.?"
)
_NUMBER = re.compile(r"[-−+]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][-+]?[0-9]{1,2})?")
_MONEY = re.compile(r"([0-9]{1,9})(?:[.,]([0-9]{1,2}))?")
# The largest value that any input may have, in the unit of its kind, where it does not say its own.
_MOST = {
    Kind.LENGTH: 20_000_000_000, Kind.FINE: 200_000_000, Kind.MASS: 100_000.0, Kind.VOLUME: 10_000.0,
    Kind.ANGLE: 360.0, Kind.NUMBER: 1e9, Kind.COUNT: 10_000, Kind.MONEY: 100_000_000_00,
}  # fmt: skip


class _Unreadable(ValueError):
    """A value that cannot be read; its text is a sentence."""


def read_inputs(calculator: Sum, given: Mapping[str, Any]) -> dict[str, Any]:
    """The values for `calculator.work`, every input present. Raises `SumFault` with all that is wrong."""
    values, errors = _read(calculator.inputs, given, "")
    if errors:
        raise SumFault(errors)
    return values


def _read(
    inputs: tuple[Input, ...], given: Mapping[str, Any], prefix: str
) -> tuple[dict[str, Any], dict[str, str]]:
    values: dict[str, Any] = {}
    errors: dict[str, str] = {}
    known = {item.name for item in inputs}
    for name in given:
        if name not in known:
            errors[f"{prefix}{name}"] = (
                f"There is no input “{name}” here; there are {', '.join(sorted(known))}."
            )
    for item in inputs:
        raw = given.get(item.name)
        if item.kind is Kind.TABLE:
            values[item.name], faults = _read_table(item, raw, prefix)
            errors.update(faults)
            continue
        try:
            values[item.name] = _read_one(item, raw)
        except (LengthError, QuantityError, _Unreadable) as fault:
            errors[f"{prefix}{item.name}"] = _of(item, str(fault))
    return values, errors


def _of(item: Input, sentence: str) -> str:
    """The sentence, said of the input it is about."""
    return sentence if sentence.startswith(item.label) else f"{item.label}: {sentence}"


def _read_table(item: Input, raw: Any, prefix: str) -> tuple[tuple[dict[str, Any], ...], dict[str, str]]:
    name = f"{prefix}{item.name}"
    if raw is None:
        raw = []
    if not isinstance(raw, list | tuple) or not all(isinstance(row, Mapping) for row in raw):
        return (), {name: f"{item.label} is a list of rows."}
    rows = [row for row in raw if any(cell not in ("", None) for cell in row.values())]
    if not rows and not item.optional:
        return (), {name: f"{item.label} is missing; fill in at least one row."}
    if len(rows) > MOST_ROWS:
        return (), {name: f"{item.label} has {len(rows)} rows; at most {MOST_ROWS} fit."}
    read, errors = [], {}
    for number, row in enumerate(rows, 1):
        values, faults = _read(item.columns, row, f"{name}.{number}.")
        read.append(values)
        errors.update({key: f"{item.label}, row {number}: {fault}" for key, fault in faults.items()})
    return tuple(read), errors


def _read_one(item: Input, raw: Any) -> Any:
    if isinstance(raw, str):
        raw = raw.strip()
    if raw is None or raw == "":
        if item.kind is Kind.YES and not item.default:
            return False
        if item.default:
            raw = item.default
        elif item.optional:
            return None
        else:
            raise _Unreadable(f"{item.label} is missing; please fill it in.")
    if isinstance(raw, str) and len(raw) > MOST_TEXT:
        raise _Unreadable(f"{item.label} is too long to be read.")
    return _within(item, _READERS[item.kind](item, raw))


def _within(item: Input, value: Any) -> Any:
    """The value, if it can be: finite, not below what the input allows, not absurdly large."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return value
    if not isfinite(value):
        raise _Unreadable(f"{item.label} must be a finite figure.")
    if value < 0 and not item.signed:
        raise _Unreadable(f"{item.label} cannot be less than nothing.")
    if value == 0 and not (item.zero or item.signed):
        raise _Unreadable(f"{item.label} must be more than nothing.")
    most = item.most if item.most is not None else _MOST[item.kind]
    if abs(value) > most:
        raise _Unreadable(f"{item.label} must be at most {say(item.kind, _as(value, most), item.unit)}.")
    return value


def _as(value: float, most: float) -> float:
    return int(most) if isinstance(value, int) else float(most)


def _length(_item: Input, raw: Any) -> int:
    if isinstance(raw, Mapping) and set(raw) == {"mm"} and _is_number(raw["mm"]):
        return nm_of_mm(raw["mm"])
    if not isinstance(raw, str):
        raise _Unreadable('a length is "8 3/16 in", "207.96 mm" or {"mm": 207.96}, with its unit.')
    return parse_length(raw)


def _quantity(dimension: Dimension, example: str) -> Callable[[Input, Any], float]:
    def read(_item: Input, raw: Any) -> float:
        if not isinstance(raw, str):
            raise _Unreadable(f"write it with its unit, such as {example}.")
        return parse_quantity(raw, dimension).amount / MILLION

    return read


def _volume(_item: Input, raw: Any) -> float:
    found = _VOLUME.fullmatch(raw) if isinstance(raw, str) else None
    unit = "" if found is None else " ".join(found["unit"].lower().split())
    if found is None or unit not in _ML:
        raise _Unreadable("a volume is written with its unit, such as 3 mL or 0.5 fl oz.")
    volume_ml = float(fraction_of_decimal(found["number"]) * _ML[unit])
    return -volume_ml if found["sign"] in ("-", "−") else volume_ml


def _number(item: Input, raw: Any) -> float:
    if _is_number(raw):
        return float(raw)
    text = raw.removesuffix(item.unit).strip() if isinstance(raw, str) and item.unit else raw
    if not isinstance(text, str) or _NUMBER.fullmatch(text) is None:
        unit = f" of {item.unit}" if item.unit else ""
        raise _Unreadable(f"{item.label} must be a number{unit}; “{raw}” is not one.")
    return float(text.replace(",", ".").replace("−", "-"))


def _count(item: Input, raw: Any) -> int:
    number = _number(item, raw)
    if not isfinite(number) or number != int(number):
        raise _Unreadable(f"{item.label} must be a whole number.")
    return int(number)


def _money(item: Input, raw: Any) -> int:
    if isinstance(raw, int) and not isinstance(raw, bool):
        return raw
    found = _MONEY.fullmatch(raw) if isinstance(raw, str) else None
    if found is None:
        raise _Unreadable(
            f"{item.label} must be an amount such as 18.50, or whole cents; “{raw}” is neither."
        )
    return int(found[1]) * 100 + int((found[2] or "0").ljust(2, "0"))


def _day(item: Input, raw: Any) -> date:
    try:
        return date.fromisoformat(raw)
    except (TypeError, ValueError) as fault:
        raise _Unreadable(f"{item.label} must be a day such as 2026-03-14; “{raw}” is not one.") from fault


def _yes(item: Input, raw: Any) -> bool:
    if isinstance(raw, bool):
        return raw
    if isinstance(raw, str) and raw.lower() in ("yes", "on", "true", "no", "false"):
        return raw.lower() in ("yes", "on", "true")
    raise _Unreadable(f"{item.label} is answered with yes or no.")


def _choice(item: Input, raw: Any) -> str:
    if not isinstance(raw, str) or raw not in item.options:
        raise _Unreadable(f"{item.label} must be one of {', '.join(item.options)}.")
    return raw


def _text(item: Input, raw: Any) -> str:
    if not isinstance(raw, str) or not raw.isprintable():
        raise _Unreadable(f"{item.label} must be a line of text.")
    return raw


def _is_number(raw: Any) -> bool:
    return isinstance(raw, int | float) and not isinstance(raw, bool)


_READERS: dict[Kind, Callable[[Input, Any], Any]] = {
    Kind.LENGTH: _length,
    Kind.FINE: _length,
    Kind.MASS: _quantity(Dimension.MASS, "62 g or 2.2 oz"),
    Kind.ANGLE: _quantity(Dimension.ANGLE, "30° or 30 deg"),
    Kind.VOLUME: _volume,
    Kind.NUMBER: _number,
    Kind.COUNT: _count,
    Kind.MONEY: _money,
    Kind.DAY: _day,
    Kind.YES: _yes,
    Kind.CHOICE: _choice,
    Kind.TEXT: _text,
}
