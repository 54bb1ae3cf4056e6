"""The sensors of a zone under Ways: put on file, renamed, moved to another zone and ended."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.sensors import sensor_view
from shop.queries.zones import zone_view, zones_after
from shop.rules.sensors import MOST_NAME, MOST_TOPIC
from shop.services.sensors import add_sensor, change_sensor, end_sensor, move_sensor
from shop.web.deps import Form, Now, Posted, Reading, Writing
from shop.web.doors import AtWays
from shop.web.forms import Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Page
from shop.web.zone_page import MOST_ZONES

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/sensor.html"


@router.get("/ways/zones/{zone_id}/sensors/new")
def new_sensor(actor: AtWays, page: Page, session: Reading, zone_id: int) -> Response:
    """An empty form for a sensor in a zone."""
    return page.show(TEMPLATE, here="ways", form=FormView(), **_new(session, zone_id))


def _new(session: Session, zone_id: int) -> dict[str, Any]:
    return {"zone": zone_view(session, zone_id), "sensor": None, "zones": []}


@router.post("/ways/zones/{zone_id}/sensors/new")
def hang_sensor(
    actor: AtWays, page: Page, session: Writing, now: Now, zone_id: int, posted: Form
) -> Response:
    """Put a sensor on file."""
    page.here = "ways"
    with showing_again(page, TEMPLATE, posted, lambda: _new(session, zone_id)):
        sensor = add_sensor(session, now=now, zone_id=zone_id, **_facts(posted))
    return page.go(f"/ways/zones/{zone_id}", f"The sensor {sensor.name} is on file.")


@router.get("/ways/sensors/{sensor_id}")
def show_sensor(actor: AtWays, page: Page, session: Reading, sensor_id: int) -> Response:
    """One sensor, to change, move or end."""
    context = _one(session, sensor_id)
    sensor = context["sensor"]
    form = FormView({"name": sensor.name, "topic": sensor.topic or ""})
    return page.show(TEMPLATE, here="ways", form=form, **context)


def _one(session: Session, sensor_id: int) -> dict[str, Any]:
    sensor = sensor_view(session, sensor_id)
    others = [zone for zone in zones_after(session, 0, MOST_ZONES) if zone.id != sensor.zone_id]
    zones = [("", "choose one"), *((zone.id, zone.name) for zone in others)]
    return {
        "zone": zone_view(session, sensor.zone_id), "sensor": sensor, "zones": zones if others else [],
    }  # fmt: skip


@router.post("/ways/sensors/{sensor_id}")
def save_sensor(actor: AtWays, page: Page, session: Writing, sensor_id: int, posted: Form) -> Response:
    """Rename a sensor or change where it publishes."""
    page.here = "ways"
    with showing_again(page, TEMPLATE, posted, lambda: _one(session, sensor_id)):
        fields = Fields(posted)
        version = fields.whole("version", "The version", 1, 10**9)
        fields.required("version", "The version", version)
        fields.done()
        sensor = change_sensor(session, sensor_id, version=version, **_facts(posted))
    return page.go(f"/ways/zones/{sensor.zone_id}", f"The sensor {sensor.name} is saved.")


@router.post("/ways/sensors/{sensor_id}/move")
def hang_elsewhere(
    actor: AtWays, page: Page, session: Writing, now: Now, sensor_id: int, posted: Form
) -> Response:
    """Move a sensor to another zone; what it read stays where it was read."""
    page.here = "ways"
    with showing_again(page, TEMPLATE, posted, lambda: _one(session, sensor_id)):
        fields = Fields(posted)
        zone_id = fields.chosen("zone_id", "The zone")
        fields.done()
        sensor = move_sensor(session, sensor_id, now=now, zone_id=zone_id)
    return page.go(f"/ways/zones/{zone_id}", f"The sensor {sensor.name} hangs here from now on.")


@router.post("/ways/sensors/{sensor_id}/end")
def take_down(actor: AtWays, page: Page, session: Writing, now: Now, sensor_id: int) -> Response:
    """End a sensor; what it read stays."""
    sensor = end_sensor(session, sensor_id, now=now)
    return page.go(f"/ways/zones/{sensor.zone_id}", f"{sensor.name}: what it read stays on file.")


def _facts(posted: Posted) -> dict[str, Any]:
    fields = Fields(posted)
    said = {
        "name": fields.text("name", "The name", MOST_NAME, required=True),
        "topic": fields.text("topic", "The topic", MOST_TOPIC) or None,
    }
    fields.done()
    return said
