"""Moments at the bench: saying that they were seen."""

from fastapi import APIRouter
from starlette.responses import Response

from shop.services.moments import mark_seen
from shop.web.benches import TheBench
from shop.web.deps import Form, Writing
from shop.web.doors import AtBench
from shop.web.forms import showing_again
from shop.web.moments import moments_due
from shop.web.pages.in_hand import in_hand_context, template_of
from shop.web.running import ReadingRoute
from shop.web.templating import Page

MOVED = "What you tapped is not told any more, or has moved."
router = APIRouter(route_class=ReadingRoute, include_in_schema=False)


@router.post("/moments/seen")
def see_moments(actor: AtBench, page: Page, session: Writing, bench: TheBench, posted: Form) -> Response:
    """Take down that somebody has seen the moments named, and go back to In hand.

    htmx follows there too, asking for the part that refreshes.
    """
    page.here = "in-hand"
    template = template_of(page)
    with showing_again(page, template, posted, lambda: in_hand_context(page, session, bench)):
        told = moments_due(page, session, bench)
        here = bench.bench(session, actor)
        is_all = mark_seen(session, here, told, keys=posted.all("key"), all_until=posted.get("all", ""))
    return page.go("/", "" if is_all else MOVED)
