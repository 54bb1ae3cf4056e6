"""Promises at the desk: which open builds are no longer promised for the day they were, and what was kept."""

from datetime import date
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.queries.promises import MovedPromise, finished_promises, moved_promises
from shop.rules.promises import Kept, count_kept, is_slip
from shop.web.deps import Now, Reading
from shop.web.doors import Looking
from shop.web.running import ReadingRoute
from shop.web.templating import Page
from shop.web.wording import day

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)


@router.get("/desk/promises")
def show_promises(actor: Looking, page: Page, session: Reading, now: Now) -> Response:
    """Promises that moved, the first one beside the present one, and how many of the last rods' were kept."""
    today = now.astimezone(page.zone).date()
    since = today.year - 1
    kept = count_kept(finished_promises(session, since, page.zone))
    return page.show(
        "pages/promises.html", here="desk", tab="promises", since=since, kept=_kept_rows(kept),
        moved=[_row(build, today) for build in moved_promises(session)],
    )  # fmt: skip


def _row(build: MovedPromise, today: date) -> list[Any]:
    present = "taken back" if build.promised_on is None else day(build.promised_on, today)
    how = "slipped" if is_slip(build.first, build.promised_on) else "earlier"
    times = "once" if build.changes == 1 else f"{build.changes} times"
    return [
        {"text": f"{build.number} {build.title}", "href": f"/builds/{build.number}"}, build.customer,
        day(build.first, today), f"{present} · {how}", times, build.reason,
    ]  # fmt: skip


def _kept_rows(kept: Kept) -> list[list[str]]:
    """The table of what was kept; nothing before the first rod that was promised is handed over."""
    if not kept.of:
        return []
    return [
        ["the first day promised", f"{kept.by_first} of {kept.of}"],
        ["the last day promised", f"{kept.by_last} of {kept.of}"],
    ]
