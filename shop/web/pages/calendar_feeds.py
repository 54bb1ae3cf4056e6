"""The calendar feed: ready times and recoat windows, for whoever has its private address.

The address is made, replaced and ended by each person on their own page, You.
"""

import hashlib
from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import PlainTextResponse, Response

from shop.db.sessions import Session
from shop.outside.calendars import CalendarEvent, calendar_text
from shop.queries.calendar_feeds import opens_a_calendar
from shop.queries.shop import last_instant
from shop.queries.soft import soft_cures_of
from shop.rules.calendar_feeds import KEPT_FOR, entries_of
from shop.rules.people import Actor
from shop.services.calendar_feeds import end_feed, give_feed, live_token
from shop.services.tokens import hash_of
from shop.web.benches import BenchSide, TheBench
from shop.web.deps import Now, Reading, TheHub, Writing
from shop.web.doors import Looking
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
MEDIA_TYPE = "text/calendar; charset=utf-8"
HEADERS = {"referrer-policy": "no-referrer", "x-robots-tag": "noindex, nofollow"}
GONE = "There is no calendar at this address."


@router.api_route("/calendar/{token}.ics", methods=["GET", "HEAD"])
def show_feed(request: Request, page: Page, session: Reading, bench: TheBench, token: str) -> Response:
    """The calendar; an address that is unknown, replaced or ended always answers the same."""
    token_hash = hash_of(token)
    if not opens_a_calendar(session, token_hash):
        return PlainTextResponse(GONE, 404, {"cache-control": "no-store, private", **HEADERS})
    uid, name = token_hash[:32], f"{page.shop_name}: ready times"
    events = events_of(session, bench, uid)
    # Written on every answer, the stamps are no part of what a reader has to fetch anew.
    print_of = hashlib.sha256(repr((name, events)).encode()).hexdigest()[:32]
    headers = {"cache-control": "private, no-cache", "etag": f'W/"{print_of}"', **HEADERS}
    if headers["etag"] in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    text = calendar_text(uid, name, events, last_instant(session))
    return Response(text, media_type=MEDIA_TYPE, headers=headers)


def events_of(session: Session, bench: BenchSide, feed_uid: str) -> list[CalendarEvent]:
    """The events of the cures of open builds; the ids are the feed's own, whichever machine serves it."""
    opened = bench.opened(session)
    titles = {build.number: build.title for build in opened.builds}
    cures = soft_cures_of(session, bench.hub.sequences, opened, bench.now - KEPT_FOR)
    return [
        CalendarEvent(
            f"{entry.key}@{feed_uid}", entry.begins, entry.ends, entry.summary,
            f"{titles[entry.rod]}\n{entry.adhesive}",
        )
        for entry in entries_of(cures)
    ]  # fmt: skip


@router.post("/ways/you/calendar")
def give_my_feed(actor: Looking, page: Page, session: Writing, now: Now, hub: TheHub) -> Response:
    """Make oneself an address, which ends the one before."""
    assert actor.user_id is not None
    give_feed(session, hub.secret, actor.user_id, now=now)
    return page.go("/ways/you#calendar", "Your calendar has a new address.")


@router.post("/ways/you/calendar/end")
def end_my_feed(actor: Looking, page: Page, session: Writing, now: Now, hub: TheHub) -> Response:
    """End one's own address."""
    assert actor.user_id is not None
    ended = end_feed(session, actor.user_id, now=now)
    return page.go("/ways/you#calendar", "The calendar address has ended." if ended else "")


def feed_context(page: Frame, session: Session, actor: Actor) -> dict[str, Any]:
    """What `fragments/calendar_feed.html` needs."""
    assert actor.user_id is not None
    token = live_token(session, page.hub.secret, actor.user_id)
    return {"calendar_url": None if token is None else f"{page.base_url}/calendar/{token}.ics"}
