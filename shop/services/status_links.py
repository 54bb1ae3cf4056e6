"""Status links: giving a customer a private address, showing it again, ending it.

A token is computed from a random nonce and the shop's secret; the database keeps the nonce and the
token's hash, so a copy of the database alone opens nothing.
"""

from datetime import datetime

from sqlalchemy.orm import Session

from shop.db.status_links import StatusLink
from shop.queries.builds import build_by_id
from shop.queries.status_links import live_links, live_nonce
from shop.services.tokens import new_link, token_from


def give_link(session: Session, secret: bytes, build_id: int, *, now: datetime) -> str:
    """Give a build a new link, which ends the one before; gives its token. Raises `NotOnFile`."""
    # Two people at once must not leave two live links: the build stays locked until the commit.
    build_by_id(session, build_id)
    end_link(session, build_id, now=now)
    link = new_link(secret)
    session.add(StatusLink(build_id=build_id, nonce=link.nonce, token_hash=link.token_hash, created_at=now))
    session.flush()
    return link.token


def end_link(session: Session, build_id: int, *, now: datetime) -> bool:
    """End a build's live link; says whether there was one."""
    links = live_links(session, build_id)
    for link in links:
        link.ended_at = now
    session.flush()
    return bool(links)


def live_token(session: Session, secret: bytes, build_id: int) -> str | None:
    """The token of a build's live link, to be shown again to signed-in people, or none."""
    nonce = live_nonce(session, build_id)
    return None if nonce is None else token_from(secret, nonce)
