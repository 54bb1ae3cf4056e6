"""The API of the record: its events, and their corrections."""

from typing import Annotated, Any

from pydantic import BaseModel, Field

from shop.queries.builds import build_view_by_id
from shop.queries.events import EventView, events_of_build
from shop.rules.record import EventKind, quantity_of
from shop.services.corrections import EventAnew, correct_event
from shop.web.api.base import Body, Once, Page, Truth, api_router
from shop.web.api.logged import By, Checks, Measurements, Note, Reason, pairs_of
from shop.web.api.quantities import quantity_out
from shop.web.api.times import InstantIn, InstantOut
from shop.web.benches import TheBench
from shop.web.deps import Reading, Writing
from shop.web.doors import KeyForCorrecting, KeyForLooking

router = api_router("events")


class EventOut(BaseModel):
    """One entry of a build's record. `pass` is the pass it belongs to; `corrects` the entry it points at."""

    id: int
    kind: EventKind
    stage: str | None
    pass_: Annotated[int, Field(serialization_alias="pass")]
    at: InstantOut
    entered_at: InstantOut
    by: str
    note: str
    corrects: int | None
    details: dict[str, Any]


class EventCorrection(Body):
    """The facts that were wrong, anew, and why. `undone` says that it did not happen at all."""

    reason: Reason
    at: InstantIn | None = None
    by: By | None = None
    note: Note | None = None
    undone: Truth = False
    checks: Checks | None = None
    measurements: Measurements | None = None


def event_out(event: EventView) -> dict[str, Any]:
    """An event, for `EventOut`; figures in both units."""
    details = dict(event.details)
    if "measurements" in details:
        details["measurements"] = {
            name: quantity_out(quantity_of(kept)) for name, kept in details["measurements"].items()
        }
    return {**event._asdict(), "pass_": event.pass_number, "details": details}


@router.get("/builds/{number}/events", response_model=Page[EventOut])
def list_events(actor: KeyForLooking, session: Reading, bench: TheBench, number: str) -> Any:
    """The whole record of a build, corrections included, in the order it was entered."""
    build = bench.row(session, number).build
    return {"items": [event_out(event) for event in events_of_build(session, build.id)]}


@router.post("/events/{event_id}/correct", status_code=201, response_model=EventOut)
def post_event_correction(
    actor: KeyForCorrecting,
    session: Writing,
    _once: Once,
    bench: TheBench,
    event_id: int,
    body: EventCorrection,
) -> Any:
    """Put an entry right with a further one that points at it."""
    anew = EventAnew(
        at=body.at,
        by=body.by or None,
        note=body.note,
        undone=body.undone,
        checks=None if body.checks is None else pairs_of(body.checks, body.by or actor.name),
        measured=body.measurements,
    )
    event = correct_event(session, bench.bench(session, actor), event_id, anew=anew, reason=body.reason)
    record = events_of_build(session, build_view_by_id(session, event.build_id).id)
    return next(event_out(entry) for entry in record if entry.id == event.id)
