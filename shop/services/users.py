"""People of the shop: their accounts, their passwords and the sessions they are signed in with.

How passwords are hashed and tokens made is `shop.outside`'s; hasher and hashes are handed in. Who may do
these things is asked at the doors.
"""

from datetime import datetime, timedelta
from typing import Protocol

from sqlalchemy import ColumnElement, delete, update
from sqlalchemy.orm import Session

from shop.db.users import SignInAttempt, SignInSession, User
from shop.queries.users import (
    KnownPassword,
    failures_for_name,
    failures_from_address,
    live_owners,
    password_of,
    user_by_name,
    user_record,
)
from shop.rules.people import Role
from shop.rules.refusals import BadInput, Overtaken

SESSION_LIFE = timedelta(days=30)
LEAST_PASSWORD = 10
MOST_PASSWORD = 200
MOST_NAME = 80
TRY_SPAN = timedelta(minutes=15)
MOST_FAILURES_FOR_NAME = 5
MOST_FAILURES_FROM_ADDRESS = 20
LAST_OWNER = "{} is the only owner; make somebody else an owner first."
CHANGED = "Somebody else changed {} meanwhile; look at the account again and repeat what is still wanted."


class Hasher(Protocol):
    """What makes the text to keep of a password."""

    def hash(self, password: str) -> str:
        """The text to keep."""


def add_user(
    session: Session, passwords: Hasher, *, now: datetime, name: str, role: Role, password: str
) -> User:
    """Open an account. Raises `BadInput`."""
    errors = faults_of_name(session, name) | faults_of_password(password)
    if errors:
        raise BadInput(errors)
    user = User(
        name=name.strip(), name_key=name.strip().casefold(), role=role,
        password_hash=passwords.hash(password), created_at=now,
    )  # fmt: skip
    session.add(user)
    session.flush()
    return user


def change_role(session: Session, user_id: int, *, role: Role, version: int) -> User:
    """Give a person another role. Raises `NotOnFile`, `Overtaken`, or `BadInput` for the last owner."""
    user = _live(session, user_id, version)
    if user.role == Role.OWNER and role != Role.OWNER:
        _keep_an_owner(session, user, "role")
    user.role = role
    session.flush()
    return user


def change_password(
    session: Session, passwords: Hasher, user_id: int, *, now: datetime, password: str
) -> User:
    """Give a person a new password and end every session of theirs. Raises `NotOnFile`, `BadInput`."""
    user = _live(session, user_id)
    errors = faults_of_password(password)
    if errors:
        raise BadInput(errors)
    user.password_hash = passwords.hash(password)
    end_sessions(session, user_id, now=now)
    session.flush()
    return user


def change_own_password(
    session: Session, passwords: Hasher, user_id: int, *, now: datetime, password: str, token_hash: str
) -> None:
    """As `change_password`, and sign in anew the browser that it is done with."""
    user = change_password(session, passwords, user_id, now=now, password=password)
    forget_tries(session, user.name)
    start_session(session, now=now, user_id=user_id, token_hash=token_hash)


def end_account(session: Session, user_id: int, *, now: datetime, version: int) -> User:
    """Close an account and its sessions for good. Raises as `change_role` does."""
    user = _live(session, user_id, version)
    if user.role == Role.OWNER:
        _keep_an_owner(session, user, "")
    user.ended_at = now
    end_sessions(session, user_id, now=now)
    session.flush()
    return user


def count_try(session: Session, *, now: datetime, name: str, address: str) -> datetime | None:
    """Take down a try to sign in before it is judged; gives when to come back if there were too many.

    Counting first means that a hundred tries at once are a hundred tries. `start_session` forgets the
    tries of somebody who got in.
    """
    key, since = _attempt_key(name), now - TRY_SPAN
    waits = [
        failures[-most] + TRY_SPAN
        for failures, most in (
            (failures_for_name(session, key, since), MOST_FAILURES_FOR_NAME),
            (failures_from_address(session, address[:60], since), MOST_FAILURES_FROM_ADDRESS),
        )
        if len(failures) >= most
    ]
    if waits:
        return max(waits)
    session.execute(delete(SignInAttempt).where(SignInAttempt.at <= since))
    session.add(SignInAttempt(name_key=key, address=address[:60], at=now))
    session.flush()
    return None


def let_in(
    session: Session, *, now: datetime, name: str, known: KnownPassword, token_hash: str, instead_of: str
) -> bool:
    """Sign in somebody whose password was right; false if it was changed or the account ended meanwhile.

    `instead_of` is the hash of the token that the browser came with, whose session ends.
    """
    if password_of(session, name) != known:
        return False
    forget_tries(session, name)
    end_session(session, instead_of, now=now)
    start_session(session, now=now, user_id=known.user_id, token_hash=token_hash)
    return True


def forget_tries(session: Session, name: str) -> None:
    """Forget the failed tries under a name, now that its owner has shown the right password."""
    session.execute(delete(SignInAttempt).where(SignInAttempt.name_key == _attempt_key(name)))


def start_session(session: Session, *, now: datetime, user_id: int, token_hash: str) -> None:
    """Sign a browser in; its cookie has the token, of which only the hash is kept."""
    session.execute(
        delete(SignInSession).where(SignInSession.user_id == user_id, SignInSession.expires_at <= now)
    )
    session.add(
        SignInSession(token_hash=token_hash, user_id=user_id, created_at=now, expires_at=now + SESSION_LIFE)
    )
    session.flush()


def end_session(session: Session, token_hash: str, *, now: datetime) -> None:
    """Sign one browser out; an unknown or ended session is as good as signed out."""
    _end_sessions_where(session, SignInSession.token_hash == token_hash, now)


def end_sessions(session: Session, user_id: int, *, now: datetime) -> None:
    """Sign a person out of every browser."""
    _end_sessions_where(session, SignInSession.user_id == user_id, now)


def faults_of_password(password: str) -> dict[str, str]:
    """What is wrong with a new password, by field."""
    if LEAST_PASSWORD <= len(password) <= MOST_PASSWORD:
        return {}
    return {"password": f"The password must have {LEAST_PASSWORD} to {MOST_PASSWORD} characters."}


def faults_of_name(session: Session, name: str) -> dict[str, str]:
    """What is wrong with the name of a new account, by field."""
    wanted = name.strip()
    if not 1 <= len(wanted) <= MOST_NAME or len(wanted.casefold()) > MOST_NAME:
        return {"name": f"The name must have 1 to {MOST_NAME} characters."}
    if not wanted.isprintable():
        return {"name": "The name has a character in it that cannot be seen; please type it again."}
    known = user_by_name(session, wanted)
    if known is None:
        return {}
    if known.ended_at is not None:
        return {"name": f"{known.name} had an account that has ended; take another form of the name."}
    return {"name": f"There is somebody called {known.name} already; people need names of their own."}


def _live(session: Session, user_id: int, version: int | None = None) -> User:
    user = user_record(session, user_id)
    if user.ended_at is not None:
        raise Overtaken(f"The account of {user.name} has ended; nothing can be changed in it.")
    if version is not None and user.version != version:
        raise Overtaken(CHANGED.format(user.name))
    return user


def _keep_an_owner(session: Session, user: User, field: str) -> None:
    if live_owners(session) <= 1:
        raise BadInput({field: LAST_OWNER.format(user.name)})


def _attempt_key(name: str) -> str:
    return name.strip().casefold()[:MOST_NAME]


def _end_sessions_where(session: Session, which: ColumnElement[bool], now: datetime) -> None:
    session.execute(update(SignInSession).where(which, SignInSession.ended_at.is_(None)).values(ended_at=now))
