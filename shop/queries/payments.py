"""Payments: those of a build and of a period, and what is owed of what was agreed."""

from datetime import date, datetime
from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, case, func, select
from sqlalchemy.orm import Session, aliased

from shop.db.builds import Build
from shop.db.customers import Customer
from shop.db.payments import Payment
from shop.db.quotes import Quote
from shop.db.shop import Shop
from shop.queries.quotes import HAS_YES
from shop.rules.payments import Owed
from shop.rules.refusals import NotOnFile


class PaymentView(NamedTuple):
    """A row of money: below nothing where it went back. `corrected_by` is the row that took it back."""

    id: int
    build_id: int
    build: str
    kind: str
    cents: int
    currency: str
    method: str
    paid_on: date
    entered_at: datetime
    by: str
    note: str
    corrects_id: int | None
    corrected_by: int | None


class OwedLine(NamedTuple):
    """A build with money that is owed, or that was paid beyond what was agreed."""

    build: str
    title: str
    customer: str
    customer_id: int
    closed_at: datetime | None
    closed_as: str
    owed: Owed


_BACK = aliased(Payment)
_VIEW: Select[*tuple[Any, ...]] = (
    select(
        Payment.id, Payment.build_id, Build.number, Payment.kind, Payment.cents, Payment.currency,
        Payment.method, Payment.paid_on, Payment.entered_at, Payment.by, Payment.note, Payment.corrects_id,
        select(func.min(_BACK.id))
        .where(_BACK.build_id == Payment.build_id, _BACK.corrects_id == Payment.id)
        .correlate(Payment)
        .scalar_subquery(),
    )
    .join(Build, Build.id == Payment.build_id)
)  # fmt: skip
_OF_BUILD = _VIEW.where(Payment.build_id == bindparam("build_id")).order_by(Payment.id)
_ONE = _VIEW.where(Payment.id == bindparam("id"))
_BETWEEN = _VIEW.where(Payment.paid_on.between(bindparam("first"), bindparam("last"))).order_by(
    Payment.paid_on, Payment.id
)
_NEWEST = select(func.coalesce(func.max(Payment.id), 0)).where(Payment.build_id == bindparam("build_id"))
_AGREED_ID = (
    select(func.max(Quote.id))
    .where(Quote.build_id == Build.id, Quote.sent_at.is_not(None), HAS_YES)
    .correlate(Build)
    .scalar_subquery()
)
_PAID = select(func.sum(Payment.cents)).where(Payment.build_id == Build.id).correlate(Build).scalar_subquery()
_PAID_IN = (
    select(func.min(Payment.currency)).where(Payment.build_id == Build.id).correlate(Build).scalar_subquery()
)
_AGREED = aliased(Quote)
_OWED = (
    select(
        func.coalesce(_AGREED.currency, _PAID_IN, Shop.currency), _AGREED.total_cents, _AGREED.deposit_cents,
        func.coalesce(_PAID, 0), Build.closed_as != "",
    )
    .select_from(Build)
    .join(Shop, Shop.id == 1)
    .join(_AGREED, _AGREED.id == _AGREED_ID, isouter=True)
    .where(Build.id == bindparam("build_id"))
)  # fmt: skip
_AGREED_OF = (
    select(func.max(Quote.id).label("id"))
    .where(Quote.sent_at.is_not(None), HAS_YES)
    .group_by(Quote.build_id)
    .subquery()
)
_AGREED_SUMS = (
    select(Quote.build_id, Quote.currency, Quote.total_cents, Quote.deposit_cents)
    .join(_AGREED_OF, _AGREED_OF.c.id == Quote.id)
    .subquery()
)
_PAID_OF = (
    select(
        Payment.build_id, func.sum(Payment.cents).label("cents"), func.min(Payment.currency).label("currency")
    )
    .group_by(Payment.build_id)
    .subquery()
)
_UNEVEN = (
    select(
        Build.number, Build.title, Customer.name, Build.customer_id, Build.closed_at, Build.closed_as,
        func.coalesce(_AGREED_SUMS.c.currency, _PAID_OF.c.currency), _AGREED_SUMS.c.total_cents,
        _AGREED_SUMS.c.deposit_cents, func.coalesce(_PAID_OF.c.cents, 0),
    )
    .join(Customer, Customer.id == Build.customer_id)
    .join(_AGREED_SUMS, _AGREED_SUMS.c.build_id == Build.id, isouter=True)
    .join(_PAID_OF, _PAID_OF.c.build_id == Build.id, isouter=True)
    .where(
        # Of an order that was dropped nothing is owed, so all that was paid is too much.
        func.coalesce(_PAID_OF.c.cents, 0)
        != case((Build.closed_as != "", 0), else_=func.coalesce(_AGREED_SUMS.c.total_cents, 0))
    )
    .order_by(Build.id)
)  # fmt: skip


def payments_of_build(session: Session, build_id: int) -> list[PaymentView]:
    """Every row of money of a build, in the order in which they were written down."""
    return [PaymentView(*row) for row in session.execute(_OF_BUILD, {"build_id": build_id})]


def payment_view(session: Session, payment_id: int) -> PaymentView:
    """One row of money. Raises `NotOnFile`."""
    row = session.execute(_ONE, {"id": payment_id}).first()
    if row is None:
        raise NotOnFile(f"There is no payment {payment_id} on file.")
    return PaymentView(*row)


def payments_between(session: Session, first: date, last: date) -> list[PaymentView]:
    """Every row of money of a period, both days included, by day."""
    return [PaymentView(*row) for row in session.execute(_BETWEEN, {"first": first, "last": last})]


def newest_payment_id(session: Session, build_id: int) -> int:
    """The id of the row of money written down last for a build, 0 before the first."""
    return session.execute(_NEWEST, {"build_id": build_id}).scalar_one()


def owed_of_build(session: Session, build_id: int) -> Owed:
    """What was agreed for a build, what is paid and what is owed, in one statement. Raises `NotOnFile`."""
    row = session.execute(_OWED, {"build_id": build_id}).first()
    if row is None:
        raise NotOnFile("There is no such build on file.")
    currency, agreed_cents, deposit_cents, paid_cents, is_dropped = row
    return Owed(currency, agreed_cents, deposit_cents, int(paid_cents), bool(is_dropped))


def uneven_builds(session: Session) -> list[OwedLine]:
    """Every build that owes money or has paid beyond what was agreed, oldest first."""
    lines = []
    for *build, closed_as, currency, agreed_cents, deposit_cents, paid_cents in session.execute(_UNEVEN):
        owed = Owed(currency, agreed_cents, deposit_cents, int(paid_cents), closed_as != "")
        if owed.owed_cents or owed.over_cents:
            lines.append(OwedLine._make((*build, closed_as, owed)))
    return lines
