"""People of the shop: their accounts, their passwords and the sessions they are signed in with."""

from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from shop.db.users import SignInSession, User
from shop.outside.passwords import Passwords
from shop.outside.tokens import hash_of, new_token
from shop.queries.users import user_by_name
from shop.rules.people import Role
from shop.rules.refusals import BadInput

SESSION_LIFE = timedelta(days=30)
LEAST_PASSWORD = 10
MOST_PASSWORD = 200


def add_user(
    session: Session, passwords: Passwords, *, now: datetime, name: str, role: Role, password: str
) -> User:
    """Open an account. Raises `BadInput`."""
    errors = {}
    if not 1 <= len(name.strip()) <= 80:
        errors["name"] = "The name must have 1 to 80 characters."
    elif user_by_name(session, name) is not None:
        errors["name"] = f"There is somebody called {name.strip()} already; people need names of their own."
    if not LEAST_PASSWORD <= len(password) <= MOST_PASSWORD:
        errors["password"] = f"The password must have {LEAST_PASSWORD} to {MOST_PASSWORD} characters."
    if errors:
        raise BadInput(errors)
    user = User(
        name=name.strip(), name_key=name.strip().casefold(), role=role,
        password_hash=passwords.hash(password), created_at=now,
    )  # fmt: skip
    session.add(user)
    session.flush()
    return user


def start_session(session: Session, *, now: datetime, user_id: int) -> str:
    """Sign a browser in; gives the token for its cookie, which is kept only as a hash."""
    token = new_token()
    session.add(
        SignInSession(
            token_hash=hash_of(token), user_id=user_id, created_at=now, expires_at=now + SESSION_LIFE
        )
    )
    session.flush()
    return token
