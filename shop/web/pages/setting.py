"""Setting: every joint and coat that is not hard yet, on one ruler of time."""

from datetime import datetime, timedelta

from fastapi import APIRouter
from starlette.responses import Response

from shop.queries.cures import CureView, open_cures
from shop.web.benches import TheBench
from shop.web.deps import Reading
from shop.web.doors import Looking
from shop.web.ruler import RulerCure, draw_ruler
from shop.web.running import ReadingRoute
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
BEFORE, LEAST_AFTER, MOST_AFTER = timedelta(hours=12), timedelta(hours=24), timedelta(days=5)


@router.get("/setting")
def show_setting(actor: Looking, page: Page, session: Reading, bench: TheBench) -> Response:
    """All that is soft, what is stalled first, then by the next instant that matters."""
    now = bench.now
    soft = [
        cure
        for cure in open_cures(session, bench.warmth(session))
        if not cure.failed and (cure.full_at is None or cure.full_at > now)
    ]
    soft.sort(key=lambda cure: (cure.full_at is not None, _next_instant(cure, now)))
    ruler = None
    if soft:
        last = max((cure.full_at for cure in soft if cure.full_at is not None), default=now)
        end = min(max(last, now + LEAST_AFTER), now + MOST_AFTER)
        ruler = draw_ruler([_ruler_cure(cure) for cure in soft], now - BEFORE, end, now, page.zone)
    return page.show("pages/setting.html", here="setting", ruler=ruler, count=len(soft))


def _next_instant(cure: CureView, now: datetime) -> datetime:
    instants = (cure.set_at, cure.recoat_from, cure.recoat_until, cure.full_at)
    return min((at for at in instants if at is not None and at > now), default=now)


def _ruler_cure(cure: CureView) -> RulerCure:
    return RulerCure(
        f"{cure.build} {cure.place}", f"/builds/{cure.build}", cure.closed_at, cure.set_at, cure.full_at,
        cure.recoat_from, cure.recoat_until, cure.stalled,
    )  # fmt: skip
