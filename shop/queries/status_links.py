"""Status links: which build a token opens, and the token of a build's live link."""

from typing import NamedTuple

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from shop.db.status_links import StatusLink

_BUILD = select(StatusLink.build_id).where(
    StatusLink.token_hash == bindparam("token_hash"), StatusLink.ended_at.is_(None)
)
_LIVE = (
    select(StatusLink.build_id, StatusLink.nonce).where(StatusLink.ended_at.is_(None)).order_by(StatusLink.id)
)
_NONCE = select(StatusLink.nonce).where(
    StatusLink.build_id == bindparam("build_id"), StatusLink.ended_at.is_(None)
)


class LiveLink(NamedTuple):
    """A live link: its build, and what its token is made from."""

    build_id: int
    nonce: str


def live_nonces(session: Session) -> list[LiveLink]:
    """Every live link, in the order in which they were given."""
    return [LiveLink(*row) for row in session.execute(_LIVE)]


def build_of_token(session: Session, token_hash: str) -> int | None:
    """The id of the build that a live token opens, or none."""
    return session.scalar(_BUILD, {"token_hash": token_hash})


def live_nonce(session: Session, build_id: int) -> str | None:
    """What the token of a build's live link is made from, or none."""
    return session.scalar(_NONCE, {"build_id": build_id})


def live_links(session: Session, build_id: int) -> list[StatusLink]:
    """The records of a build's live links, for a verb to end; there is one at most."""
    wanted = select(StatusLink).where(StatusLink.build_id == build_id, StatusLink.ended_at.is_(None))
    return list(session.scalars(wanted))
