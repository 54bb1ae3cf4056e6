"""Rods sold in a period, with what was agreed for each."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy import bindparam, case, func, select
from sqlalchemy.orm import Session, aliased

from shop.db.builds import Build
from shop.db.customers import Customer
from shop.db.events import Event
from shop.db.quotes import Quote
from shop.queries.payments import payments_between
from shop.queries.quotes import HAS_YES
from shop.rules.quotes import quote_from
from shop.rules.record import EventKind
from shop.rules.totals import MoneyRow, SoldRod

_AGREED = aliased(Quote)
# When a rod that was sent back after its handing over was handed over first.
_SOLD_BEFORE = (
    select(func.min(Event.details["handed_over"].as_string()))
    .where(Event.build_id == Build.id, Event.kind == EventKind.SEND_BACK)
    .correlate(Build)
    .scalar_subquery()
)
_SOLD = (
    select(
        Build.number, Build.title, Customer.name, Build.closed_at,
        case((Build.pass_number > 1, _SOLD_BEFORE)), _AGREED.document,
    )
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
        Build.closed_at.between(
            bindparam("begins", type_=Build.closed_at.type), bindparam("ends", type_=Build.closed_at.type)
        )
        | (Build.pass_number > 1),
    )
    .order_by(Build.id)
)  # fmt: skip


def sold_between(session: Session, first: date, last: date, zone: ZoneInfo) -> list[SoldRod]:
    """The rods that were sold in a period, both days included, by the days of a zone; the earliest first.

    A rod is sold when it is handed over for the first time: one that came back and was sent back to a stage
    stays in the period that it was counted in.
    """
    begins, ends = _begin(first, zone), _begin(last, zone, 1)
    found = []
    rows = session.execute(_SOLD, {"begins": begins, "ends": ends})
    for number, title, customer, closed_at, before, document in rows:
        sold_at = closed_at if before is None else datetime.fromisoformat(before)
        if sold_at is not None and begins <= sold_at < ends:
            offer = None if document is None else quote_from(document)
            found.append((sold_at, SoldRod(number, title, customer, sold_at.astimezone(zone).date(), offer)))
    return [rod for _, rod in sorted(found, key=lambda pair: pair[0])]


def _begin(day: date, zone: ZoneInfo, later: int = 0) -> datetime:
    return datetime.combine(day + timedelta(days=later), time(), zone)


def money_between(session: Session, first: date, last: date) -> list[MoneyRow]:
    """The rows of money of a period, both days included."""
    return [MoneyRow(row.currency, row.method, row.cents) for row in payments_between(session, first, last)]
