"""Calendar addresses: giving a person a private one, showing it again, ending it.

As with status links, a token is computed from a random nonce and the shop's secret, so that a copy of the
database alone opens nothing.
"""

from datetime import datetime

from sqlalchemy.orm import Session

from shop.db.calendar_feeds import CalendarFeed
from shop.queries.calendar_feeds import live_feeds, live_nonce, person_record
from shop.services.tokens import new_link, token_from


def give_feed(session: Session, secret: bytes, user_id: int, *, now: datetime) -> str:
    """Give a person a new address, which ends the one before; gives its token. Raises `NotOnFile`."""
    # Two taps at once must not leave two live addresses: the account stays locked until the commit.
    person_record(session, user_id)
    end_feed(session, user_id, now=now)
    link = new_link(secret)
    session.add(CalendarFeed(user_id=user_id, nonce=link.nonce, token_hash=link.token_hash, created_at=now))
    session.flush()
    return link.token


def end_feed(session: Session, user_id: int, *, now: datetime) -> bool:
    """End a person's live address; says whether there was one."""
    feeds = live_feeds(session, user_id)
    for feed in feeds:
        feed.ended_at = now
    session.flush()
    return bool(feeds)


def live_token(session: Session, secret: bytes, user_id: int) -> str | None:
    """The token of a person's live address, to be shown again to them alone, or none."""
    nonce = live_nonce(session, user_id)
    return None if nonce is None else token_from(secret, nonce)
