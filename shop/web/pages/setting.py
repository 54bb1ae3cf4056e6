"""Setting: every joint and coat that is not hard yet, on one ruler of time."""

from datetime import datetime, timedelta

from fastapi import APIRouter
from starlette.responses import Response

from shop.rules.facts import CureFact
from shop.web.benches import TheBench
from shop.web.deps import Reading
from shop.web.doors import Looking
from shop.web.rods import ruler_cure
from shop.web.ruler import draw_ruler
from shop.web.running import ReadingRoute
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
BEFORE, LEAST_AFTER, MOST_AFTER = timedelta(hours=12), timedelta(hours=24), timedelta(days=5)
# The words stand beside the ruler, so it has less room than the page.
RULER_WIDTH = 760


@router.get("/setting")
def show_setting(actor: Looking, page: Page, session: Reading, bench: TheBench) -> Response:
    """All that is soft: what no time frees first, then by the next instant that matters."""
    now = bench.now
    view = bench.view(session)
    soft = [(row, cure) for row in (*view.free, *view.curing, *view.held) for cure in row.cures]
    soft.sort(key=lambda pair: (_has_end(pair[1]), _next_instant(pair[1], now), pair[0].build.number))
    ruler = None
    if soft:
        last = max((cure.full_at for _, cure in soft if cure.full_at is not None), default=now)
        end = min(max(last, now + LEAST_AFTER), now + MOST_AFTER)
        cures = [ruler_cure(row, cure) for row, cure in soft]
        ruler = draw_ruler(cures, now - BEFORE, end, now, page.zone, RULER_WIDTH)
    return page.show("pages/setting.html", here="setting", ruler=ruler, count=len(soft))


def _has_end(cure: CureFact) -> bool:
    """Whether time alone will make it hard; one that is stalled or tacky waits for somebody."""
    return cure.full_at is not None and not cure.tacky


def _next_instant(cure: CureFact, now: datetime) -> datetime:
    instants = (cure.set_at, cure.recoat_from, cure.recoat_until, cure.full_at)
    return min((at for at in instants if at is not None and at > now), default=now)
