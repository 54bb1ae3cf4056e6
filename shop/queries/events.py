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
    Event.id, Event.kind, Stage.name, Event.happened_at, Event.by, Event.corrects_id,
    Event.details,
).join(Stage, Stage.id == Event.stage_id, isouter=True)  # fmt: skip
_LAST_OF_OPEN = (
    select(Build.id, Build.pass_number, func.max(Event.id))
    .join(Event, (Event.build_id == Build.id) & (Event.pass_number == Build.pass_number))
    # By way of the few open builds; the planner would else walk the whole history.
    .where(Event.build_id.in_(select(Build.id).where(Build.closed_at.is_(None))))
    .group_by(Build.id, Build.pass_number)
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
_PASS_BEGAN = select(func.min(Event.happened_at)).where(
    Event.build_id == bindparam("build_id"),
    Event.pass_number == bindparam("pass_number"),
    Event.kind == EventKind.SEND_BACK,
)
_LAST_KIND = (
    select(Event.kind)
    .where(Event.build_id == bindparam("build_id"), Event.pass_number == bindparam("pass_number"))
    .order_by(Event.id.desc())
    .limit(1)
)


def last_events_of_open_builds(session: Session) -> list[tuple[int, int, int]]:
    """Build's id, its present pass, and the id of that pass's last event, for open builds that have one."""
    return [
        (build, pass_number, last) for build, pass_number, last in session.connection().execute(_LAST_OF_OPEN)
    ]


def event_facts(session: Session, build_id: int, pass_number: int) -> list[EventFact]:
    """The events of one pass of one build, in the order they were entered."""
    rows = session.execute(_OF_PASS, {"build_id": build_id, "pass_number": pass_number})
    return [
        EventFact(event_id, EventKind(kind), stage, at, by, corrects, details)
        for event_id, kind, stage, at, by, corrects, details in rows
    ]


def events_of_build(session: Session, build_id: int) -> list[EventView]:
    """The whole record of a build, corrections included, in the order it was entered."""
    return [EventView(*row) for row in session.execute(_ALL, {"build_id": build_id})]


def pass_began(session: Session, build_id: int, pass_number: int) -> datetime | None:
    """When the build was sent back, which began this pass; none in the first."""
    if pass_number == 1:
        return None
    return session.scalar(_PASS_BEGAN, {"build_id": build_id, "pass_number": pass_number})


def is_fresh_pass(session: Session, build_id: int, pass_number: int) -> bool:
    """Whether nothing has happened since the build was sent back."""
    if pass_number == 1:
        return False
    last = session.scalar(_LAST_KIND, {"build_id": build_id, "pass_number": pass_number})
    return last == EventKind.SEND_BACK


def event_record(session: Session, event_id: int) -> Event:
    """The record of one event, to point at; it cannot be changed. Raises `NotOnFile`."""
    event = session.get(Event, event_id)
    if event is None:
        raise NotOnFile(f"There is no event {event_id} on record.")
    return event
