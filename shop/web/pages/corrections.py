"""One cure, and putting entries of the record right: of cures and of events. Mixes have it on their page."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.builds import build_view_by_id
from shop.queries.events import event_record, events_of_build
from shop.rules.refusals import BadInput, Held
from shop.services.corrections import CureAnew, EventAnew, correct_cure, correct_event
from shop.web.benches import BenchSide, TheBench
from shop.web.cure_page import CURE, cure_context, may_correct
from shop.web.deps import Form, Reading, Writing
from shop.web.doors import Correcting, Looking
from shop.web.forms import Fields, FormView, ShowAgain, showing_again
from shop.web.rod_page import event_lines
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
EVENT = "pages/event.html"


@router.get("/cures/{cure_id}")
def show_cure(actor: Looking, page: Page, session: Reading, bench: TheBench, cure_id: int) -> Response:
    """One cure with its times, and a form to put it right."""
    return page.show(CURE, here="setting", form=FormView(), **cure_context(page, session, bench, cure_id))


@router.post("/cures/{cure_id}/correct")
def put_cure_right(
    actor: Correcting, page: Page, session: Writing, bench: TheBench, cure_id: int, posted: Form
) -> Response:
    """Put a cure right with a new entry."""
    page.here = "setting"
    try:
        with showing_again(page, CURE, posted, lambda: cure_context(page, session, bench, cure_id)):
            fields = Fields(posted)
            closed_at = fields.instant("closed_at", "The time it was closed", page.zone, bench.now)
            mix = fields.whole("mix", "The mix", 1, 2**31 - 1)
            lies_in = fields.whole("zone", "The zone", 1, 2**31 - 1)
            reason = fields.text("reason", "The reason", 500, required=True)
            fields.done()
            failed = True if posted.get("failed") else None
            anew = CureAnew(posted.get("place") or None, closed_at, mix, lies_in, failed)
            cure = correct_cure(session, bench.bench(session, actor), cure_id, anew=anew, reason=reason)
    except Held as held:
        form = FormView(posted, {"closed_at": held.sentence})
        shown = cure_context(page, session, bench, cure_id)
        raise ShowAgain(page.show(CURE, status=409, form=form, **shown)) from held
    return page.go(f"/cures/{cure.id}", "Put right; the old entry stays on the record.")


@router.get("/events/{event_id}")
def show_event(actor: Looking, page: Page, session: Reading, bench: TheBench, event_id: int) -> Response:
    """One entry of the record, and a form to put it right."""
    return page.show(EVENT, here="in-hand", form=FormView(), **_event(page, session, bench, event_id))


def _event(page: Frame, session: Session, bench: BenchSide, event_id: int) -> dict[str, Any]:
    event = event_record(session, event_id)
    build = build_view_by_id(session, event.build_id)
    lines = event_lines(events_of_build(session, build.id), build.pass_number, bench.now, page.zone)
    line = next(line for line in lines if line.id == event_id)
    return {"build": build, "line": line, "may_correct": may_correct(page)}


@router.post("/events/{event_id}/correct")
def put_event_right(
    actor: Correcting, page: Page, session: Writing, bench: TheBench, event_id: int, posted: Form
) -> Response:
    """Answer an entry with a further one that puts it right."""
    page.here = "in-hand"
    with showing_again(page, EVENT, posted, lambda: _event(page, session, bench, event_id)):
        fields = Fields(posted)
        at = fields.instant("at", "The time", page.zone)
        by = fields.text("by", "The name", 80)
        reason = fields.text("reason", "The reason", 500, required=True)
        undone = bool(posted.get("undone"))
        fields.done()
        if at is None and not by and not undone:
            raise BadInput({"at": "Say which fact was wrong, and what is right."})
        anew = EventAnew(at=at, by=by or None, undone=undone)
        event = correct_event(session, bench.bench(session, actor), event_id, anew=anew, reason=reason)
        number = build_view_by_id(session, event.build_id).number
    return page.go(f"/builds/{number}", "Put right; the first entry stays on the record.")
