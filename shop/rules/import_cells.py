"""Single cells of a file that is taken in: what each kind of column takes, and its sentence where it cannot.

Pure: a cell is the text between two separators, a value what the tables keep (nanometres, milligrams, cents).
Which columns there are is `shop.rules.imports`.
"""

import re
from collections.abc import Callable
from typing import Any

from shop.craft.lengths import LengthError, Unit, fraction_of_decimal, parse_length
from shop.rules.mail_addresses import fault_of_address
from shop.rules.masses import MassError, mg_of_grams

_MONEY = re.compile(r"([0-9]{1,8})(?:[.,]([0-9]{1,2}))?")
_NUMBER = re.compile(r"[0-9]{1,9}(?:[.,][0-9]{1,9})?")
_YES, _NO = ("yes", "y", "true", "1", "x"), ("no", "n", "false", "0")

# A cell and the unit that its heading names (empty for none).
Reader = Callable[[str, str], Any]


class CellFault(ValueError):
    """A cell that cannot be taken in; its text is a sentence."""


def text_of(most: int, lines: bool = False) -> Reader:
    """A reader of texts of at most `most` characters, on one line unless they may have several `lines`."""

    def read(cell: str, _unit: str) -> str:
        if len(cell) > most:
            raise CellFault(f"This has {len(cell)} characters; at most {most} fit.")
        if not lines and len(cell.splitlines()) > 1:
            raise CellFault("This goes over several lines; write it on one.")
        return cell

    return read


def whole_of(least: int, most: int) -> Reader:
    """A reader of whole numbers between two limits."""

    def read(cell: str, _unit: str) -> int:
        number = int(cell) if cell.isascii() and cell.isdigit() and len(cell) <= 12 else -1
        if not least <= number <= most:
            raise CellFault(f"“{cell}” is no whole number from {least} to {most:,}.")
        return number

    return read


def address(cell: str, _unit: str) -> str:
    """An e-mail address (RFC 5322). Raises `CellFault`."""
    if fault := fault_of_address(cell):
        raise CellFault(fault)
    return cell


def cents(cell: str, _unit: str) -> int:
    """Money in whole cents, written `388.67` or `388,67`; never with both signs. Raises `CellFault`."""
    found = _MONEY.fullmatch(cell)
    if found is None:
        raise CellFault(
            f"“{cell}” is no amount; write it like 388.67 or 388,67, with nothing between the thousands."
        )
    return int(found[1]) * 100 + int((found[2] or "0").ljust(2, "0"))


def length_nm(cell: str, unit: str) -> int:
    """A length in nanometres, in its own unit or that of the heading. Raises `CellFault`."""
    default: Unit = "in" if unit == "in" else "mm" if unit == "mm" else ""
    try:
        return parse_length(cell, default)
    except LengthError as fault:
        raise CellFault(str(fault)) from fault


def joints_nm(cell: str, unit: str) -> list[tuple[int, int]]:
    """Where pieces meet and how far one goes into the other: `42 in: 2 in; 63 in: 2 in`. Raises `CellFault`.

    Where no insertion is, nothing goes in.
    """
    joints = []
    for part in cell.split(";"):
        if part.strip():
            at, _, insertion = (half.strip() for half in part.partition(":"))
            joints.append((length_nm(at, unit), length_nm(insertion or "0 mm", unit)))
    return sorted(joints)


def grams_mg(cell: str, _unit: str) -> int:
    """A mass in grams, in whole milligrams. Raises `CellFault`."""
    found = _NUMBER.fullmatch(cell.removesuffix("g").rstrip())
    if found is None:
        raise CellFault(f"“{cell}” is no mass in grams; write it like 58 or 58.1.")
    try:
        return mg_of_grams(float(fraction_of_decimal(found[0])))
    except (LengthError, MassError) as fault:
        raise CellFault(str(fault)) from fault


def yes_or_no(cell: str, _unit: str) -> bool:
    """Yes or no. Raises `CellFault`."""
    word = cell.casefold()
    if word not in (*_YES, *_NO):
        raise CellFault(f"“{cell}” is neither yes nor no.")
    return word in _YES
