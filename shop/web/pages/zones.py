"""The zones under Ways: their temperatures now, what is assumed, and readings typed by hand."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.zones import zones_after
from shop.rules.people import Right
from shop.services.zones import add_reading, add_zone, change_zone
from shop.web.benches import BenchSide, TheBench
from shop.web.deps import Form, Now, Posted, Reading, Writing
from shop.web.doors import AtWays, Looking, PostingReadings
from shop.web.forms import Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page
from shop.web.wording import when
from shop.web.zone_page import MOST_ZONES, zone_context
from shop.web.zone_plot import USUAL_DAYS, days_asked

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
LIST = "pages/zones.html"
ONE = "pages/zone.html"


@router.get("/ways/zones")
def show_zones(actor: Looking, page: Page, session: Reading, bench: TheBench) -> Response:
    """Every zone, and a form for a new one."""
    context = _list(page, session, bench, may_change=actor.may(Right.WAYS))
    return page.show(LIST, here="ways", form=FormView(), **context)


def _list(page: Frame, session: Session, bench: BenchSide, may_change: bool = True) -> dict[str, Any]:
    warmth, at = bench.warmth(session), bench.now.timestamp()
    rows: list[list[Any]] = [
        [
            {"text": zone.name, "href": f"/ways/zones/{zone.id}"},
            f"{warmth.zones[zone.id].clock.temperature_at(at):.1f} °C",
            f"{zone.assumed_c:g} °C",
            when(zone.last_read_at, bench.now, page.zone) if zone.last_read_at else "never",
        ]
        for zone in zones_after(session, 0, MOST_ZONES)
    ]
    return {"rows": rows, "may_change": may_change, "kept": {"name": "", "assumed_c": ""}}


@router.post("/ways/zones")
def put_zone_on_file(
    actor: AtWays, page: Page, session: Writing, now: Now, bench: TheBench, posted: Form
) -> Response:
    """Add a zone."""
    page.here = "ways"
    with showing_again(page, LIST, posted, lambda: _list(page, session, bench)):
        zone = add_zone(session, now=now, **_fields(posted))
    return page.go("/ways/zones", f"{zone.name} is on file.")


@router.get("/ways/zones/{zone_id}")
def show_zone(
    actor: Looking, page: Page, session: Reading, bench: TheBench, zone_id: int, days: str = ""
) -> Response:
    """One zone: its temperature now, its sensors, its last days, its latest readings."""
    context = _one(page, session, bench, zone_id, days_asked(days), may_change=actor.may(Right.WAYS))
    return page.show(ONE, here="ways", form=FormView(), **context)


def _one(
    page: Frame, session: Session, bench: BenchSide, zone_id: int, days: int = USUAL_DAYS,
    may_change: bool = True,
) -> dict[str, Any]:  # fmt: skip
    return zone_context(page, session, bench, zone_id, days) | {"may_change": may_change}


@router.post("/ways/zones/{zone_id}")
def save_zone(
    actor: AtWays, page: Page, session: Writing, bench: TheBench, zone_id: int, posted: Form
) -> Response:
    """Rename a zone or change what is assumed of it."""
    page.here = "ways"
    with showing_again(page, ONE, posted, lambda: _one(page, session, bench, zone_id)):
        change_zone(session, zone_id, **_fields(posted))
    return page.go(f"/ways/zones/{zone_id}", "Saved; every cure there is computed again.")


@router.post("/ways/zones/{zone_id}/readings")
def type_reading(
    actor: PostingReadings, page: Page, session: Writing, bench: TheBench, zone_id: int, posted: Form
) -> Response:
    """Take in one reading typed by hand."""
    page.here = "ways"
    may_change = actor.may(Right.WAYS)
    with showing_again(page, ONE, posted, lambda: _one(page, session, bench, zone_id, may_change=may_change)):
        fields = Fields(posted)
        celsius = fields.required("celsius", "The temperature", fields.celsius("celsius"))
        at = fields.instant("at", "The time", page.zone) or bench.now
        fields.done()
        taken = add_reading(session, zone_id, now=bench.now, at=at, celsius=celsius or 0.0)
    said = "The reading is taken in." if taken.accepted else "That reading is on file already."
    return page.go(f"/ways/zones/{zone_id}", said)


def _fields(posted: Posted) -> dict[str, Any]:
    fields = Fields(posted)
    values = {
        "name": fields.text("name", "The name", 60, required=True),
        "assumed_c": fields.required("assumed_c", "The assumed temperature", fields.celsius("assumed_c")),
    }
    fields.done()
    return values
