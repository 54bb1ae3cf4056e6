"""The template environment, and the frame that every page is shown in.

A handler takes `Page` and answers with `page.show(template, …)`. Templates get finished values: no
database rows, no arithmetic, no dates (see `shop.web.wording` for how instants are written).
"""

import hashlib
from functools import lru_cache
from typing import Annotated, Any
from urllib.parse import quote, unquote
from zoneinfo import ZoneInfo

from fastapi import Depends, Request
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.datastructures import Headers
from starlette.responses import HTMLResponse, RedirectResponse, Response

from shop.paths import STATIC, TEMPLATES
from shop.queries.shop import ShopView, read_shop
from shop.rules.people import Actor
from shop.web.deps import Hub, hub_of
from shop.web.doors import person_of

NOTICE_COOKIE = "tackfree-notice"


def make_environment(auto_reload: bool = False) -> Environment:
    """The environment of every template: escaped, and strict about names that nobody gave."""
    return Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        auto_reload=auto_reload,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        cache_size=-1,
    )


ENVIRONMENT = make_environment()


@lru_cache(maxsize=200)
def asset(path: str) -> str:
    """The address of a static file, with a print of its content so that it may be kept for long."""
    print_of = hashlib.sha256((STATIC / path).read_bytes()).hexdigest()[:12]
    return f"/static/{path}?v={print_of}"


# A browser that keeps what it got for one of these must not show it for another (see `wants_fragment`).
VARY = "HX-Request, HX-Boosted, HX-History-Restore-Request"


def wants_fragment(headers: Headers) -> bool:
    """Whether htmx asks for a part of a page; a boosted form or link wants the whole page, and so does
    the way back in the browser's history.
    """
    whole = ("hx-boosted", "hx-history-restore-request")
    return headers.get("hx-request") == "true" and not any(headers.get(name) == "true" for name in whole)


class Frame:
    """What the layout needs, and the ways to answer with a page. One for each request."""

    def __init__(self, request: Request, hub: Hub, person: Actor | None, shop: ShopView) -> None:
        self.hub = hub
        self.person = person
        self.shop = shop
        self.wants_fragment = wants_fragment(request.headers)
        self.base_url = (hub.settings.public_url or str(request.base_url)).rstrip("/")
        self.here = ""
        self.notice: str | None = unquote(request.cookies.get(NOTICE_COOKIE, "")) or None

    asset = staticmethod(asset)

    @property
    def shop_name(self) -> str:
        """The name of the shop, for the head of the page."""
        return self.shop.name

    @property
    def clock_doubt(self) -> str | None:
        """Why the clock is not trusted, if it is not."""
        return self.hub.clock.doubt or self.shop.clock_doubt or None

    @property
    def zone(self) -> ZoneInfo:
        """The shop's time zone."""
        return self.shop.zone

    def show(self, template: str, status: int = 200, here: str = "", **context: Any) -> HTMLResponse:
        """Answer with a rendered page or fragment."""
        self.here = here or self.here
        html = ENVIRONMENT.get_template(template).render(page=self, **context)
        response = HTMLResponse(html, status, headers={"cache-control": "private, no-cache", "vary": VARY})
        if self.notice:
            response.delete_cookie(NOTICE_COOKIE)
        return response

    def go(self, address: str, notice: str = "") -> Response:
        """Answer a post that worked: the browser goes on to this address, which shows the notice once."""
        response = RedirectResponse(address, 303)
        if notice:
            response.set_cookie(NOTICE_COOKIE, quote(notice), max_age=60, httponly=True, samesite="lax")
        return response


async def frame(request: Request) -> Frame:
    """The frame of this request, with the signed-in person if there is one."""
    hub = hub_of(request)
    person = await person_of(request)
    if hub.running.reads_on_loop:
        shop = hub.memory.recall("shop", lambda: _read_shop(hub))
    else:
        shop = await hub.running.read(_read_shop, hub)
    return Frame(request, hub, person, shop)


def _read_shop(hub: Hub) -> ShopView:
    with hub.database.reading() as session:
        return read_shop(session)


Page = Annotated[Frame, Depends(frame)]
