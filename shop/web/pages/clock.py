"""The clock: what is doubted about it, and an owner's word that the time is right."""

from datetime import datetime
from functools import partial
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.clock import DoubtView, latest_doubts
from shop.rules.people import Right
from shop.rules.refusals import Overtaken
from shop.services.clock import confirm_time
from shop.web.deps import Form, Now, Reading, TheHub, write
from shop.web.doors import Looking, Releasing
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page
from shop.web.wording import day, when

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/clock.html"
NEWS = "The clock has been doubted again since this page was shown; look at the time once more."


@router.get("/ways/clock")
def show_clock(actor: Looking, page: Page, session: Reading, now: Now) -> Response:
    """The time the server goes by, and every doubt about it."""
    return page.show(TEMPLATE, here="ways", **_clock(page, session, now))


@router.post("/ways/clock")
async def confirm(actor: Releasing, page: Page, hub: TheHub, now: Now, posted: Form) -> Response:
    """Settle every doubt that the owner was shown."""
    if posted.get("doubt", "") != (page.clock_doubt or ""):
        raise Overtaken(NEWS)
    await write(hub, now, partial(confirm_time, now=now, by=actor.name))
    hub.clock.trust()
    return page.go("/ways/clock", "The time is confirmed; the clock is trusted again.")


def _clock(page: Frame, session: Session, now: datetime) -> dict[str, Any]:
    local = now.astimezone(page.zone)
    return {
        "time": f"{local:%H:%M}",
        "day": f"{day(local.date(), local.date())} {local.year}",
        "zone": page.shop.time_zone,
        "may_confirm": page.person is not None and page.person.may(Right.RELEASE),
        "doubts": [_row(page, doubt, now) for doubt in latest_doubts(session)],
    }


def _row(page: Frame, doubt: DoubtView, now: datetime) -> tuple[str, str, str]:
    settled = "open"
    if doubt.confirmed_at is not None:
        settled = f"{doubt.confirmed_by}, {when(doubt.confirmed_at, now, page.zone)}"
    return when(doubt.raised_at, now, page.zone), doubt.reason, settled
