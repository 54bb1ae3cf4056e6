"""The shelf's pages of deliveries: taking in what came, looking at it in time, sending some of it back."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.deliveries import (
    delivery_view,
    latest_deliveries,
    lines_of_deliveries,
    newest_delivery_id,
    waiting_deliveries,
)
from shop.queries.stocks import stocks_on_shelf
from shop.queries.suppliers import suppliers_by_name
from shop.rules.deliveries import MOST_NOTE, MOST_REFERENCE, DeliveryDays
from shop.rules.people import Right
from shop.rules.stock import MOST_COUNT, MOST_REASON
from shop.services.deliveries import (
    DeliverySaid,
    inspect_delivery,
    receive_delivery,
    return_to_supplier,
)
from shop.web.addresses import MOST_WHOLE
from shop.web.benches import BenchSide, TheBench
from shop.web.delivery_page import (
    HEAD,
    delivery_rows,
    left_said,
    line_rows,
    lines_said,
    typed_lines,
)
from shop.web.deps import Form, Posted, Reading, Writing
from shop.web.doors import AtDesk, Looking
from shop.web.forms import Fields, FormView, showing_again
from shop.web.pages.lots import PART_CHOICES, today_of
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page
from shop.web.wording import day, when

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
LIST, ONE, FORM = "pages/deliveries.html", "pages/delivery.html", "pages/delivery_form.html"
MOST_LATEST = 50


@router.get("/shelf/deliveries")
def show_deliveries(actor: Looking, page: Page, session: Reading, bench: TheBench) -> Response:
    """What is to be looked at or may still go back, and the latest that are done with."""
    today = today_of(page, bench)
    waiting = waiting_deliveries(session, today)
    done = [delivery for delivery in latest_deliveries(session, MOST_LATEST) if delivery not in waiting]
    lines = lines_of_deliveries(session, {delivery.id for delivery in (*waiting, *done)})
    return page.show(
        LIST, here="shelf", head=HEAD, waiting=delivery_rows(waiting, lines, today),
        done=delivery_rows(done, lines, today), may_desk=actor.may(Right.DESK),
    )  # fmt: skip


@router.get("/shelf/deliveries/new")
def new_delivery(actor: AtDesk, page: Page, session: Reading, bench: TheBench) -> Response:
    """An empty form for what has come."""
    form = FormView({"received_on": today_of(page, bench).isoformat()})
    return page.show(FORM, here="shelf", form=form, **_form(session, Posted([])))


def _form(session: Session, posted: Posted) -> dict[str, Any]:
    items = sorted(stocks_on_shelf(session), key=lambda item: (item.kind, item.name))
    return {
        "suppliers": [("", "not said"), *((item.id, item.name) for item in suppliers_by_name(session))],
        "items": [("", "nothing"), *((str(item.id), f"{item.name} ({item.unit})") for item in items)],
        "parts": PART_CHOICES,
        "lines": typed_lines(posted),
        "newest": newest_delivery_id(session),
    }


@router.post("/shelf/deliveries/new")
def take_delivery_in(actor: AtDesk, page: Page, session: Writing, bench: TheBench, posted: Form) -> Response:
    """Take a delivery in; or show the form again with more lines."""
    page.here = "shelf"
    if posted.get("what") == "more":
        return page.show(FORM, form=FormView(posted), **_form(session, posted))
    with showing_again(page, FORM, posted, lambda: _form(session, posted)):
        newest = Fields(posted).whole("newest", "The newest delivery", 0, MOST_WHOLE)
        delivery = receive_delivery(session, bench.bench(session, actor), _said(posted), newest=newest)
    return page.go(f"/shelf/deliveries/{delivery.id}", "It is on the shelf. Look at it before its day.")


def _said(posted: Posted) -> DeliverySaid:
    """A whole delivery as typed. Raises `BadInput` with every fault by field."""
    fields = Fields(posted)
    days = DeliveryDays(
        fields.day("received_on", "The day it came"), fields.day("inspect_by", "The day to look at it by"),
        fields.day("return_by", "The last day to send it back"),
    )  # fmt: skip
    said = DeliverySaid(
        days, lines_said(typed_lines(posted), fields),
        fields.whole("supplier_id", "The supplier", 1, MOST_WHOLE),
        fields.text("reference", "The reference", MOST_REFERENCE), fields.text("note", "The note", MOST_NOTE),
    )  # fmt: skip
    fields.done()
    return said


@router.get("/shelf/deliveries/{delivery_id}")
def show_delivery(
    actor: Looking, page: Page, session: Reading, bench: TheBench, delivery_id: int
) -> Response:
    """One delivery: what came, by when to look at it, and what of it went back."""
    return page.show(ONE, here="shelf", form=FormView(), **_one(page, session, bench, delivery_id))


def _one(page: Frame, session: Session, bench: BenchSide, delivery_id: int) -> dict[str, Any]:
    today, delivery = today_of(page, bench), delivery_view(session, delivery_id)
    lines = lines_of_deliveries(session, [delivery_id]).get(delivery_id, [])
    may_desk = page.person is not None and page.person.may(Right.DESK)
    looked_at = "not yet"
    if delivery.inspected_at is not None:
        looked_at = f"{when(delivery.inspected_at, bench.now, page.zone)}, {delivery.inspected_by}"
    return {
        "delivery": delivery,
        "facts": [
            ("Came", day(delivery.received_on, today)),
            ("From", delivery.supplier or "not said"),
            ("Reference", delivery.reference or "not said"),
            ("Look at it by", left_said(delivery.inspect_by, today, "no day named")),
            ("Send it back by", left_said(delivery.return_by, today, "no day named")),
            ("Looked at", looked_at),
            ("Note", delivery.note or "none"),
        ],
        "head": ["Item", "Came", "Went back", *(["One cost"] if may_desk else [])],
        "rows": line_rows(lines, may_desk),
        "returned": sum(line.returned for line in lines),
        "returnable": [(str(line.stock_id), line.name) for line in lines if line.received > line.returned],
        "may_desk": may_desk,
    }


def _as_it_stands(page: Frame, session: Session, bench: BenchSide, delivery_id: int) -> dict[str, Any]:
    """The same after a refusal: what was written before it is dropped, and must not show as done."""
    session.rollback()
    return _one(page, session, bench, delivery_id)


@router.post("/shelf/deliveries/{delivery_id}/inspect")
def note_inspection(
    actor: AtDesk, page: Page, session: Writing, bench: TheBench, delivery_id: int, posted: Form
) -> Response:
    """Write down that somebody has looked at all of it."""
    page.here = "shelf"
    with showing_again(page, ONE, posted, lambda: _as_it_stands(page, session, bench, delivery_id)):
        fields = Fields(posted)
        note = fields.text("note", "The note", MOST_NOTE)
        fields.done()
        inspect_delivery(session, bench.bench(session, actor), delivery_id, note=note)
    return page.go(f"/shelf/deliveries/{delivery_id}", "Looked at; your name stands by it.")


@router.post("/shelf/deliveries/{delivery_id}/return")
def send_some_back(
    actor: AtDesk, page: Page, session: Writing, bench: TheBench, delivery_id: int, posted: Form
) -> Response:
    """Send some of it back to the supplier."""
    page.here = "shelf"
    with showing_again(page, ONE, posted, lambda: _as_it_stands(page, session, bench, delivery_id)):
        fields = Fields(posted)
        stock_id = fields.chosen("stock_id", "What goes back")
        count = fields.whole("count", "How many go back", 1, MOST_COUNT)
        fields.required("count", "How many go back", count)
        reason = fields.text("reason", "What is wrong with it", MOST_REASON, required=True)
        returned = fields.whole("returned", "What went back", 0, MOST_WHOLE)
        fields.done()
        return_to_supplier(
            session, bench.bench(session, actor), delivery_id, stock_id=stock_id, count=count or 0,
            reason=reason, returned=returned,
        )  # fmt: skip
    return page.go(f"/shelf/deliveries/{delivery_id}", "Taken off the shelf; send it off.")
