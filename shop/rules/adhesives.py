"""The figures of a data sheet: whether they can be, and whether they are the sheet's at all.

Pure checks, one sentence a field; which sheet the figures stand on is judged by `sheet_state` alone.
"""

from collections.abc import Mapping
from datetime import date, datetime
from enum import StrEnum
from typing import Any

from shop.craft.cure import CureError, Sheet
from shop.rules.lots import EARLIEST, LATEST, MOST_LIFE_DAYS

USES = ("bond", "finish")
FIELDS = (
    "name", "use", "parts_a", "parts_b", "density_a", "density_b", "reference_c", "pot_life_minutes",
    "set_minutes", "full_cure_minutes", "recoat_from_minutes", "recoat_until_minutes", "coldest_c",
    "doubling_c", "turn_minutes", "opened_life_days", "source", "sheet_date",
)  # fmt: skip
NEEDED = ("reference_c", "pot_life_minutes", "set_minutes", "full_cure_minutes")
MOST_MINUTES = 60 * 24 * 60
LABELS = {
    "parts_a": "The parts of A", "parts_b": "The parts of B", "reference_c": "The reference temperature",
    "pot_life_minutes": "The pot life", "set_minutes": "The set time", "full_cure_minutes": "The full cure",
    "recoat_from_minutes": "The start of the recoat window",
    "recoat_until_minutes": "The end of the recoat window", "coldest_c": "The coldest temperature",
    "doubling_c": "The rise that doubles the rate", "density_a": "The density of A",
    "density_b": "The density of B", "turn_minutes": "How long a coat is kept turning",
}  # fmt: skip
OPENED_LIFE = "The life once opened"
_RANGES = {
    "parts_a": (0.001, 1000), "parts_b": (0.001, 1000), "density_a": (0.5, 3), "density_b": (0.5, 3),
    "reference_c": (-10, 60), "coldest_c": (-20, 40), "doubling_c": (1, 40),
    "opened_life_days": (1, MOST_LIFE_DAYS),
    **{name: (0.01, MOST_MINUTES) for name in LABELS if name.endswith("_minutes")},
}  # fmt: skip

# What an adhesive begun from a ready-made class says of its source.
READY_MADE_SOURCE = "a ready-made class, not from your data sheet"


class SheetState(StrEnum):
    """What the figures of an adhesive stand on; all but the first are marked wherever they are relied on."""

    CONFIRMED = "confirmed"
    READY_MADE = "ready-made"
    NOT_NAMED = "not named"
    NOT_DATED = "not dated"
    NOT_CONFIRMED = "not confirmed"


MARKS = {
    SheetState.CONFIRMED: "",
    SheetState.READY_MADE: "not from your data sheet",
    SheetState.NOT_NAMED: "no data sheet named",
    SheetState.NOT_DATED: "data sheet without a date",
    SheetState.NOT_CONFIRMED: "not confirmed against its data sheet",
}


def mark_of(state: str) -> str:
    """What to say of figures that were kept with what they stood on; empty where they were a sheet's."""
    return MARKS[SheetState(state)]


def names_a_sheet(source: str) -> bool:
    """Whether a source says more than that there is none."""
    return source.strip() not in ("", READY_MADE_SOURCE)


def sheet_state(
    ready_made: str, source: str, sheet_date: date | None, confirmed_at: datetime | None
) -> SheetState:
    """What figures stand on; of what is lacking the first is said.

    `ready_made` is the class that they began as, or empty. `confirmed_at` is since when somebody has stood by
    the figures as they are: whoever typed them in from a sheet that they named, or held them against it.
    """
    if ready_made and confirmed_at is None:
        return SheetState.READY_MADE
    if not names_a_sheet(source):
        return SheetState.NOT_NAMED
    if sheet_date is None:
        return SheetState.NOT_DATED
    return SheetState.NOT_CONFIRMED if confirmed_at is None else SheetState.CONFIRMED


def faults_of_adhesive(figures: Mapping[str, Any]) -> dict[str, str]:
    """Everything that keeps an adhesive's figures from being right, by field; empty when they are."""
    errors = {}
    if not 1 <= len((figures["name"] or "").strip()) <= 120:
        errors["name"] = "The adhesive needs a name of 1 to 120 characters."
    if figures["use"] not in USES:
        errors["use"] = "Say whether it is a bond or a finish."
    for name in ("parts_a", "parts_b", *NEEDED):
        if figures[name] is None:
            errors[name] = f"{LABELS[name]} is missing; please fill it in."
    for name, (least, most) in _RANGES.items():
        value = figures[name]
        if value is not None and not least <= value <= most:  # also refuses NaN
            errors[name] = f"{LABELS.get(name, OPENED_LIFE)} must lie between {least:g} and {most:g}."
    sheet_date: date | None = figures["sheet_date"]
    if sheet_date is not None and not EARLIEST <= sheet_date <= LATEST:
        errors["sheet_date"] = f"The date of the sheet must lie between {EARLIEST} and {LATEST}."
    return errors or _faults_of_sheet(figures)


def _faults_of_sheet(figures: Mapping[str, Any]) -> dict[str, str]:
    """What does not fit together; the cure clock's own sheet decides."""
    try:
        Sheet(
            figures["reference_c"], figures["pot_life_minutes"], figures["set_minutes"],
            figures["full_cure_minutes"], figures["recoat_from_minutes"], figures["recoat_until_minutes"],
            figures["coldest_c"], figures["doubling_c"], figures["turn_minutes"],
        )  # fmt: skip
    except CureError as fault:
        return {fault.figure: str(fault)}
    return {}
