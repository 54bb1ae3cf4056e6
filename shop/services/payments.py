"""Payments: written down when money came in or went back, and taken back where that was a mistake.

Rows are only ever added; one that was wrong is answered by a further row that points at it. What is on the
record of the build names no amount: the bench reads the record, and money is the desk's.
"""

from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.payments import Payment
from shop.queries.builds import build_by_id, build_record
from shop.queries.payments import newest_payment_id, owed_of_build, payment_view
from shop.queries.shop import read_shop
from shop.rules.payments import MOST_NOTE, PaymentSaid, faults_of_payment
from shop.rules.record import EventKind
from shop.rules.refusals import BadInput, Overtaken
from shop.services.bench import Bench
from shop.services.events import add_event


def record_payment(
    session: Session, number: str, bench: Bench, said: PaymentSaid, *, newest: int | None = None
) -> Payment:
    """Write a payment down. The money of a build stays in the currency that it began in.

    `newest` is the id of the row that was the last one when the form was shown (0 before the first; none:
    whichever it is). Raises `BadInput`, `NotOnFile`, or `Overtaken` where a further row has come since: a
    second press of one button is not a second payment.
    """
    build = build_record(session, number)
    _check_newest(session, build.id, newest)
    zone = read_shop(session).zone
    today, taken_on = (instant.astimezone(zone).date() for instant in (bench.now, build.created_at))
    owed = owed_of_build(session, build.id)
    if errors := faults_of_payment(said, today, taken_on, owed):
        raise BadInput(errors)
    payment = Payment(
        build_id=build.id, kind=said.kind, cents=-said.cents if said.given_back else said.cents,
        currency=owed.currency, method=said.method, paid_on=said.paid_on, entered_at=bench.now,
        by=bench.actor.name, note=said.note.strip(),
    )  # fmt: skip
    what = f"{said.kind} given back" if said.given_back else f"{said.kind} came in"
    _write(session, build, bench, payment, f"A payment is written down: {what}.")
    return payment


def take_back_payment(session: Session, payment_id: int, bench: Bench, *, reason: str) -> Payment:
    """Answer a payment that was written down by mistake with a row that takes it back, dated today.

    The first row stays. Raises `BadInput`, `NotOnFile`, or `Overtaken` where it was taken back already.
    """
    view = payment_view(session, payment_id)
    build = build_by_id(session, view.build_id)
    # Read again: whoever had the build before may have taken it back.
    view = payment_view(session, payment_id)
    _check_taking_back(reason)
    if view.corrected_by is not None:
        raise Overtaken("This payment has been taken back already.")
    if view.corrects_id is not None:
        raise Overtaken("This row takes another one back; write the payment down anew instead.")
    payment = Payment(
        build_id=build.id, kind=view.kind, cents=-view.cents, currency=view.currency, method=view.method,
        paid_on=bench.now.astimezone(read_shop(session).zone).date(), entered_at=bench.now,
        by=bench.actor.name, note=reason.strip(), corrects_id=view.id,
    )  # fmt: skip
    _write(session, build, bench, payment, "A payment was written down by mistake and is taken back.")
    return payment


def _check_newest(session: Session, build_id: int, newest: int | None) -> None:
    if newest is not None and newest != newest_payment_id(session, build_id):
        raise Overtaken("A further payment has been written down meanwhile; look at the list first.")


def _check_taking_back(reason: str) -> None:
    if not reason.strip():
        raise BadInput({"reason": "Taking a payment back needs a reason; it stays on record."})
    if len(reason) > MOST_NOTE or "\0" in reason:
        raise BadInput({"reason": f"The reason is a line of at most {MOST_NOTE} characters."})


def _write(session: Session, build: Build, bench: Bench, payment: Payment, note: str) -> None:
    session.add(payment)
    session.flush()
    details = {"payment_id": payment.id}
    add_event(session, build, bench, EventKind.PAYMENT, bench.now, "", note, details)
    session.flush()
