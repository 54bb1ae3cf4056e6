"""Whether the figures of a data sheet can be: pure checks, one sentence a field."""

from collections.abc import Mapping
from datetime import date
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
    """What does not fit together; the cure clock's own checks decide."""
    if figures["full_cure_minutes"] < figures["set_minutes"]:
        return {"full_cure_minutes": "The full cure is shorter than the set time; it cannot be."}
    turn_minutes = figures["turn_minutes"]
    if turn_minutes is not None and turn_minutes > figures["full_cure_minutes"]:
        return {"turn_minutes": "A coat is not kept turning longer than until its full cure."}
    until_minutes = figures["recoat_until_minutes"]
    # Asked here alone: a mix on file goes on with the figures that it began with.
    if until_minutes is not None and until_minutes == figures["recoat_from_minutes"]:
        return {"recoat_until_minutes": "The recoat window ends when it begins; say until when it is open."}
    try:
        Sheet(
            figures["reference_c"], figures["pot_life_minutes"], figures["set_minutes"],
            figures["full_cure_minutes"], figures["recoat_from_minutes"], figures["recoat_until_minutes"],
            figures["coldest_c"], figures["doubling_c"],
        )  # fmt: skip
    except CureError as fault:
        where = "recoat_until_minutes" if "recoat" in str(fault) else "coldest_c"
        return {where: str(fault)}
    return {}
