"""The shop's settings, the instant of the last write, and doubts about the clock."""

from collections.abc import Mapping
from datetime import date, datetime
from functools import lru_cache
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from shop.db.messages import Message
from shop.db.shop import Change, ClockDoubt, Shop
from shop.rules.hours import Hours, hours_from


class ShopView(NamedTuple):
    """The shop's own figures. `clock_doubt` is the oldest doubt that nobody has settled, or empty.

    `quote_terms` has what quotes are worked out with, `terms` and `care_sheet` what customers are told.
    `spine_rules` maps the kinds of rod for which the shop goes its own way to the rule it goes by.
    `unread_count` is how many messages of customers nobody in the shop has read.
    """

    name: str
    time_zone: str
    currency: str
    credit_cap: float
    reading_gap_minutes: float
    spine_rules: Mapping[str, str]
    hours: Hours
    quote_terms: Mapping[str, Any]
    terms: str
    care_sheet: str
    warranty_months: int
    unclaimed_days: int
    clock_doubt: str
    unread_count: int

    @property
    def zone(self) -> ZoneInfo:
        """The shop's time zone."""
        return _zone(self.time_zone)


@lru_cache(maxsize=8)
def _zone(name: str) -> ZoneInfo:
    return ZoneInfo(name)


OPEN_DOUBT = (
    select(ClockDoubt.reason).where(ClockDoubt.confirmed_at.is_(None)).order_by(ClockDoubt.id).limit(1)
)
_UNREAD_COUNT = select(func.count()).where(Message.read_at.is_(None), Message.from_customer)
_SHOP = select(
    Shop.name, Shop.time_zone, Shop.currency, Shop.credit_cap, Shop.reading_gap_minutes,
    Shop.spine_rules, Shop.hours, Shop.closed_on, Shop.quote_terms, Shop.terms, Shop.care_sheet,
    Shop.warranty_months, Shop.unclaimed_days, OPEN_DOUBT.scalar_subquery(),
    _UNREAD_COUNT.scalar_subquery(),
)  # fmt: skip
_VERSION = select(Shop.version)
_LAST_INSTANT = select(Change.last_at)


def read_shop(session: Session) -> ShopView:
    """The shop's figures as they stand."""
    *figures, week, closed_on, terms, words, care, months, days, doubt, unread = session.execute(_SHOP).one()
    hours = hours_from(week, closed_on)
    return ShopView._make((*figures, hours, terms, words, care, months, days, doubt or "", unread))


def shop_day(session: Session, instant: datetime) -> date:
    """The shop's own calendar day at an instant."""
    return instant.astimezone(read_shop(session).zone).date()


def shop_record(session: Session) -> Shop:
    """The shop's record, for a verb to change; locked until the transaction ends."""
    return session.get_one(Shop, 1, with_for_update=True)


def shop_version(session: Session) -> int:
    """How often the shop's figures were changed: a form goes back with the number it was shown with."""
    return session.execute(_VERSION).scalar_one()


def last_instant(session: Session) -> datetime:
    """The instant of the last write on record."""
    return session.execute(_LAST_INSTANT).scalar_one()


def open_doubts(session: Session) -> list[ClockDoubt]:
    """The records of doubts about the clock that nobody has settled."""
    return list(session.scalars(select(ClockDoubt).where(ClockDoubt.confirmed_at.is_(None))))
