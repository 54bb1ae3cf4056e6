"""Adhesives: putting a product's data sheet on file and keeping it right.

Mixes copy the figures when they are made, so a change here never bends a cure that is under way.
"""

from datetime import date, datetime
from typing import Any

from sqlalchemy.orm import Session

from shop.db.adhesives import Adhesive
from shop.queries.adhesives import adhesive_named, adhesive_record
from shop.queries.shop import shop_day
from shop.rules.adhesives import FIELDS, faults_of_adhesive
from shop.rules.ready_made_sheets import NAMES, SOURCE, figures_of_class
from shop.rules.refusals import BadInput, Overtaken
from shop.services.bench import Bench


def add_adhesive(session: Session, *, now: datetime, **figures: Any) -> Adhesive:
    """Put an adhesive on file; `figures` are the columns of `db.adhesives`. Raises `BadInput`."""
    whole = {name: figures.get(name) for name in FIELDS} | {"source": figures.get("source") or ""}
    _check(session, None, whole)
    adhesive = Adhesive(created_at=now, **whole)
    session.add(adhesive)
    session.flush()
    return adhesive


_SHEET = {"source", "sheet_date"}


def start_from_class(session: Session, *, now: datetime, name: str, ready_made: str) -> Adhesive:
    """Put an adhesive on file with the placeholders of a ready-made class, unconfirmed. Raises `BadInput`."""
    if ready_made not in NAMES:
        raise BadInput({"ready_made": "Choose one of the ready-made classes."})
    adhesive = add_adhesive(session, now=now, name=name, **figures_of_class(ready_made))
    adhesive.ready_made = ready_made
    session.flush()
    return adhesive


def change_adhesive(
    session: Session, adhesive_id: int, *, version: int | None = None, **changes: Any
) -> Adhesive:
    """Change some of an adhesive's figures.

    One that began as a ready-made class and was confirmed is confirmed no longer if its figures change
    while the sheet that they stood on stays the same. Raises `NotOnFile`, `BadInput`, and, with `version`
    given, `Overtaken` where somebody changed it since.
    """
    adhesive = adhesive_record(session, adhesive_id)
    if version is not None and adhesive.version != version:
        raise Overtaken("Somebody else changed these figures meanwhile; look at them again.")
    whole = {name: getattr(adhesive, name) for name in FIELDS} | changes
    _check(session, adhesive_id, whole)
    changed = {name for name, value in changes.items() if getattr(adhesive, name) != value} - {"name"}
    is_of_a_sheet = changed & _SHEET and _is_source(whole["source"] or "")
    if adhesive.ready_made and changed and not is_of_a_sheet:
        adhesive.confirmed_at, adhesive.confirmed_by = None, ""
    for name, value in changes.items():
        setattr(adhesive, name, value)
    session.flush()
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
    """Somebody holds the figures of a ready-made class against the sheet: from here on they are the sheet's.

    Raises `BadInput`, `NotOnFile`, or `Overtaken` where that was done already, where the figures never were
    a class's, or where (with `version` given) they were changed since they were read.
    """
    adhesive = adhesive_record(session, adhesive_id)
    if not adhesive.ready_made or adhesive.confirmed_at is not None:
        raise Overtaken("These figures are on file as the data sheet's already.")
    if version is not None and adhesive.version != version:
        raise Overtaken("Somebody else changed these figures meanwhile; hold the new ones against the sheet.")
    errors = {}
    if not _is_source(source):
        errors["source"] = "Name the data sheet that these figures stand on."
    if sheet_date is None:
        errors["sheet_date"] = "The date of the sheet is missing; please fill it in."
    elif sheet_date > shop_day(session, bench.now):
        errors["sheet_date"] = "The date of the sheet lies in the future."
    if errors:
        raise BadInput(errors)
    whole = {name: getattr(adhesive, name) for name in FIELDS}
    _check(session, adhesive_id, whole | {"source": source, "sheet_date": sheet_date})
    adhesive.source, adhesive.sheet_date = source.strip(), sheet_date
    adhesive.confirmed_at, adhesive.confirmed_by = bench.now, bench.actor.name
    session.flush()
    return adhesive


def _is_source(source: str) -> bool:
    """Whether a source says more than that there is none."""
    return source.strip() not in ("", SOURCE)


def _check(session: Session, adhesive_id: int | None, figures: dict[str, Any]) -> None:
    errors = faults_of_adhesive(figures)
    same = adhesive_named(session, figures["name"] or "")
    if same is not None and same.id != adhesive_id:
        errors["name"] = f"There is an adhesive called {figures['name']} already."
    if errors:
        raise BadInput(errors)
