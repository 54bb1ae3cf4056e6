"""Calendar feeds: whose address a token is, and what a person's live address is made from."""

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from shop.db.calendar_feeds import CalendarFeed
from shop.db.users import User
from shop.rules.refusals import NotOnFile

# An account that has ended takes its address with it.
_LIVE = (
    select(CalendarFeed.id)
    .join(User, User.id == CalendarFeed.user_id)
    .where(
        CalendarFeed.token_hash == bindparam("token_hash"),
        CalendarFeed.ended_at.is_(None),
        User.ended_at.is_(None),
    )
)
_NONCE = select(CalendarFeed.nonce).where(
    CalendarFeed.user_id == bindparam("user_id"), CalendarFeed.ended_at.is_(None)
)


def opens_a_calendar(session: Session, token_hash: str) -> bool:
    """Whether a token is that of a live address."""
    return session.scalar(_LIVE, {"token_hash": token_hash}) is not None


def live_nonce(session: Session, user_id: int) -> str | None:
    """What the token of a person's live address is made from, or none."""
    return session.scalar(_NONCE, {"user_id": user_id})


def live_feeds(session: Session, user_id: int) -> list[CalendarFeed]:
    """The records of a person's live addresses, for a verb to end; there is one at most."""
    wanted = select(CalendarFeed).where(CalendarFeed.user_id == user_id, CalendarFeed.ended_at.is_(None))
    return list(session.scalars(wanted))


def person_record(session: Session, user_id: int) -> User:
    """The record of whom an address is for; locked until the transaction ends. Raises `NotOnFile`."""
    record = session.get(User, user_id, with_for_update=True)
    if record is None:
        raise NotOnFile(f"There is nobody with the number {user_id} on file.")
    return record
