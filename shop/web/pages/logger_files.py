"""The files of loggers: looked at first, with what they hold or what is wrong by line, then taken in."""

from datetime import datetime
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.sensors import sensors_in
from shop.queries.zones import ZoneView, zone_view
from shop.rules.logger_files import LoggerFile
from shop.rules.refusals import BadInput
from shop.services.zones import Taken, add_readings
from shop.web.benches import TheBench
from shop.web.deps import Form, Reading, TheHub, Writing
from shop.web.doors import PostingReadings
from shop.web.forms import FormView, showing_again
from shop.web.logger_file import clock_zone, read_logger_file
from shop.web.looked_at import LookedAt
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page
from shop.web.uploads import FIELD, MOST_UPLOAD_BYTES, Upload, Uploaded
from shop.web.wording import day
from shop.web.zone_page import sensor_choices

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/zone_file.html"
GONE = "That file is not kept any more; please choose it again."


@router.post("/ways/zones/{zone_id}/file", max_body_size=MOST_UPLOAD_BYTES)
def look_at_file(
    actor: PostingReadings, page: Page, session: Reading, hub: TheHub, bench: TheBench, zone_id: int,
    upload: Uploaded,
) -> Response:  # fmt: skip
    """Look at a logger's file: what would be taken in, or what is wrong. Nothing is stored yet."""
    page.here = "ways"
    zone = zone_view(session, zone_id)
    with showing_again(page, TEMPLATE, upload.posted, lambda: _blank(page, session, zone)):
        sensor = _checked(session, zone, upload)
        clock = clock_zone(upload.posted.get("time_zone", ""), page.zone)
        file = read_logger_file(upload.body, clock, bench.now)
    context = _blank(page, session, zone) | {"file_name": upload.name, "faults": _by_line(file)}
    if file.faults:
        form = FormView(upload.posted, {FIELD: _count(file)})
        return page.show(TEMPLATE, status=422, form=form, **context | {"unsaid": file.unsaid})
    kept = LookedAt(zone_id, sensor, upload.name, file.readings, bench.now)
    found = {"token": hub.looked_at.keep(kept), "facts": _facts(page, kept)}
    return page.show(TEMPLATE, form=FormView(upload.posted), **context | {"found": found})


@router.post("/ways/zones/{zone_id}/file/take")
def take_file(
    actor: PostingReadings, page: Page, session: Writing, hub: TheHub, bench: TheBench, zone_id: int,
    posted: Form,
) -> Response:  # fmt: skip
    """Take in a file that was looked at, all of it or nothing."""
    page.here = "ways"
    zone = zone_view(session, zone_id)
    with showing_again(page, TEMPLATE, posted, lambda: _blank(page, session, zone)):
        file = hub.looked_at.find(posted.get("token", ""), bench.now)
        if file is None or file.zone_id != zone_id:
            raise BadInput({FIELD: GONE})
        taken = add_readings(
            session, zone_id, now=bench.now, readings=file.readings, sensor=file.sensor, source="file"
        )
    return page.go(f"/ways/zones/{zone_id}", said_of(taken))


def said_of(taken: Taken) -> str:
    """What became of readings, as a sentence."""
    many = "1 reading is" if taken.accepted == 1 else f"{taken.accepted} readings are"
    known = f" {taken.repeated} were on file already." if taken.repeated else ""
    return f"{many} taken in.{known}"


def _checked(session: Session, zone: ZoneView, upload: Upload) -> str:
    """The sensor that was chosen. Raises `BadInput` for it or for the file as such."""
    sensor = upload.posted.get("sensor", "")
    errors = {FIELD: upload.fault} if upload.fault else {}
    if sensor not in {name for name, _ in sensor_choices(sensors_in(session, zone.id))}:
        errors["sensor"] = f"No sensor called {sensor} hangs in {zone.name}; choose one of the list."
    if errors:
        raise BadInput(errors)
    return sensor


def _blank(page: Frame, session: Session, zone: ZoneView) -> dict[str, Any]:
    """The page with nothing looked at."""
    return {
        "zone": zone, "sensor_names": sensor_choices(sensors_in(session, zone.id)),
        "shop_zone": page.shop.time_zone, "file_name": "", "found": None, "faults": [], "unsaid": 0,
    }  # fmt: skip


def _by_line(file: LoggerFile) -> list[tuple[str, str]]:
    return [(f"line {fault.line}", fault.says) for fault in file.faults]


def _instant(page: Frame, at: datetime, now: datetime) -> str:
    """An instant with its day, and its year where that is not this one."""
    local = at.astimezone(page.zone)
    return f"{day(local.date(), now.astimezone(page.zone).date())} {local:%H:%M}"


def _count(file: LoggerFile) -> str:
    many = len(file.faults) + file.unsaid
    lines = "One line is" if many == 1 else f"{many} lines are"
    return f"{lines} not in order, so nothing is taken in; put the file right and choose it again."


def _facts(page: Frame, file: LookedAt) -> list[tuple[str, str]]:
    """What a file holds, as pairs of words."""
    times = [at for at, _ in file.readings]
    celsius = [read for _, read in file.readings]
    return [
        ("File", file.name),
        ("By", file.sensor or "no sensor"),
        ("Readings", str(len(times))),
        ("First", _instant(page, min(times), file.looked_at)),
        ("Last", _instant(page, max(times), file.looked_at)),
        ("Coldest", f"{min(celsius):.1f} °C"),
        ("Warmest", f"{max(celsius):.1f} °C"),
    ]
