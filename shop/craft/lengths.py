"""Lengths: inch fractions and millimetres, kept as whole nanometres.

1 in is 25.4 mm exactly (NIST SP 811, appendix B.8), so 1/64 in is 396 875 nm and every inch fraction of
the shop stays exact. Which length is measured from where is for the callers to name.
"""

import re
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from functools import lru_cache
from math import gcd
from typing import Literal

NM_PER_MM = 1_000_000
NM_PER_INCH = 25_400_000
NM_PER_64TH = 396_875
MOST_NM = 100_000 * NM_PER_MM

Unit = Literal["in", "mm", ""]

_UNITS_NM = {
    "mm": NM_PER_MM, "cm": 10 * NM_PER_MM, "m": 1000 * NM_PER_MM, "in": NM_PER_INCH, "ft": 12 * NM_PER_INCH,
}  # fmt: skip
_UNIT_WORDS = {
    "mm": "mm", "millimetre": "mm", "millimetres": "mm", "cm": "cm", "m": "m", "in": "in", "inch": "in",
    "inches": "in", '"': "in", "″": "in", "”": "in", "ft": "ft", "foot": "ft", "feet": "ft", "'": "ft",
    "′": "ft", "’": "ft",
}  # fmt: skip
_VULGAR = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8",
    "⅞": "7/8",
}  # fmt: skip
# Feet followed by inches, or not: `6' 6 1/2"`, `6 ft 6`, `9'`.
_FEET = re.compile(r"(?P<feet>[0-9]+)\s*(?:'|′|’|(?:ft|foot|feet)\b\.?)\s*-?\s*(?=[0-9]|$)")
_UNIT = re.compile(r"\s*(?P<unit>[a-zA-Z]+|[\"″”'′’])\.?$")
_NUMBER = re.compile(
    r"(?:(?P<whole>[0-9]+)(?:\s+|-))?(?P<num>[0-9]+)\s*/\s*(?P<den>[0-9]+)|(?P<decimal>[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)"
)
_TWO_MEANINGS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")


class LengthError(ValueError):
    """A length that cannot be read; its text is a sentence for a person."""


def parse_length(text: str, default_unit: Unit = "") -> int:
    """A length as people write it, in whole nanometres: `8 3/16 in`, `8-3/16"`, `6' 6 1/2"`, `207.96 mm`.

    Without a unit, `default_unit` counts; with neither, `LengthError` asks for one. What is not a whole
    nanometre is rounded half away from zero. Raises `LengthError`.
    """
    return _parsed(text, default_unit)


# The stations of one blank are read again for every sum that is asked of it.
@lru_cache(maxsize=4096)
def _parsed(text: str, default_unit: Unit) -> int:
    shown = text.strip()
    if not shown:
        raise LengthError("The length is missing.")
    if len(shown) > 60:
        raise LengthError("That is too long to be a length.")
    plain = shown
    for sign, fraction in _VULGAR.items():
        plain = plain.replace(sign, f" {fraction}")
    plain = plain.replace("⁄", "/").replace("''", '"').replace("’’", '"')
    plain = plain.strip()
    negative = plain.startswith(("-", "−"))
    plain = plain[1:].strip() if negative or plain.startswith("+") else plain
    nm = _unsigned_nm(plain, shown, default_unit)
    if nm > MOST_NM:
        raise LengthError(f"“{shown}” is more than 100 m; nothing on a rod is that long.")
    rounded = half_away(nm)
    return -rounded if negative else rounded


def _unsigned_nm(plain: str, shown: str, default_unit: Unit) -> Fraction:
    feet = _FEET.match(plain)
    total = Fraction(0)
    if feet is not None:
        total = Fraction(int(feet["feet"]) * 12 * NM_PER_INCH)
        plain = plain[feet.end() :]
        if not plain:
            return total
    unit: str = "in" if feet is not None else default_unit
    found = _UNIT.search(plain)
    if found is not None:
        word = found["unit"].lower()
        if word not in _UNIT_WORDS:
            raise LengthError(f"“{shown}” has a unit that is not known here; say in, ft, mm, cm or m.")
        if feet is not None and _UNIT_WORDS[word] != "in":
            raise LengthError(f"“{shown}” goes from feet to another unit; after feet, only inches follow.")
        unit = _UNIT_WORDS[word]
        plain = plain[: found.start()]
    number = _number(plain.strip(), shown)
    if not unit:
        raise LengthError(f"“{shown}” has no unit; say for example “{shown} in” or “{shown} mm”.")
    return total + number * _UNITS_NM[unit]


def _number(plain: str, shown: str) -> Fraction:
    found = _NUMBER.fullmatch(plain)
    if found is None:
        raise LengthError(f"“{shown}” is not a length; write it like 8 3/16 in or 207.96 mm.")
    if found["decimal"] is not None:
        return fraction_of_decimal(found["decimal"])
    if int(found["den"]) == 0:
        raise LengthError(f"“{shown}” divides by zero.")
    return int(found["whole"] or 0) + Fraction(int(found["num"]), int(found["den"]))


def fraction_of_decimal(digits: str) -> Fraction:
    """A decimal number, with a point or a comma, exactly. Raises `LengthError`.

    `1,250` is refused: some would mean 1250 by it and some 1.25.
    """
    if _TWO_MEANINGS.fullmatch(digits):
        raise LengthError(f"“{digits}” can be read in two ways; write it without the comma.")
    return Fraction(digits.replace(",", "."))


def half_away(value: Fraction) -> int:
    """The nearest whole number, halves away from zero."""
    return _nearest(value.numerator, value.denominator)


def _nearest(numerator: int, denominator: int) -> int:
    """The whole number nearest to a ratio, halves away from zero; by whole numbers, which are quick."""
    whole = (2 * abs(numerator) + denominator) // (2 * denominator)
    return -whole if numerator < 0 else whole


def nm_of_mm(value: int | float | Decimal) -> int:
    """Millimetres as whole nanometres, by the decimal that was written. Raises `LengthError`."""
    try:
        exact = Decimal(str(value))
    except InvalidOperation as fault:
        raise LengthError(f"{value!r} is not a number of millimetres.") from fault
    if not exact.is_finite():
        raise LengthError("A length is a finite number of millimetres.")
    if abs(exact) > MOST_NM // NM_PER_MM:
        raise LengthError("That is more than 100 m; nothing on a rod is that long.")
    # Far below a nanometre there is nothing to round, and an exact fraction would only grow long.
    return 0 if exact.adjusted() < -30 else half_away(Fraction(exact) * NM_PER_MM)


def mm_of(nm: int) -> float:
    """Millimetres as the nearest double, for JSON; `207962500` gives `207.9625`."""
    return nm / NM_PER_MM


def format_mm(nm: int) -> str:
    """Millimetres exactly, without trailing zeros: `207.9625`."""
    whole, rest = divmod(abs(nm), NM_PER_MM)
    digits = f"{rest:06d}".rstrip("0")
    return ("-" if nm < 0 else "") + f"{whole}" + (f".{digits}" if digits else "")


def format_inches(nm: int, denominator: int = 64) -> str:
    """Inches to the nearest fraction, reduced, halves away from zero: `8 3/16`, `-1/2`, `0`."""
    parts = _nearest(nm * denominator, NM_PER_INCH)
    whole, rest = divmod(abs(parts), denominator)
    words = [str(whole)] if whole or not rest else []
    if rest:
        shared = gcd(rest, denominator)
        words.append(f"{rest // shared}/{denominator // shared}")
    return ("-" if parts < 0 else "") + " ".join(words)


def typable(nm: int) -> str:
    """A length as it can be typed again, exactly: `8 3/16 in`, `0.865 in` or `207.96 mm`."""
    if nm % NM_PER_64TH == 0:
        return f"{format_inches(nm)} in"
    if nm % (NM_PER_INCH // 10_000) == 0 and abs(nm) < NM_PER_INCH:
        return f"{nm / NM_PER_INCH:.4f}".rstrip("0") + " in"
    return f"{format_mm(nm)} mm"
