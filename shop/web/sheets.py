"""Says of figures, wherever they are relied on, what they lack to be a data sheet's; and what was changed."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from shop.queries.adhesives import AdhesiveView, SheetChangeView
from shop.rules.adhesives import LABELS, OPENED_LIFE
from shop.web.wording import minutes, when

NOTHING = "–"
MOST_CHANGES = 50
CHANGES_HEAD = ["When", "By", "What", "Before", "After"]
# What an act is called where no figure says it.
_ACTS = {"made": "Put on file", "confirmed": "Held against the sheet"}
_LABELS = {
    **LABELS, "name": "The name", "use": "The use", "source": "The source",
    "sheet_date": "The date of the sheet", "opened_life_days": OPENED_LIFE,
    "ready_made": "The class", "confirmed_by": "Confirmed by",
}  # fmt: skip
_UNITS = {"density_a": " g/mL", "density_b": " g/mL", "opened_life_days": " days"}


def marked(label: str, mark: str) -> str:
    """A label, such as a choice on the Cup, with the mark of its figures behind it where they have one."""
    return f"{label}, {mark}" if mark else label


def warning_of_sheet(item: AdhesiveView) -> str:
    """The sentence above the figures of an adhesive; empty where they are a sheet's."""
    if not item.sheet_mark:
        return ""
    began = f" They are placeholders of a class, {item.ready_made}." if item.ready_made else ""
    return (
        f"These figures are marked “{item.sheet_mark}” wherever they are relied on, until somebody names "
        f"their data sheet with its date and confirms them.{began}"
    )


def warning_of_cup(mark: str) -> str:
    """The sentence above a cup that is to be mixed from such figures; empty where they are a sheet's."""
    return f"These times and amounts rest on figures marked “{mark}”." if mark else ""


def warning_of_mix(mark: str) -> str:
    """The sentence above times that go by a mix's copy of the figures; empty where it was a sheet's."""
    return f"The times rest on figures that were marked “{mark}” when it was mixed." if mark else ""


def change_rows(changes: list[SheetChangeView], now: datetime, zone: ZoneInfo) -> list[list[str]]:
    """The acts on a sheet as rows of a table: one for each figure that an act changed."""
    rows = []
    for act in changes:
        lead = [when(act.at, now, zone), act.by]
        if act.kind in _ACTS:
            rows.append([*lead, _ACTS[act.kind], NOTHING, NOTHING])
        # What was put on file is the first value of every figure; later acts tell what they changed of it.
        told = [] if act.kind == "made" else act.changes
        for change in told:
            field, before, after = change["field"], change["before"], change["after"]
            rows.append([*lead, _LABELS[field], _said(field, before), _said(field, after)])
    return rows


def _said(field: str, value: Any) -> str:
    if value is None or value == "":
        return NOTHING
    if field.endswith("_minutes"):
        return minutes(value)
    if field.endswith("_c"):
        return f"{value:g} °C"
    return f"{value:g}{_UNITS.get(field, '')}" if isinstance(value, int | float) else str(value)
