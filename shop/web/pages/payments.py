"""The money of a build at the desk: what is agreed, paid and owed; payments written down and taken back."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.builds import build_view
from shop.queries.payments import PaymentView, owed_of_build, payment_view, payments_of_build
from shop.rules.payments import KINDS, METHODS, MOST_NOTE, Owed, PaymentSaid, say_kind
from shop.services.payments import record_payment, take_back_payment
from shop.web.benches import TheBench
from shop.web.deps import Form, Reading, Writing
from shop.web.doors import AtDesk
from shop.web.forms import Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page
from shop.web.wording import amount, day, when

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
LIST, ONE = "pages/payments.html", "pages/payment_back.html"
IN, BACK = "in", "back"


@router.get("/builds/{number}/payments")
def show_payments(actor: AtDesk, page: Page, session: Reading, bench: TheBench, number: str) -> Response:
    """What is agreed, paid and owed, every payment, and a form for a further one."""
    return page.show(LIST, here="desk", form=FormView(), **_context(page, session, bench.now, number))


@router.post("/builds/{number}/payments")
def write_payment_down(
    actor: AtDesk, page: Page, session: Writing, bench: TheBench, number: str, posted: Form
) -> Response:
    """Write down money that came in or went back."""
    page.here = "desk"
    with showing_again(page, LIST, posted, lambda: _over(page, session, bench.now, number)):
        fields = Fields(posted)
        newest = fields.whole("newest", "The newest payment", 0, 2**31 - 1)
        said = _said(fields)
        record_payment(session, number, bench.bench(session, actor), said, newest=newest)
    return page.go(f"/builds/{number}/payments", "The payment is written down.")


def _said(fields: Fields) -> PaymentSaid:
    """The payment as typed. Raises `BadInput` with every fault."""
    kind = fields.choice("kind", "What it is", KINDS)
    method = fields.choice("method", "The method", METHODS)
    way = fields.choice("way", "Which way it went", (IN, BACK))
    cents = fields.required("cents", "The amount", fields.cents("cents", "The amount"))
    paid_on = fields.required("paid_on", "The day", fields.day("paid_on", "The day"))
    note = fields.text("note", "The note", MOST_NOTE)
    fields.done()
    assert cents is not None
    assert paid_on is not None
    return PaymentSaid(kind, cents, method, paid_on, note, way == BACK)


@router.get("/payments/{payment_id}/take-back")
def show_taking_back(
    actor: AtDesk, page: Page, session: Reading, bench: TheBench, payment_id: int
) -> Response:
    """One payment, to be taken back with a reason."""
    return page.show(ONE, here="desk", form=FormView(), **_one(page, session, bench.now, payment_id))


@router.post("/payments/{payment_id}/take-back")
def take_payment_back(
    actor: AtDesk, page: Page, session: Writing, bench: TheBench, payment_id: int, posted: Form
) -> Response:
    """Take a payment back that was written down by mistake."""
    page.here = "desk"
    with showing_again(page, ONE, posted, lambda: _one(page, session, bench.now, payment_id)):
        take_back_payment(session, payment_id, bench.bench(session, actor), reason=posted.get("reason", ""))
    number = payment_view(session, payment_id).build
    return page.go(f"/builds/{number}/payments", "The payment is taken back; both rows stay.")


def _over(page: Frame, session: Session, now: datetime, number: str) -> dict[str, Any]:
    # What was written before a refusal is dropped; the page must not show it as done.
    session.rollback()
    return _context(page, session, now, number)


def _context(page: Frame, session: Session, now: datetime, number: str) -> dict[str, Any]:
    build = build_view(session, number)
    owed, payments = owed_of_build(session, build.id), payments_of_build(session, build.id)
    return {
        "build": build,
        "facts": owed_facts(owed),
        "currency": owed.currency,
        "newest": payments[-1].id if payments else 0,
        "rows": [_row(payment, now, page.zone) for payment in reversed(payments)],
        "kinds": [(kind, kind) for kind in KINDS],
        "methods": [("", "choose"), *((method, method) for method in METHODS)],
        "suggested": _suggested(owed, page, now),
    }


def owed_facts(owed: Owed) -> list[tuple[str, str]]:
    """What is agreed, paid and owed, in finished words."""
    pairs = [
        ("Agreed", owed.agreed_cents), ("Deposit of it", owed.deposit_cents), ("Paid", owed.paid_cents),
        ("Owed", owed.owed_cents), ("Paid beyond it", owed.over_cents or None),
    ]  # fmt: skip
    facts = [(label, amount(cents, owed.currency)) for label, cents in pairs if cents is not None]
    return facts if owed.agreed_cents is not None else [("Agreed", "nothing yet"), *facts]


def _suggested(owed: Owed, page: Frame, now: datetime) -> dict[str, str]:
    """What the form begins with: the deposit while nothing has come in, then the balance, today."""
    is_first = owed.deposit_owed_cents and not owed.paid_cents
    kind = "deposit" if is_first else "balance" if owed.owed_cents else "other"
    return {"kind": kind, "way": IN, "paid_on": now.astimezone(page.zone).date().isoformat()}


def _row(payment: PaymentView, now: datetime, zone: ZoneInfo) -> list[Any]:
    state: Any = {"text": "take back", "href": f"/payments/{payment.id}/take-back"}
    if payment.corrects_id is not None:
        state = f"takes back no. {payment.corrects_id}"
    elif payment.corrected_by is not None:
        state = f"taken back by no. {payment.corrected_by}"
    return [
        f"{payment.id}", day(payment.paid_on, now.astimezone(zone).date()),
        say_kind(payment.kind, payment.cents), payment.method, amount(payment.cents, payment.currency),
        payment.note or "–", f"{payment.by}, {when(payment.entered_at, now, zone)}", state,
    ]  # fmt: skip


def _one(page: Frame, session: Session, now: datetime, payment_id: int) -> dict[str, Any]:
    payment = payment_view(session, payment_id)
    *facts, _ = zip(
        ("No.", "Day", "What", "Method", "Amount", "Note", "Written down by", ""),
        _row(payment, now, page.zone), strict=True,
    )  # fmt: skip
    return {"payment": payment, "facts": facts, "is_done": payment.corrected_by or payment.corrects_id}
