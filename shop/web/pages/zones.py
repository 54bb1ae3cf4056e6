"""The zones under Ways: their temperatures now, what is assumed, and readings typed by hand."""

from datetime import datetime, timedelta
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.zones import latest_readings, zone_view, zones_after
from shop.rules.people import Right
from shop.services.zones import add_reading, add_zone, change_zone
from shop.web.benches import BenchSide, TheBench
from shop.web.deps import Form, Now, Posted, Reading, Writing
from shop.web.doors import AtWays, Looking, PostingReadings
from shop.web.forms import Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page
from shop.web.wording import when

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
LIST = "pages/zones.html"
ONE = "pages/zone.html"
MOST_ZONES = 100
SHOWN_READINGS = 24


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
def show_zone(actor: Looking, page: Page, session: Reading, bench: TheBench, zone_id: int) -> Response:
    """One zone with its latest readings."""
    context = _one(page, session, bench, zone_id, may_change=actor.may(Right.WAYS))
    return page.show(ONE, here="ways", form=FormView(), **context)


def _one(
    page: Frame, session: Session, bench: BenchSide, zone_id: int, may_change: bool = True
) -> dict[str, Any]:
    zone = zone_view(session, zone_id)
    clock = bench.warmth(session).zones[zone_id].clock
    rows = [
        [when(reading.at, bench.now, page.zone), f"{reading.celsius:.1f} °C"]
        for reading in latest_readings(session, zone_id, SHOWN_READINGS)
    ]
    return {
        "zone": zone, "rows": rows, "may_change": may_change,
        "now_c": f"{clock.temperature_at(bench.now.timestamp()):.1f} °C",
        "says": _says(page, bench, zone.last_read_at),
        "kept": {"name": zone.name, "assumed_c": f"{zone.assumed_c:.10g}"},
    }  # fmt: skip


def _says(page: Frame, bench: BenchSide, last_read_at: datetime | None) -> str:
    """Where the temperature now comes from."""
    if last_read_at is None:
        return "assumed, never read"
    speaks = bench.now - last_read_at < timedelta(minutes=page.shop.reading_gap_minutes)
    said = f"last read {when(last_read_at, bench.now, page.zone)}"
    return said if speaks else f"assumed; {said}"


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
    with showing_again(page, ONE, posted, lambda: _one(page, session, bench, zone_id, may_change)):
        fields = Fields(posted)
        celsius = fields.required("celsius", "The temperature", fields.celsius("celsius"))
        at = fields.instant("at", "The time", page.zone) or bench.now
        fields.done()
        add_reading(session, zone_id, now=bench.now, at=at, celsius=celsius or 0.0)
    return page.go(f"/ways/zones/{zone_id}", "The reading is taken in.")


def _fields(posted: Posted) -> dict[str, Any]:
    fields = Fields(posted)
    values = {
        "name": fields.text("name", "The name", 60, required=True),
        "assumed_c": fields.required("assumed_c", "The assumed temperature", fields.celsius("assumed_c")),
    }
    fields.done()
    return values
