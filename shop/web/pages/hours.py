"""The shop's hours under Ways: when somebody is there, and on which days nobody is."""

import re
from datetime import date, time
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.queries.shop import shop_version
from shop.rules.hours import DAYS, Hours, parse_time
from shop.services.hours import set_hours
from shop.web.deps import Form, Posted, Reading, Writing
from shop.web.doors import AtWays
from shop.web.forms import Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/hours.html"
_SPAN = re.compile(r"\s*(.+?)\s*(?:-|–|to)\s*(.+?)\s*")


@router.get("/ways/hours")
def show_hours(actor: AtWays, page: Page, session: Reading) -> Response:
    """The hours of the week and the closed days, to change."""
    hours = page.shop.hours
    values = {
        name.lower(): "" if day is None else f"{day[0]:%H:%M} to {day[1]:%H:%M}"
        for name, day in zip(DAYS, hours.week, strict=True)
    }
    closed = "\n".join(day.isoformat() for day in sorted(hours.closed_on))
    form = FormView({**values, "closed_on": closed, "version": shop_version(session)})
    return page.show(TEMPLATE, here="ways", form=form, **_context())


@router.post("/ways/hours")
def save_hours(actor: AtWays, page: Page, session: Writing, posted: Form) -> Response:
    """Change the hours."""
    page.here = "ways"
    with showing_again(page, TEMPLATE, posted, _context):
        hours, version = _typed(posted)
        set_hours(session, hours, version=version)
    return page.go("/ways/hours", "The shop's hours are saved.")


def _typed(posted: Posted) -> tuple[Hours, int]:
    fields = Fields(posted)
    week = tuple(_day(fields, posted.get(name.lower(), ""), name) for name in DAYS)
    closed = _closed(fields, posted.get("closed_on", ""))
    version = fields.whole("version", "The version", 1, 10**9)
    fields.required("version", "The version", version)
    fields.done()
    return Hours(week, frozenset(closed)), version or 0


def _day(fields: Fields, text: str, name: str) -> tuple[time, time] | None:
    if not text.strip():
        return None
    found = _SPAN.fullmatch(text)
    opens, closes = (parse_time(part) for part in found.groups()) if found else (None, None)
    if opens is None or closes is None:
        fields.errors[name.lower()] = (
            f"“{text}” is no span of a day; write it like 8:00 to 17:00, or nothing if nobody is there."
        )
        return None
    return opens, closes


def _closed(fields: Fields, text: str) -> list[date]:
    days = []
    for word in re.split(r"[\s,;]+", text.strip()):
        try:
            days += [date.fromisoformat(word)] if word else []
        except ValueError:
            fields.errors["closed_on"] = f"“{word}” is not a day; write each like 2026-12-24."
    return days


def _context() -> dict[str, Any]:
    return {"days": [(name.lower(), name) for name in DAYS]}
