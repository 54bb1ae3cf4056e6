"""News of your rod: the customer's private page. It shows only what the sequence has words for."""

from datetime import datetime
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from fastapi import APIRouter
from starlette.responses import HTMLResponse, Response

from shop.queries.bench import BenchRow
from shop.queries.builds import build_view_by_id
from shop.queries.status_links import build_of_token
from shop.rules.sequences import HoldKind
from shop.services.tokens import hash_of
from shop.web.benches import TheBench
from shop.web.deps import Reading
from shop.web.rods import drawing_of
from shop.web.running import ReadingRoute
from shop.web.templating import Page
from shop.web.wording import day

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
HEADERS = {
    "cache-control": "no-store, private",
    "referrer-policy": "no-referrer",
    "x-robots-tag": "noindex, nofollow",
}
CURING = frozenset({HoldKind.SET, HoldKind.FULL_CURE, HoldKind.RECOAT})


class NewsStage(NamedTuple):
    """A stage in the customer's words: `done`, `next` or `later`, and the day it was reached."""

    name: str
    state: str
    text: str


@router.get("/rod/{token:path}")
def show_news(page: Page, session: Reading, bench: TheBench, token: str) -> Response:
    """How the rod is coming; a link that is unknown, replaced or ended always answers the same."""
    build_id = build_of_token(session, hash_of(token))
    # The page is the customer's, whoever looks at it.
    page.person, page.notice = None, None
    if build_id is None:
        response: HTMLResponse = page.show("pages/news_none.html", status=404)
    else:
        row = bench.row_of(session, build_view_by_id(session, build_id))
        response = page.show("pages/news.html", **news_of(row, bench.now, page.zone))
    response.headers.update(HEADERS)
    return response


def news_of(row: BenchRow, now: datetime, zone: ZoneInfo) -> dict[str, Any]:
    """What the customer may know of a rod, in finished words."""
    today = now.astimezone(zone).date()
    told = [stage for stage in row.sequence.stages if stage.customer_words]
    first_open = next((stage for stage in told if stage.name not in row.facts.reached), None)
    stages = []
    for stage in told:
        reached = row.facts.reached.get(stage.name)
        if reached is not None:
            text = day(reached.at.astimezone(zone).date(), today)
            stages.append(NewsStage(stage.customer_words, "done", text))
        else:
            # The words tell of a stage as done, so the one to come must be told apart in words too.
            state, text = ("next", "comes next") if stage is first_open else ("later", "")
            stages.append(NewsStage(stage.customer_words, state, text))
    return {
        "title": row.build.title,
        "drawing": drawing_of(row, compact=False),
        "stages": stages,
        "now_words": _now_words(row, now, zone),
        "promised": day(row.build.promised_on, today) if row.build.promised_on else "",
        "finished": row.build.closed_at is not None,
    }


def _now_words(row: BenchRow, now: datetime, zone: ZoneInfo) -> str:
    """What is being waited for, without a word that is the shop's alone."""
    decision = row.decision
    if decision.stage is None:
        return "Your rod is finished."
    never = any(hold.kind in CURING and hold.clears_at is None for hold in decision.holds)
    if never and any(cure.full_at is None for cure in row.cures):
        return "Something on it is hardening slowly; it is given the time it needs."
    until = decision.time_clears_at
    if until is not None:
        last = day(until.astimezone(zone).date(), now.astimezone(zone).date())
        return f"Something on it is hardening until about {last}; nobody needs to do anything until then."
    return "It waits for its next step at the bench."
