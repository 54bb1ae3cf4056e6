"""The API of payments: written down for a build, taken back, and what is owed."""

from datetime import date
from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field

from shop.db.sessions import Session
from shop.queries.builds import build_view
from shop.queries.payments import owed_of_build, payment_view, payments_of_build
from shop.rules.payments import MOST_NOTE, PaymentSaid
from shop.services.payments import record_payment, take_back_payment
from shop.web.addresses import MOST_WHOLE
from shop.web.api.base import Body, Once, OnlyNumber, Truth, api_router
from shop.web.api.money import AmountIn
from shop.web.api.times import DayIn, InstantOut
from shop.web.benches import TheBench
from shop.web.deps import Reading, Writing
from shop.web.doors import KeyForDesk

router = api_router("payments")

Kind = Literal["deposit", "balance", "other"]
Method = Literal["cash", "bank transfer", "card", "cheque", "online payment", "voucher", "other"]


class PaymentIn(Body):
    """Money that came in, or with `given_back` went to the customer. `note` stays for good: no names.

    `newest` is the id of the last row that you have seen, to be told when there is a further one.
    """

    kind: Kind
    cents: AmountIn
    method: Method
    paid_on: DayIn
    note: Annotated[str, Field(max_length=MOST_NOTE)] = ""
    given_back: Truth = False
    newest: Annotated[
        Annotated[int, Field(ge=0, le=MOST_WHOLE), OnlyNumber] | None,
        Field(description="The id of the last row that was seen; 0 for none."),
    ] = None


class TakingBack(Body):
    """Why a payment was written down by mistake; it stays for good: no names."""

    reason: Annotated[str, Field(max_length=MOST_NOTE, examples=["Entered for the wrong rod."])]


class PaymentOut(BaseModel):
    """A row of money: below nothing where it went back. `corrected_by` is the row that took it back."""

    id: int
    build: str
    kind: Kind
    cents: Annotated[int, Field(description="Whole cents of `currency`; below nothing: went back.")]
    currency: str
    method: Method
    paid_on: date
    entered_at: InstantOut
    by: str
    note: str
    corrects_id: int | None
    corrected_by: int | None


class PaymentsOut(BaseModel):
    """The payments of a build, all in one page, with what is agreed, paid and owed.

    `agreed_cents` and `deposit_cents` are null before there is a quote with a yes.
    """

    currency: str
    agreed_cents: int | None
    deposit_cents: int | None
    paid_cents: int
    owed_cents: int
    over_cents: Annotated[int, Field(description="Whole cents paid beyond what was agreed.")]
    items: list[PaymentOut]
    next: str | None = None


def _shown(session: Session, number: str) -> dict[str, Any]:
    build_id = build_view(session, number).id
    owed = owed_of_build(session, build_id)
    return {
        "currency": owed.currency, "agreed_cents": owed.agreed_cents, "deposit_cents": owed.deposit_cents,
        "paid_cents": owed.paid_cents, "owed_cents": owed.owed_cents, "over_cents": owed.over_cents,
        "items": payments_of_build(session, build_id), "next": None,
    }  # fmt: skip


@router.get("/builds/{number}/payments", response_model=PaymentsOut)
def list_payments(actor: KeyForDesk, session: Reading, number: str) -> Any:
    """What came in and went back for a build, and what is owed."""
    return _shown(session, number)


@router.post("/builds/{number}/payments", status_code=201, response_model=PaymentOut)
def post_payment(
    actor: KeyForDesk, session: Writing, _once: Once, bench: TheBench, number: str, body: PaymentIn
) -> Any:
    """Write a payment down."""
    given = body.model_dump()
    newest = given.pop("newest")
    payment = record_payment(
        session, number, bench.bench(session, actor), PaymentSaid(**given), newest=newest
    )
    return payment_view(session, payment.id)


@router.post("/payments/{payment_id}/take-back", status_code=201, response_model=PaymentOut)
def post_payment_taking_back(
    actor: KeyForDesk, session: Writing, _once: Once, bench: TheBench, payment_id: int, body: TakingBack
) -> Any:
    """Take a payment back that was written down by mistake; gives the further row that does."""
    payment = take_back_payment(session, payment_id, bench.bench(session, actor), reason=body.reason)
    return payment_view(session, payment.id)
