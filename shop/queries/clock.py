"""Doubts about the clock, as its page lists them."""

from datetime import datetime
from typing import NamedTuple

from sqlalchemy import select
from sqlalchemy.orm import Session

from shop.db.shop import ClockDoubt

MOST_DOUBTS = 20


class DoubtView(NamedTuple):
    """A doubt about the clock; `confirmed_at` is none while it is open."""

    id: int
    reason: str
    raised_at: datetime
    confirmed_at: datetime | None
    confirmed_by: str


_LATEST = (
    select(
        ClockDoubt.id, ClockDoubt.reason, ClockDoubt.raised_at, ClockDoubt.confirmed_at,
        ClockDoubt.confirmed_by,
    )
    .order_by(ClockDoubt.id.desc())
    .limit(MOST_DOUBTS)
)  # fmt: skip


def latest_doubts(session: Session) -> list[DoubtView]:
    """The doubts that were raised last, the newest first."""
    return [DoubtView(*row) for row in session.execute(_LATEST)]
