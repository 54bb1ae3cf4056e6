"""Keys of other programs, for an owner: giving them out and ending them."""

from datetime import datetime
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.keys import KeyView, list_keys
from shop.rules.people import Scope
from shop.services.keys import add_key, end_key
from shop.services.tokens import hash_of, new_token
from shop.web.deps import Form, Now, Posted, Reading, Writing
from shop.web.doors import AtWays
from shop.web.forms import Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page
from shop.web.wording import day

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
LIST = "pages/keys.html"
SHOWN_ONCE = "pages/key.html"
SCOPES = [
    (Scope.SENSOR.value, "sensor: posts temperatures and nothing else"),
    (Scope.READ.value, "read: sees everything, changes nothing"),
    (Scope.BENCH.value, "bench: logs stages, mixes, measures and corrects"),
    (Scope.DESK.value, "desk: everything an owner may do through the API"),
]


@router.get("/ways/keys")
def show_keys(actor: AtWays, page: Page, session: Reading, now: Now) -> Response:
    """Every key, and a form for a new one."""
    form = FormView({"scope": Scope.SENSOR.value})
    return page.show(LIST, here="ways", form=form, **_keys(page, session, now))


@router.post("/ways/keys")
def give_key(actor: AtWays, page: Page, session: Writing, now: Now, posted: Form) -> Response:
    """Give out a new key; this answer is the only place where it can be read."""
    page.here, key = "ways", new_token()
    with showing_again(page, LIST, posted, lambda: _keys(page, session, now)):
        name, scope = posted.get("name", ""), _scope(posted)
        record = add_key(session, now=now, name=name, scope=scope, key_hash=hash_of(key))
    response = page.show(SHOWN_ONCE, key=key, name=record.name, scope=record.scope)
    response.headers["cache-control"] = "no-store"
    return response


@router.post("/ways/keys/{key_id}/end")
def take_key_back(actor: AtWays, page: Page, session: Writing, now: Now, key_id: int) -> Response:
    """End a key for good."""
    key = end_key(session, key_id, now=now)
    return page.go("/ways/keys", f"The key {key.name} has ended; whatever uses it is refused from now on.")


def _scope(posted: Posted) -> Scope:
    fields = Fields(posted)
    scope = fields.choice("scope", "The scope", tuple(scope.value for scope in Scope))
    fields.done()
    return Scope(scope)


def _keys(page: Frame, session: Session, now: datetime) -> dict[str, Any]:
    keys = [
        {
            "name": key.name,
            "scope": key.scope,
            "since": _since(page, key, now),
            "end": "" if key.ended_at else f"/ways/keys/{key.id}/end",
        }
        for key in list_keys(session)
    ]
    return {"keys": keys, "scopes": SCOPES}


def _since(page: Frame, key: KeyView, now: datetime) -> str:
    today = now.astimezone(page.zone).date()
    if key.ended_at is not None:
        return f"ended {day(key.ended_at.astimezone(page.zone).date(), today)}"
    return f"since {day(key.created_at.astimezone(page.zone).date(), today)}"
