"""The order of a build: what it waits for, taking it on by hand, ending it, and taking it up again."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.builds import BuildView, build_view
from shop.queries.desk_facts import desk_facts
from shop.queries.payments import owed_of_build
from shop.rules.enquiries import says_of_order
from shop.rules.facts import ApprovalFact
from shop.rules.orders import REASONS, way_to_close
from shop.services.orders import MOST_NOTE, close_order, reopen_order, take_on_order
from shop.web.benches import BenchSide, TheBench
from shop.web.deps import Form, Reading, Writing
from shop.web.doors import AtDesk
from shop.web.forms import Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.spec_page import waiting_words
from shop.web.templating import Frame, Page
from shop.web.wording import amount, when

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/order.html"


@router.get("/builds/{number}/order")
def show_order(actor: AtDesk, page: Page, session: Reading, bench: TheBench, number: str) -> Response:
    """Where the order stands, and the ways to take it on, to end it or to take it up again."""
    return page.show(TEMPLATE, here="desk", form=FormView(), **_context(page, session, bench, number))


@router.post("/builds/{number}/take-on")
def take_on(
    actor: AtDesk, page: Page, session: Writing, bench: TheBench, number: str, posted: Form
) -> Response:
    """Take an enquiry on as an order by hand."""
    with showing_again(page, TEMPLATE, posted, lambda: _over(page, session, bench, number)):
        take_on_order(session, number, bench.bench(session, actor))
    return page.go(f"/builds/{number}", f"{number} is taken on as an order.")


@router.post("/builds/{number}/close")
def close(
    actor: AtDesk, page: Page, session: Writing, bench: TheBench, number: str, posted: Form
) -> Response:
    """End an enquiry as declined, or an order as cancelled."""
    with showing_again(page, TEMPLATE, posted, lambda: _over(page, session, bench, number)):
        fields = Fields(posted)
        reason = fields.choice("reason", "The reason", REASONS)
        note = fields.text("note", "The note", MOST_NOTE)
        fields.done()
        build = close_order(session, number, bench.bench(session, actor), reason=reason, note=note)
    return page.go(f"/builds/{number}/order", f"{number} is {build.closed_as}.")


@router.post("/builds/{number}/reopen")
def reopen(
    actor: AtDesk, page: Page, session: Writing, bench: TheBench, number: str, posted: Form
) -> Response:
    """Take a declined enquiry or a cancelled order up again."""
    with showing_again(page, TEMPLATE, posted, lambda: _over(page, session, bench, number)):
        reopen_order(session, number, bench.bench(session, actor))
    return page.go(f"/builds/{number}/order", f"{number} is taken up again.")


def _over(page: Frame, session: Session, bench: BenchSide, number: str) -> dict[str, Any]:
    """The page over what is on record, after a refusal."""
    page.here = "desk"
    session.rollback()
    return _context(page, session, bench, number)


def _context(page: Frame, session: Session, bench: BenchSide, number: str) -> dict[str, Any]:
    build = build_view(session, number)
    owed = owed_of_build(session, build.id)
    return {
        "build": build,
        "waiting": waiting_words(session, build, bench.now, page.zone),
        "state": _state(build, desk_facts(session, build.id).approval, bench.now, page.zone),
        "paid": amount(owed.paid_cents, owed.currency) if owed.paid_cents else "",
        "closing": way_to_close(build.is_enquiry),
        "reasons": [("", "choose a reason"), *((reason, reason) for reason in REASONS)],
    }


def _state(build: BuildView, said: ApprovalFact | None, now: datetime, zone: ZoneInfo) -> str:
    if build.closed_at is not None:
        how = build.closed_as or "handed over"
        return f"{how.capitalize()}, {when(build.closed_at, now, zone)}."
    if build.is_enquiry:
        return f"An enquiry: {says_of_order(said)}. The bench does not see it yet."
    if build.stage is None:
        return "An order; work has not begun."
    return f"An order; the last stage reached is “{build.stage}”."
