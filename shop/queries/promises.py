"""Promises: the changes of one build's, those of open builds that moved, and those that were kept."""

from datetime import date, datetime
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from sqlalchemy import Select, bindparam, func, select
from sqlalchemy.orm import Session, aliased

from shop.db.builds import Build
from shop.db.customers import Customer
from shop.db.promises import Promise
from shop.rules.promises import FinishedBuild


class PromiseView(NamedTuple):
    """One promise or change of it: the day, the one before, and the reason that the customer is told."""

    id: int
    promised_on: date | None
    was_on: date | None
    reason: str
    at: datetime
    by: str


class MovedPromise(NamedTuple):
    """An open build whose promise is not what it was at first; `changes` is how often it was changed.

    `promised_on` is none where the promise was taken back; `reason` is that of the last change.
    """

    number: str
    title: str
    customer: str
    first: date
    promised_on: date | None
    changes: int
    reason: str
    last_at: datetime


_VIEW = select(
    Promise.id, Promise.promised_on, Promise.was_on, Promise.reason, Promise.at, Promise.by
).where(Promise.build_id == bindparam("build_id"))  # fmt: skip
_OF_BUILD = _VIEW.order_by(Promise.id)
_AFTER = _VIEW.where(Promise.id > bindparam("after")).order_by(Promise.id).limit(bindparam("most"))
_FIRST, _LAST = aliased(Promise), aliased(Promise)
_FIRST_ID = (
    select(func.min(Promise.id))
    .where(Promise.build_id == Build.id, Promise.promised_on.is_not(None))
    .correlate(Build)
    .scalar_subquery()
)
_LAST_ID = select(func.max(Promise.id)).where(Promise.build_id == Build.id).correlate(Build).scalar_subquery()
_LAST_DAY_ID = (
    select(func.max(Promise.id))
    .where(Promise.build_id == Build.id, Promise.promised_on.is_not(None))
    .correlate(Build)
    .scalar_subquery()
)
_CHANGES = (
    select(func.count())
    .where(Promise.build_id == Build.id, Promise.was_on.is_not(None))
    .correlate(Build)
    .scalar_subquery()
)
_MOVED = (
    select(
        Build.number, Build.title, Customer.name, _FIRST.promised_on, Build.promised_on, _CHANGES,
        _LAST.reason, _LAST.at,
    )
    .select_from(Build)
    .join(_FIRST, _FIRST.id == _FIRST_ID)
    .join(_LAST, _LAST.id == _LAST_ID)
    .join(Customer, Customer.id == Build.customer_id)
    .where(
        Build.closed_at.is_(None), ~Build.is_enquiry,
        func.coalesce(Build.promised_on, date(9999, 12, 31)) != _FIRST.promised_on,
    )
    .order_by(func.coalesce(Build.promised_on, date(9999, 12, 31)), Build.number)
)  # fmt: skip
# By the year of the printed number, so that its index keeps this from walking every rod there ever was.
_FINISHED: Select[*tuple[Any, ...]] = (
    select(Build.closed_at, _FIRST.promised_on, _LAST.promised_on)
    .select_from(Build)
    .join(_FIRST, _FIRST.id == _FIRST_ID)
    .join(_LAST, _LAST.id == _LAST_DAY_ID)
    .where(Build.year >= bindparam("since"), Build.closed_at.is_not(None), Build.closed_as == "")
)


def promises_of_build(session: Session, build_id: int) -> list[PromiseView]:
    """Every promise for a build and every change of it, in the order in which they were made."""
    return [PromiseView(*row) for row in session.execute(_OF_BUILD, {"build_id": build_id})]


def promises_after(session: Session, build_id: int, after: int, most: int) -> list[PromiseView]:
    """At most `most` promises of a build whose id is above `after`, by id."""
    rows = session.execute(_AFTER, {"build_id": build_id, "after": after, "most": most})
    return [PromiseView(*row) for row in rows]


def moved_promises(session: Session) -> list[MovedPromise]:
    """The open builds whose promise is another than the first one, the soonest promise first."""
    return [MovedPromise(*row) for row in session.execute(_MOVED)]


def finished_promises(session: Session, since: int, zone: ZoneInfo) -> list[FinishedBuild]:
    """The rods of the years from `since` on that were promised and handed over; days are those of `zone`."""
    rows = session.execute(_FINISHED, {"since": since})
    return [FinishedBuild(closed_at.astimezone(zone).date(), first, last) for closed_at, first, last in rows]
