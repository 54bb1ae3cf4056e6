"""Rods sold in a period, with what was agreed for each."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy import bindparam, func, select
from sqlalchemy.orm import Session, aliased

from shop.db.builds import Build
from shop.db.customers import Customer
from shop.db.quotes import Quote
from shop.queries.payments import payments_between
from shop.queries.quotes import HAS_YES
from shop.rules.quotes import quote_from
from shop.rules.totals import MoneyRow, SoldRod

_AGREED = aliased(Quote)
_SOLD = (
    select(Build.number, Build.title, Customer.name, Build.closed_at, _AGREED.document)
    .join(Customer, Customer.id == Build.customer_id)
    .join(
        _AGREED,
        _AGREED.id
        == select(func.max(Quote.id))
        .where(Quote.build_id == Build.id, Quote.sent_at.is_not(None), HAS_YES)
        .correlate(Build)
        .scalar_subquery(),
        isouter=True,
    )
    .where(
        Build.closed_as == "",
        Build.closed_at >= bindparam("begins", type_=Build.closed_at.type),
        Build.closed_at < bindparam("ends", type_=Build.closed_at.type),
    )
    .order_by(Build.closed_at, Build.id)
)


def sold_between(session: Session, first: date, last: date, zone: ZoneInfo) -> list[SoldRod]:
    """The rods that were finished in a period, both days included, by the days of a zone."""
    rows = session.execute(_SOLD, {"begins": _begin(first, zone), "ends": _begin(last, zone, 1)})
    return [
        SoldRod(
            number, title, customer, closed_at.astimezone(zone).date(),
            None if document is None else quote_from(document),
        )
        for number, title, customer, closed_at, document in rows
    ]  # fmt: skip


def _begin(day: date, zone: ZoneInfo, later: int = 0) -> datetime:
    return datetime.combine(day + timedelta(days=later), time(), zone)


def money_between(session: Session, first: date, last: date) -> list[MoneyRow]:
    """The rows of money of a period, both days included."""
    return [MoneyRow(row.currency, row.method, row.cents) for row in payments_between(session, first, last)]
