"""People and their accounts, for an owner."""

from datetime import datetime
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.users import UserView, list_users, live_sessions_of, user_view
from shop.rules.people import Role
from shop.services.users import add_user, change_password, change_role, end_account, end_sessions
from shop.web.deps import Form, Now, Posted, Reading, TheHub, Writing
from shop.web.doors import AtWays
from shop.web.entering import typed_twice
from shop.web.forms import Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page
from shop.web.wording import day

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
LIST = "pages/people.html"
ONE = "pages/person.html"
ROLES = [
    (Role.HELPER.value, "helper: sees everything, logs stages, mixes and measures"),
    (Role.BUILDER.value, "builder: also corrects the record and works at the desk and the shelf"),
    (Role.OWNER.value, "owner: also releases house rules and keeps the ways of the shop"),
]


@router.get("/ways/people")
def show_people(actor: AtWays, page: Page, session: Reading, now: Now) -> Response:
    """Everybody, and a form for somebody new."""
    form = FormView({"role": Role.HELPER.value})
    return page.show(LIST, here="ways", form=form, **_people(page, session, now))


@router.post("/ways/people")
def add_person(actor: AtWays, page: Page, session: Writing, now: Now, hub: TheHub, posted: Form) -> Response:
    """Open an account for somebody new."""
    page.here = "ways"
    name, password = posted.get("name", ""), posted.get("password", "")
    before = _people(page, session, now)
    with showing_again(page, LIST, posted, lambda: before), typed_twice(posted):
        user = add_user(session, hub.passwords, now=now, name=name, role=_role(posted), password=password)
    return page.go("/ways/people", f"{user.name} can sign in now, as {user.role}.")


@router.get("/ways/people/{user_id}")
def show_person(actor: AtWays, page: Page, session: Reading, now: Now, user_id: int) -> Response:
    """One person's account."""
    return page.show(ONE, here="ways", form=FormView(), **_person(page, session, now, user_id))


@router.post("/ways/people/{user_id}/role")
def save_role(actor: AtWays, page: Page, session: Writing, now: Now, user_id: int, posted: Form) -> Response:
    """Give a person another role."""
    page.here = "ways"
    before = _person(page, session, now, user_id)
    with showing_again(page, ONE, posted, lambda: before):
        user = change_role(session, user_id, role=_role(posted), version=_version(posted))
    return page.go(f"/ways/people/{user_id}", f"{user.name} is {user.role} now.")


@router.post("/ways/people/{user_id}/password")
def save_password(
    actor: AtWays, page: Page, session: Writing, now: Now, hub: TheHub, user_id: int, posted: Form
) -> Response:
    """Give a person a new password; they must sign in anew everywhere."""
    page.here = "ways"
    before, password = _person(page, session, now, user_id), posted.get("password", "")
    with showing_again(page, ONE, posted, lambda: before), typed_twice(posted):
        user = change_password(session, hub.passwords, user_id, now=now, password=password)
    return page.go(f"/ways/people/{user_id}", f"{user.name} has a new password and must sign in with it.")


@router.post("/ways/people/{user_id}/sign-out")
def sign_person_out(actor: AtWays, page: Page, session: Writing, now: Now, user_id: int) -> Response:
    """End every session of a person."""
    user = user_view(session, user_id)
    end_sessions(session, user_id, now=now)
    return page.go(f"/ways/people/{user_id}", f"{user.name} is signed out everywhere.")


@router.post("/ways/people/{user_id}/end")
def end_person(actor: AtWays, page: Page, session: Writing, now: Now, user_id: int, posted: Form) -> Response:
    """End a person's account for good; what they did stays on the record."""
    page.here = "ways"
    before = _person(page, session, now, user_id)
    with showing_again(page, ONE, posted, lambda: before):
        user = end_account(session, user_id, now=now, version=_version(posted))
    return page.go("/ways/people", f"The account of {user.name} has ended.")


def _role(posted: Posted) -> Role:
    fields = Fields(posted)
    role = fields.choice("role", "The role", tuple(role.value for role in Role))
    fields.done()
    return Role(role)


def _version(posted: Posted) -> int:
    fields = Fields(posted)
    version = fields.required("version", "The version", fields.whole("version", "The version", 1, 10**9))
    fields.done()
    return version or 0


def _people(page: Frame, session: Session, now: datetime) -> dict[str, Any]:
    rows = [
        ({"text": user.name, "href": f"/ways/people/{user.id}"}, user.role, _since(page, user, now))
        for user in list_users(session)
    ]
    return {"people": rows, "roles": ROLES}


def _person(page: Frame, session: Session, now: datetime, user_id: int) -> dict[str, Any]:
    user = user_view(session, user_id)
    browsers = live_sessions_of(session, user.id, now)
    where = "in 1 browser" if browsers == 1 else f"in {browsers} browsers"
    facts = [
        ("Role", user.role),
        ("Account", _since(page, user, now)),
        ("Signed in", where if browsers else "nowhere"),
    ]
    return {"user": user, "facts_of_user": facts, "roles": ROLES}


def _since(page: Frame, user: UserView, now: datetime) -> str:
    today = now.astimezone(page.zone).date()
    if user.ended_at is not None:
        return f"ended {day(user.ended_at.astimezone(page.zone).date(), today)}"
    return f"since {day(user.created_at.astimezone(page.zone).date(), today)}"
