"""Adhesives: putting a product's data sheet on file and keeping it right.

Mixes copy the figures when they are made, so a change here never bends a cure that is under way.
"""

from datetime import date, datetime
from typing import Any

from sqlalchemy.orm import Session

from shop.db.adhesives import Adhesive, SheetChange
from shop.queries.adhesives import adhesive_named, adhesive_record, state_of_sheet
from shop.queries.shop import shop_day
from shop.rules.adhesives import FIELDS, SheetState, faults_of_adhesive, names_a_sheet
from shop.rules.ready_made_sheets import NAMES, figures_of_class
from shop.rules.refusals import BadInput, Overtaken
from shop.services.bench import Bench

_SHEET = {"source", "sheet_date"}
# What of an adhesive is on record when it changes: its sheet, and who has stood by the figures since when.
_RECORDED = (*FIELDS, "ready_made", "confirmed_by")


def add_adhesive(session: Session, *, now: datetime, by: str, **figures: Any) -> Adhesive:
    """Put an adhesive on file; `figures` are the columns of `db.adhesives`.

    Whoever types figures in and names their sheet with its date stands by them. Raises `BadInput`.
    """
    return _put_on_file(session, now, by, "", figures)


def start_from_class(session: Session, *, now: datetime, by: str, name: str, ready_made: str) -> Adhesive:
    """Put an adhesive on file with the placeholders of a ready-made class, unconfirmed. Raises `BadInput`."""
    if ready_made not in NAMES:
        raise BadInput({"ready_made": "Choose one of the ready-made classes."})
    return _put_on_file(session, now, by, ready_made, {"name": name, **figures_of_class(ready_made)})


def _put_on_file(
    session: Session, now: datetime, by: str, ready_made: str, figures: dict[str, Any]
) -> Adhesive:
    whole = {name: figures.get(name) for name in FIELDS} | {"source": figures.get("source") or ""}
    _check(session, None, whole)
    adhesive = Adhesive(created_at=now, ready_made=ready_made, confirmed_by="", **whole)
    if not ready_made and names_a_sheet(adhesive.source) and adhesive.sheet_date is not None:
        adhesive.confirmed_at, adhesive.confirmed_by = now, by
    session.add(adhesive)
    session.flush()
    _record(session, adhesive, "made", now, by, {})
    return adhesive


def change_adhesive(
    session: Session, adhesive_id: int, *, now: datetime, by: str, version: int | None = None, **changes: Any
) -> Adhesive:
    """Change some of an adhesive's figures.

    Confirmed ones are confirmed no longer if they change while the sheet that they stood on stays the same;
    with another sheet named they are what it says, by whoever changed them. Raises `NotOnFile`, `BadInput`,
    and, with `version` given, `Overtaken` where somebody changed it since.
    """
    adhesive = adhesive_record(session, adhesive_id)
    if version is not None and adhesive.version != version:
        raise Overtaken("Somebody else changed these figures meanwhile; look at them again.")
    whole = {name: getattr(adhesive, name) for name in FIELDS} | changes
    _check(session, adhesive_id, whole)
    before = _recorded(adhesive)
    changed = {name for name, value in changes.items() if getattr(adhesive, name) != value} - {"name"}
    is_of_a_sheet = changed & _SHEET and names_a_sheet(whole["source"] or "") and whole["sheet_date"]
    if changed and adhesive.confirmed_at is not None:
        adhesive.confirmed_at, adhesive.confirmed_by = (now, by) if is_of_a_sheet else (None, "")
    for name, value in changes.items():
        setattr(adhesive, name, value)
    session.flush()
    _record(session, adhesive, "changed", now, by, before)
    return adhesive


def confirm_adhesive(
    session: Session,
    bench: Bench,
    adhesive_id: int,
    *,
    source: str,
    sheet_date: date | None,
    version: int | None = None,
) -> Adhesive:
    """Somebody holds the figures against the sheet that they name: from here on they are the sheet's.

    Raises `BadInput`, `NotOnFile`, or `Overtaken` where they are the sheet's already, or where (with
    `version` given) they were changed since they were read.
    """
    adhesive = adhesive_record(session, adhesive_id)
    if state_of_sheet(adhesive) is SheetState.CONFIRMED:
        raise Overtaken("These figures are on file as the data sheet's already.")
    if version is not None and adhesive.version != version:
        raise Overtaken("Somebody else changed these figures meanwhile; hold the new ones against the sheet.")
    errors = {}
    if not names_a_sheet(source):
        errors["source"] = "Name the data sheet that these figures stand on."
    if sheet_date is None:
        errors["sheet_date"] = "The date of the sheet is missing; please fill it in."
    elif sheet_date > shop_day(session, bench.now):
        errors["sheet_date"] = "The date of the sheet lies in the future."
    if errors:
        raise BadInput(errors)
    whole = {name: getattr(adhesive, name) for name in FIELDS}
    _check(session, adhesive_id, whole | {"source": source, "sheet_date": sheet_date})
    before = _recorded(adhesive)
    adhesive.source, adhesive.sheet_date = source.strip(), sheet_date
    adhesive.confirmed_at, adhesive.confirmed_by = bench.now, bench.actor.name
    session.flush()
    _record(session, adhesive, "confirmed", bench.now, bench.actor.name, before)
    return adhesive


def _recorded(adhesive: Adhesive) -> dict[str, Any]:
    """What the record of changes keeps of an adhesive, days as ISO texts."""
    values = ((name, getattr(adhesive, name)) for name in _RECORDED)
    return {name: value.isoformat() if isinstance(value, date) else value for name, value in values}


def _record(
    session: Session, adhesive: Adhesive, kind: str, now: datetime, by: str, before: dict[str, Any]
) -> None:
    """Write down what an act made of an adhesive; one that changed nothing leaves no entry."""
    changes = [
        {"field": name, "before": before.get(name), "after": after}
        for name, after in _recorded(adhesive).items()
        if (before.get(name) or None) != (after or None)
    ]
    if changes or kind == "confirmed":
        session.add(SheetChange(adhesive_id=adhesive.id, kind=kind, at=now, by=by, changes=changes))
        session.flush()


def _check(session: Session, adhesive_id: int | None, figures: dict[str, Any]) -> None:
    errors = faults_of_adhesive(figures)
    same = adhesive_named(session, figures["name"] or "")
    if same is not None and same.id != adhesive_id:
        errors["name"] = f"There is an adhesive called {figures['name']} already."
    if errors:
        raise BadInput(errors)
