"""One rod: its page, and what the bench logs on it."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from fastapi import APIRouter
from starlette.responses import Response

from shop.craft.quantities import QuantityError, parse_quantity
from shop.db.sessions import Session
from shop.rules.facts import Tick
from shop.rules.people import Actor
from shop.rules.refusals import BadInput, Held
from shop.rules.sequences import HoldKind
from shop.services.bench import Bench
from shop.services.cures import close_cure
from shop.services.events import Logged, Release, advance, note_down, send_back
from shop.web.benches import BenchSide, TheBench
from shop.web.deps import Form, Posted, Reading, Writing
from shop.web.doors import AtBench, Correcting, Looking, Releasing
from shop.web.forms import Fields, FormView, ShowAgain, showing_again
from shop.web.rod_page import rod_context
from shop.web.rods import hold_view
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
ROD = "pages/rod.html"


@router.get("/builds/{number}")
def show_rod(
    actor: Looking, page: Page, session: Reading, bench: TheBench, number: str, ticket: str = ""
) -> Response:
    """One rod, with its one big button for the next stage; `ticket` comes with a scanned bench ticket."""
    context = rod_context(page, session, bench, number, ticket)
    return page.show(ROD, here="in-hand", form=FormView(), **context)


@router.post("/builds/{number}/advance")
def log_stage(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, number: str, posted: Form
) -> Response:
    """Log the next stage, and close the joints that were made on reaching it."""
    at_bench = bench.bench(session, actor)
    with answering_rod(page, session, bench, number, posted):
        logged = _logged(posted, page.zone)
        try:
            advance(session, number, at_bench, logged)
        except Held as held:
            if _is_second_tap(held, actor):
                return page.go(f"/builds/{number}", f"Logged already: {logged.to}.")
            raise
        _close_joints(session, at_bench, number, posted, page.zone)
    return page.go(f"/builds/{number}", f"Logged: {logged.to}.")


@router.post("/builds/{number}/note")
def note_ahead(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, number: str, posted: Form
) -> Response:
    """Tick a check or note a figure ahead of the stage, for somebody else to log it."""
    with answering_rod(page, session, bench, number, posted):
        logged = _logged(posted, page.zone)
        if not logged.ticks and not logged.measured:
            raise BadInput(
                {"": "Tick a check or write a figure; a note alone goes with the stage it is about."}
            )
        note_down(session, number, bench.bench(session, actor), logged)
    return page.go(f"/builds/{number}", "Noted on the record.")


@router.post("/builds/{number}/release")
def release_rule(
    actor: Releasing, page: Page, session: Writing, bench: TheBench, number: str, posted: Form
) -> Response:
    """Release a house rule for the next stage, with a written reason."""
    kind = posted.get("kind", "")
    with answering_rod(page, session, bench, number, posted):
        fields = Fields(posted)
        fields.choice("kind", "The hold", tuple(HoldKind))
        reason = fields.text(f"reason-{kind}", "The reason", 500, required=True)
        fields.done()
        logged = Logged(posted.get("to", ""), releases=(Release(HoldKind(kind), reason),))
        note_down(session, number, bench.bench(session, actor), logged)
    return page.go(f"/builds/{number}", "Released; the reason stays on the record.")


@router.post("/builds/{number}/send-back")
def send_rod_back(
    actor: Correcting, page: Page, session: Writing, bench: TheBench, number: str, posted: Form
) -> Response:
    """Send the rod back to a stage it has reached."""
    with answering_rod(page, session, bench, number, posted):
        fields = Fields(posted)
        to = fields.text("back-to", "The stage to go back to", 80, required=True)
        reason = fields.text("back-reason", "The reason", 500, required=True)
        fields.done()
        send_back(session, number, bench.bench(session, actor), to=to, reason=reason)
    return page.go(f"/builds/{number}", f"Sent back to: {to}.")


@contextmanager
def answering_rod(
    page: Frame, session: Session, bench: BenchSide, number: str, posted: Posted
) -> Iterator[None]:
    """Turn a refusal inside the block into the rod's page: 409 with the holds, 422 with the form as typed."""
    page.here = "in-hand"

    def context() -> dict[str, Any]:
        # What was written before the refusal is dropped; the page must not show it as done.
        session.rollback()
        return rod_context(page, session, bench, number)

    try:
        with showing_again(page, ROD, posted, context):
            yield
    except Held as held:
        shown = context()
        shown["holds"] = [hold_view(hold, bench.now, page.zone) for hold in held.decision.holds]
        form = FormView(posted, {"": "This may not be done yet; the reason stands above the form."})
        raise ShowAgain(page.show(ROD, status=409, form=form, **shown)) from held


def _is_second_tap(held: Held, actor: Actor) -> bool:
    """Whether the same person has logged the same stage already: a double tap is one event."""
    earlier = held.decision.overtaken
    return earlier is not None and earlier.by == actor.name


def _logged(posted: Posted, zone: ZoneInfo) -> Logged:
    fields = Fields(posted)
    at = fields.instant("at", "The time", zone)
    note = fields.text("note", "The note", 1000)
    measured = {}
    for field, value in posted.items():
        if field.startswith("measure-") and value:
            try:
                measured[field.removeprefix("measure-")] = parse_quantity(value)
            except QuantityError as fault:
                fields.errors[field] = str(fault)
    fields.done()
    return Logged(to=posted.get("to", ""), at=at, note=note, ticks=tuple(_ticks(posted)), measured=measured)


def _ticks(posted: Posted) -> list[Tick]:
    """The ticked boxes; the person who ticked is whoever is signed in, which the service fills in."""
    return [Tick(name.removeprefix("check-"), "") for name in posted if name.startswith("check-")]


def _close_joints(session: Session, bench: Bench, number: str, posted: Posted, zone: ZoneInfo) -> None:
    for field in [name for name in posted if name.startswith("mix-")]:
        place = field.removeprefix("mix-")
        if not posted[field]:
            _refuse_time_alone(posted, place)
            continue
        fields = Fields(posted)
        closed_at = fields.instant(f"closed-{place}", "The time it was closed", zone, bench.now)
        mix = fields.chosen(field, "The mix")
        fields.done()
        try:
            close_cure(session, bench, mix, build=number, place=place, closed_at=_not_ahead(closed_at, bench))
        except BadInput as bad:
            raise BadInput({f"closed-{place}": bad.sentence}) from bad


def _refuse_time_alone(posted: Posted, place: str) -> None:
    if posted.get(f"closed-{place}"):
        raise BadInput(
            {f"mix-{place}": f"Choose the mix that the {place} was closed with, or leave its time out."}
        )


def _not_ahead(closed_at: datetime | None, bench: Bench) -> datetime | None:
    """A field of whole minutes may name the minute that has just begun; that is now."""
    if closed_at is not None and closed_at > bench.now and (closed_at - bench.now).total_seconds() < 60:
        return bench.now
    return closed_at
