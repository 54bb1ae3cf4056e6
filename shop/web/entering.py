"""Judging a password at the door: counted first, then compared slowly, off the event loop.

Used wherever somebody has to show a password. What becomes of somebody who got in is left to the pages.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from functools import partial
from typing import NamedTuple

from fastapi import Request
from starlette.responses import Response

from shop.queries.users import KnownPassword, password_of
from shop.rules.refusals import BadInput
from shop.services.users import SESSION_LIFE, count_try
from shop.web.deps import Hub, Posted, write
from shop.web.doors import COOKIE


class Judged(NamedTuple):
    """What came of a try: `known` when the password was right, `wait_until` when it was not even judged."""

    known: KnownPassword | None = None
    wait_until: datetime | None = None


async def judge(request: Request, hub: Hub, now: datetime, name: str, password: str) -> Judged:
    """Judge a name and a password. A stranger's name takes as long as a known one's."""
    address = request.client.host if request.client else ""
    # Counted in a write of its own: a form that is then refused must not take the count back.
    wait_until = await write(hub, now, partial(count_try, now=now, name=name, address=address))
    if wait_until is not None:
        return Judged(wait_until=wait_until)
    known = await hub.running.read(_read_password, hub, name)
    kept = None if known is None else known.kept
    right = await hub.running.slowly(hub.passwords.matches, kept, password)
    return Judged(known=known if right else None)


def _read_password(hub: Hub, name: str) -> KnownPassword | None:
    with hub.database.reading() as session:
        return password_of(session, name)


def faults_of_repeat(posted: Posted) -> dict[str, str]:
    """What is wrong when a new password was not typed the same twice, by field."""
    if posted.get("again", "") == posted.get("password", ""):
        return {}
    return {"again": "The two passwords are not the same; please type both again."}


@contextmanager
def typed_twice(posted: Posted) -> Iterator[None]:
    """Add the fault of the repeated password to those that the block raises as `BadInput`."""
    errors = faults_of_repeat(posted)
    try:
        yield
    except BadInput as bad:
        raise BadInput(bad.errors | errors) from bad
    if errors:
        raise BadInput(errors)


def give_cookie(response: Response, hub: Hub, token: str) -> None:
    """Have the browser keep a session's token."""
    response.set_cookie(
        COOKIE,
        token,
        max_age=int(SESSION_LIFE.total_seconds()),
        path="/",
        httponly=True,
        samesite="lax",
        secure=hub.settings.secure_cookies,
    )


def take_cookie(response: Response, hub: Hub) -> None:
    """Have the browser forget the session's token."""
    response.delete_cookie(
        COOKIE, path="/", httponly=True, samesite="lax", secure=hub.settings.secure_cookies
    )
