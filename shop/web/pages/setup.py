"""The first run: the page, open once, where the shop gets its name and its first owner."""

import hmac
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.users import has_owner
from shop.rules.refusals import NotOnFile
from shop.services.setup import open_shop
from shop.services.shop import ShopFacts, time_zones
from shop.services.tokens import hash_of, new_token
from shop.services.users import start_session
from shop.web.deps import Form, Hub, Now, Posted, Reading, TheHub, Writing
from shop.web.entering import give_cookie, typed_twice
from shop.web.forms import FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/first_run.html"


@router.get("/first-run/{token}")
def show_first_run(page: Page, session: Reading, hub: TheHub, token: str) -> Response:
    """The form of the first run."""
    _check_token(session, hub, token)
    form = FormView({"time_zone": page.shop.time_zone, "currency": page.shop.currency})
    return page.show(TEMPLATE, form=form, **_context(token))


@router.post("/first-run/{token}")
def take_first_run(page: Page, session: Writing, hub: TheHub, now: Now, posted: Form, token: str) -> Response:
    """Name the shop, open the first owner's account and sign them in."""
    _check_token(session, hub, token)
    name, password, cookie = posted.get("name", ""), posted.get("password", ""), new_token()
    with showing_again(page, TEMPLATE, posted, lambda: _context(token)), typed_twice(posted):
        owner = open_shop(session, hub.passwords, shop_facts(posted), now=now, name=name, password=password)
    start_session(session, now=now, user_id=owner.id, token_hash=hash_of(cookie))
    response = page.go("/", f"Welcome, {owner.name}. The shop is open.")
    give_cookie(response, hub, cookie)
    return response


def shop_facts(posted: Posted) -> ShopFacts:
    """The name, place and currency of the shop as typed."""
    return ShopFacts(
        posted.get("shop_name", ""), posted.get("time_zone", ""), posted.get("currency", "").upper()
    )


def zone_options() -> list[tuple[str, str]]:
    """Every time zone, as a choice."""
    return [(zone, zone.replace("_", " ")) for zone in time_zones()]


def _context(token: str) -> dict[str, Any]:
    return {"token": token, "zones": zone_options()}


def _check_token(session: Session, hub: Hub, token: str) -> None:
    if has_owner(session) or not hmac.compare_digest(token.encode(), hub.first_run.encode()):
        raise NotOnFile("There is no such page; the address of the first run works until there is an owner.")
