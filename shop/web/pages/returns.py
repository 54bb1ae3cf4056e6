"""Rods that came back: the list of a period by cause, step, lot and person, and writing one down."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.returns import returns_between
from shop.rules.intakes import MOST_WISH, MOST_WORK
from shop.rules.returns import CAUSES, MOST_NOTE, MOST_PERSON, MOST_STAGE, ReturnSaid
from shop.services.returns import record_return
from shop.web.benches import BenchSide, TheBench
from shop.web.deps import Form, Posted, Reading, Writing
from shop.web.doors import AtDesk
from shop.web.forms import Fields, FormView, showing_again
from shop.web.periods import AskedPeriod, Period, csv_of_period
from shop.web.return_page import form_context, list_context, returns_csv
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
LIST, ONE = "pages/returns.html", "pages/came_back.html"


@router.get("/desk/returns")
def show_returns(
    actor: AtDesk,
    page: Page,
    session: Reading,
    bench: TheBench,
    asked: AskedPeriod,
) -> Response:
    """What came back in a period, and how often for what; this year where no other is asked for."""
    today = bench.now.astimezone(page.zone).date()
    usual = Period(today.replace(month=1, day=1), today)
    period, form, status = asked.or_usual(usual)
    context = list_context(returns_between(session, *period), today, page.shop.currency)
    return page.show(LIST, status, here="desk", tab="returns", form=form, period=period, **context)


@router.get("/desk/returns.csv")
def give_returns(
    actor: AtDesk,
    page: Page,
    session: Reading,
    asked: AskedPeriod,
) -> Response:
    """What came back in a period, one rod a line. Raises `BadInput` by field."""
    period = asked.read()
    text = returns_csv(returns_between(session, *period), page.shop.currency)
    return csv_of_period("returns", period, text)


@router.get("/builds/{number}/came-back")
def show_return(actor: AtDesk, page: Page, session: Reading, bench: TheBench, number: str) -> Response:
    """The form for a rod that came back, and when it came back before."""
    context = form_context(page, session, bench, number)
    return page.show(ONE, here="desk", form=FormView({"returned_on": context["today"]}), **context)


@router.post("/builds/{number}/came-back")
def write_return(
    actor: AtDesk, page: Page, session: Writing, bench: TheBench, number: str, posted: Form
) -> Response:
    """Write down that a rod came back; with a tick it is taken in for repair at once."""
    page.here = "desk"
    with showing_again(page, ONE, posted, lambda: _over(page, session, bench, number)):
        said, wish, work = _said(posted)
        kept = record_return(session, number, bench.bench(session, actor), said, wish=wish, work=work)
    if kept.repair_id is None:
        return page.go(f"/builds/{number}/came-back", "It is written down that it came back.")
    return page.go("/desk/repairs", "It is written down that it came back, and taken in for repair.")


def _over(page: Frame, session: Session, bench: BenchSide, number: str) -> dict[str, Any]:
    # What was written before a refusal is dropped.
    session.rollback()
    return form_context(page, session, bench, number)


def _said(posted: Posted) -> tuple[ReturnSaid, str | None, str]:
    """The return as typed, the wish for its repair or none, and which repair. Raises `BadInput` by field."""
    fields = Fields(posted)
    returned_on = fields.required("returned_on", "The day", fields.day("returned_on", "The day"))
    cause = fields.choice("cause", "The cause", CAUSES)
    stage = fields.text("stage_name", "The step", MOST_STAGE)
    lot_id = fields.whole("lot_id", "The lot", 1, 2**31 - 1)
    person = fields.text("person", "The person", MOST_PERSON)
    cost = fields.cents("cost_cents", "The cost")
    note = fields.text("note", "The note", MOST_NOTE)
    wish = fields.text("wish", "What is to be done", MOST_WISH)
    work = fields.text("work", "Which repair it is", MOST_WORK)
    fields.done()
    assert returned_on is not None
    said = ReturnSaid(returned_on, cause, stage, lot_id, person, cost, note)
    return said, (wish if posted.get("repair") else None), work
