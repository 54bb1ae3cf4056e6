"""People of the shop, and who a session's token belongs to."""

from datetime import datetime
from typing import NamedTuple

from sqlalchemy import bindparam, func, select
from sqlalchemy.orm import Session

from shop.db.types import UtcDateTime
from shop.db.users import SignInAttempt, SignInSession, User
from shop.rules.people import ROLE_RIGHTS, Actor, Role
from shop.rules.refusals import NotOnFile


class UserView(NamedTuple):
    """A person as the pages list them."""

    id: int
    name: str
    role: str
    created_at: datetime
    ended_at: datetime | None
    version: int


class KnownPassword(NamedTuple):
    """Somebody who may sign in, and what their password is kept as."""

    user_id: int
    kept: str


_VIEW = select(User.id, User.name, User.role, User.created_at, User.ended_at, User.version)
_PASSWORD = select(User.id, User.password_hash).where(
    User.name_key == bindparam("name_key"), User.ended_at.is_(None)
)
_ANY_OWNER = select(User.id).where(User.role == Role.OWNER, User.ended_at.is_(None)).limit(1)
_LIVE_SESSIONS = select(func.count()).where(
    SignInSession.user_id == bindparam("user_id"),
    SignInSession.ended_at.is_(None),
    SignInSession.expires_at > bindparam("now", type_=UtcDateTime),
)
_FAILURES = (
    select(SignInAttempt.at)
    .where(SignInAttempt.at > bindparam("since", type_=UtcDateTime))
    .order_by(SignInAttempt.at)
)
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


def _actor(user_id: int, name: str, role: str) -> Actor:
    return Actor(name, ROLE_RIGHTS[Role(role)], user_id=user_id, role=Role(role))


def list_users(session: Session) -> list[UserView]:
    """Everybody, the present people first, by name."""
    rows = session.execute(_VIEW.order_by(User.ended_at.is_not(None), User.name_key))
    return [UserView(*row) for row in rows]


def user_view(session: Session, user_id: int) -> UserView:
    """One person. Raises `NotOnFile`."""
    row = session.execute(_VIEW.where(User.id == user_id)).first()
    if row is None:
        raise NotOnFile(f"There is nobody with the number {user_id} on file.")
    return UserView(*row)


def user_record(session: Session, user_id: int) -> User:
    """The record of one person, for a verb to change. Raises `NotOnFile`."""
    record = session.get(User, user_id)
    if record is None:
        raise NotOnFile(f"There is nobody with the number {user_id} on file.")
    return record


def user_by_name(session: Session, name: str) -> User | None:
    """The record of the person of that name, whatever its case."""
    return session.scalars(select(User).where(User.name_key == name.strip().casefold())).first()


def password_of(session: Session, name: str) -> KnownPassword | None:
    """Whose password opens the door under this name; none for a stranger or an account that has ended."""
    row = session.execute(_PASSWORD, {"name_key": name.strip().casefold()}).first()
    return None if row is None else KnownPassword(*row)


def live_owners(session: Session) -> int:
    """How many owners have an account that has not ended.

    Their rows stay locked until the transaction ends, so that two owners cannot end each other at once.
    """
    wanted = select(User.id).where(User.role == Role.OWNER, User.ended_at.is_(None)).order_by(User.id)
    return len(session.scalars(wanted.with_for_update()).all())


def has_owner(session: Session) -> bool:
    """Whether the shop has an owner yet."""
    return session.execute(_ANY_OWNER).first() is not None


def live_sessions_of(session: Session, user_id: int, now: datetime) -> int:
    """In how many browsers a person is signed in."""
    return session.execute(_LIVE_SESSIONS, {"user_id": user_id, "now": now}).scalar_one()


def failures_for_name(session: Session, name_key: str, since: datetime) -> list[datetime]:
    """When signing in under this name failed lately, oldest first."""
    return list(session.scalars(_FAILURES.where(SignInAttempt.name_key == name_key), {"since": since}))


def failures_from_address(session: Session, address: str, since: datetime) -> list[datetime]:
    """When signing in from this address failed lately, oldest first."""
    return list(session.scalars(_FAILURES.where(SignInAttempt.address == address), {"since": since}))
