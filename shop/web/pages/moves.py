"""Carrying a rod to another zone, and undoing it; both from the page of one of its cures."""

from fastapi import APIRouter
from starlette.responses import Response

from shop.queries.cures import cure_view
from shop.services.moves import move_cures, undo_move
from shop.web.benches import TheBench
from shop.web.cure_page import CURE, cure_context
from shop.web.deps import Form, Writing
from shop.web.doors import AtBench, Correcting
from shop.web.forms import Fields, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)


@router.post("/cures/{cure_id}/move")
def carry(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, cure_id: int, posted: Form
) -> Response:
    """Carry the rod with all that is soft on it, or this one joint, to another zone."""
    page.here = "setting"
    at_bench = bench.bench(session, actor)
    number = cure_view(session, cure_id, at_bench.warmth).build
    with showing_again(page, CURE, posted, lambda: cure_context(page, session, bench, cure_id)):
        fields = Fields(posted)
        zone_id = fields.chosen("zone_id", "The zone")
        # Of a time that came twice the later: where it came to is counted from then on.
        at = fields.instant("at", "The time it was carried", page.zone, latest=at_bench.now)
        fields.done()
        alone = [cure_id] if posted.get("alone") else None
        move_cures(session, at_bench, number, zone_id=zone_id, at=at, cure_ids=alone)
    zone = at_bench.warmth.zones[zone_id].name
    return page.go(f"/cures/{cure_id}", f"Carried to the zone {zone}.")


@router.post("/cures/{cure_id}/undo-move")
def undo(
    actor: Correcting, page: Page, session: Writing, bench: TheBench, cure_id: int, posted: Form
) -> Response:
    """Say that this cure was not carried after all."""
    page.here = "setting"
    with showing_again(page, CURE, posted, lambda: cure_context(page, session, bench, cure_id)):
        fields = Fields(posted)
        move_id = fields.chosen("move_id", "The move")
        reason = fields.text("undo_reason", "The reason", 500, required=True)
        fields.done()
        undo_move(session, bench.bench(session, actor), move_id, reason=reason)
    return page.go(f"/cures/{cure_id}", "Undone; the move stays on the record.")
