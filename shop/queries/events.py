"""The record: events of the present pass for decisions, and all of them for people to read."""

from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import bindparam, func, select
from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.events import Event
from shop.db.sequences import Stage
from shop.rules.record import EventFact, EventKind
from shop.rules.refusals import NotOnFile


class EventView(NamedTuple):
    """An event as pages and API show it."""

    id: int
    kind: str
    stage: str | None
    pass_number: int
    at: datetime
    entered_at: datetime
    by: str
    note: str
    corrects: int | None
    details: dict[str, Any]


_FACT = select(
    Event.build_id, Event.id, Event.kind, Stage.name, Event.happened_at, Event.by, Event.corrects_id,
    Event.details,
).join(Stage, Stage.id == Event.stage_id, isouter=True)  # fmt: skip
_OPEN = (
    _FACT.join(Build, Build.id == Event.build_id)
    .where(Build.closed_at.is_(None), Event.pass_number == Build.pass_number)
    .order_by(Event.build_id, Event.id)
)
_OF_PASS = _FACT.where(
    Event.build_id == bindparam("build_id"), Event.pass_number == bindparam("pass_number")
).order_by(Event.id)
_ALL = (
    select(
        Event.id, Event.kind, Stage.name, Event.pass_number, Event.happened_at, Event.entered_at, Event.by,
        Event.note, Event.corrects_id, Event.details,
    )
    .join(Stage, Stage.id == Event.stage_id, isouter=True)
    .where(Event.build_id == bindparam("build_id"))
    .order_by(Event.id)
)  # fmt: skip
_LAST_MOVES = select(func.max(Event.happened_at)).where(
    Event.build_id == bindparam("build_id"), Event.kind.in_((EventKind.STAGE, EventKind.SEND_BACK))
)


def _facts_by_build(rows: Any) -> dict[int, list[EventFact]]:
    found: dict[int, list[EventFact]] = {}
    for build_id, event_id, kind, stage, at, by, corrects, details in rows:
        fact = EventFact(event_id, EventKind(kind), stage, at, by, corrects, details)
        found.setdefault(build_id, []).append(fact)
    return found


def open_event_facts(session: Session) -> dict[int, list[EventFact]]:
    """The present pass's events of every open build, by the build's id."""
    return _facts_by_build(session.execute(_OPEN))


def event_facts(session: Session, build_id: int, pass_number: int) -> list[EventFact]:
    """The events of one pass of one build, in the order they were entered."""
    rows = session.execute(_OF_PASS, {"build_id": build_id, "pass_number": pass_number})
    return _facts_by_build(rows).get(build_id, [])


def events_of_build(session: Session, build_id: int) -> list[EventView]:
    """The whole record of a build, corrections included, in the order it was entered."""
    return [EventView(*row) for row in session.execute(_ALL, {"build_id": build_id})]


def last_move(session: Session, build_id: int) -> datetime | None:
    """When the build last reached a stage or was sent back, or none."""
    return session.scalar(_LAST_MOVES, {"build_id": build_id})


def event_record(session: Session, event_id: int) -> Event:
    """The record of one event, to point at; it cannot be changed. Raises `NotOnFile`."""
    event = session.get(Event, event_id)
    if event is None:
        raise NotOnFile(f"There is no event {event_id} on record.")
    return event
