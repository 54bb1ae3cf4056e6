"""People of the shop, and who a session's token belongs to."""

from datetime import datetime
from typing import NamedTuple

from sqlalchemy import bindparam, func, select
from sqlalchemy.orm import Session

from shop.db.types import UtcDateTime
from shop.db.users import SignInAttempt, SignInSession, User
from shop.rules.people import ROLE_RIGHTS, Actor, Role


class UserView(NamedTuple):
    """A person as the pages list them."""

    id: int
    name: str
    role: str
    created_at: datetime
    ended_at: datetime | None


_VIEW = select(User.id, User.name, User.role, User.created_at, User.ended_at)
_ACTOR = (
    select(User.id, User.name, User.role)
    .join(SignInSession, SignInSession.user_id == User.id)
    .where(
        SignInSession.token_hash == bindparam("token_hash"),
        SignInSession.ended_at.is_(None),
        SignInSession.expires_at > bindparam("now", type_=UtcDateTime),
        User.ended_at.is_(None),
    )
)


def actor_of_session(session: Session, token_hash: str, now: datetime) -> Actor | None:
    """The person a live session belongs to, or none."""
    row = session.execute(_ACTOR, {"token_hash": token_hash, "now": now}).first()
    return None if row is None else _actor(*row)


def actor_named(session: Session, name: str) -> Actor | None:
    """The person of that name, whatever its case, unless their account has ended."""
    found = session.execute(
        select(User.id, User.name, User.role).where(
            User.name_key == name.strip().casefold(), User.ended_at.is_(None)
        )
    ).first()
    return None if found is None else _actor(*found)


def _actor(user_id: int, name: str, role: str) -> Actor:
    return Actor(name, ROLE_RIGHTS[Role(role)], user_id=user_id, role=Role(role))


def list_users(session: Session) -> list[UserView]:
    """Everybody, the present people first, by name."""
    rows = session.execute(_VIEW.order_by(User.ended_at.is_not(None), User.name_key))
    return [UserView(*row) for row in rows]


def user_record(session: Session, user_id: int) -> User | None:
    """The record of one person, for a verb to change."""
    return session.get(User, user_id)


def user_by_name(session: Session, name: str) -> User | None:
    """The record of the person of that name, whatever its case."""
    return session.scalars(select(User).where(User.name_key == name.strip().casefold())).first()


def live_owners(session: Session) -> int:
    """How many owners have an account that has not ended."""
    counted = select(func.count()).where(User.role == Role.OWNER, User.ended_at.is_(None))
    return session.scalar(counted) or 0


def session_record(session: Session, token_hash: str) -> SignInSession | None:
    """The record of one signed-in browser."""
    return session.scalars(select(SignInSession).where(SignInSession.token_hash == token_hash)).first()


def live_sessions_of(session: Session, user_id: int) -> list[SignInSession]:
    """The records of a person's sessions that have not been ended."""
    wanted = select(SignInSession).where(SignInSession.user_id == user_id, SignInSession.ended_at.is_(None))
    return list(session.scalars(wanted))


def failed_attempts(session: Session, name_key: str, address: str, since: datetime) -> list[datetime]:
    """When signing in failed lately for this name or from this address, oldest first."""
    wanted = (
        select(SignInAttempt.at)
        .where(
            (SignInAttempt.name_key == name_key) | (SignInAttempt.address == address),
            SignInAttempt.at > since,
        )
        .order_by(SignInAttempt.at)
    )
    return list(session.scalars(wanted))
