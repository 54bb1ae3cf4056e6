"""Doubts about the clock on record, and the owner's word that settles them."""

from datetime import datetime

from sqlalchemy.orm import Session

from shop.db.shop import ClockDoubt
from shop.queries.shop import open_doubts


def record_doubt(session: Session, *, now: datetime, reason: str) -> None:
    """Write down that the clock is in doubt, unless the same doubt stands already."""
    if all(doubt.reason != reason for doubt in open_doubts(session)):
        session.add(ClockDoubt(reason=reason, raised_at=now))


def confirm_time(session: Session, *, now: datetime, by: str) -> int:
    """Settle every open doubt; gives how many there were."""
    doubts = open_doubts(session)
    for doubt in doubts:
        doubt.confirmed_at = now
        doubt.confirmed_by = by
    return len(doubts)
