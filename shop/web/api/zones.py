"""The API of zones, and of the temperatures read in them."""

from datetime import datetime
from typing import Annotated, Any

from fastapi import Depends, Query, Request
from pydantic import BaseModel, Field
from starlette.concurrency import run_in_threadpool

from shop.queries.shop import read_shop
from shop.queries.zones import zone_view, zones_after
from shop.rules.logger_files import LoggerFile
from shop.rules.refusals import BadInput
from shop.services.zones import MOST_READINGS, add_readings, add_zone, change_zone
from shop.web.api.base import After, Body, Limit, Number, Once, Page, api_router, changes_of, page_of
from shop.web.api.times import InstantIn, InstantOut
from shop.web.deps import Hub, Now, Reading, TheHub, Writing
from shop.web.doors import KeyForLooking, KeyForReadings, KeyForWays
from shop.web.logger_file import clock_zone, faults_by_line, read_logger_file
from shop.web.uploads import MOST_UPLOAD_BYTES, csv_body, described_csv

router = api_router("zones")

SENSOR = "The name of the sensor that read them; without one they count as read by hand."
CLOCK = "The time zone of times without an offset, such as Europe/Lisbon or +01:00; the shop's if left out."
SensorName = Annotated[str, Field(max_length=60, description=SENSOR)]
CSV_BODY = described_csv("time,celsius\n2026-03-02T09:00:00+01:00,18.5\n")


class ZoneIn(Body):
    """A new zone; `assumed_c` counts wherever no thermometer speaks, so set it on the cold side."""

    name: Annotated[str, Field(max_length=60)]
    assumed_c: Number


class ZoneChanges(Body):
    """What changes of a zone; every cure in it is then computed again."""

    name: Annotated[str, Field(max_length=60)] | None = None
    assumed_c: Number | None = None


class ZoneOut(BaseModel):
    """A zone on file."""

    id: int
    name: str
    assumed_c: float
    last_read_at: InstantOut | None


class ReadingIn(Body):
    """One temperature at one instant."""

    at: InstantIn
    celsius: Number


class ReadingsIn(Body):
    """Temperatures read in a zone, in any order; all are taken in or none."""

    sensor: SensorName = ""
    readings: Annotated[list[ReadingIn], Field(min_length=1, max_length=MOST_READINGS)]


class ReadingsOut(BaseModel):
    """How many readings were taken in, and how many were on file already and are not stored again."""

    accepted: int
    repeated: int


@router.get("/zones", response_model=Page[ZoneOut])
def list_zones(actor: KeyForLooking, session: Reading, after: After = 0, limit: Limit = 50) -> Any:
    """Zones by id."""
    return page_of(zones_after(session, after, limit + 1), limit, lambda item: item.id)


@router.post("/zones", status_code=201, response_model=ZoneOut)
def post_zone(actor: KeyForWays, session: Writing, _once: Once, now: Now, body: ZoneIn) -> Any:
    """Add a zone."""
    return zone_view(session, add_zone(session, now=now, **body.model_dump()).id)


@router.get("/zones/{zone_id}", response_model=ZoneOut)
def get_zone(actor: KeyForLooking, session: Reading, zone_id: int) -> Any:
    """One zone."""
    return zone_view(session, zone_id)


@router.patch("/zones/{zone_id}", response_model=ZoneOut)
def patch_zone(actor: KeyForWays, session: Writing, _once: Once, zone_id: int, body: ZoneChanges) -> Any:
    """Rename a zone or change its assumed temperature."""
    change_zone(session, zone_id, **changes_of(body))
    return zone_view(session, zone_id)


@router.post("/zones/{zone_id}/readings", status_code=201, response_model=ReadingsOut)
def post_readings(
    actor: KeyForReadings, session: Writing, _once: Once, now: Now, zone_id: int, body: ReadingsIn
) -> Any:
    """Take in temperatures; a key of the scope `sensor` is enough."""
    readings = [(item.at, item.celsius) for item in body.readings]
    return add_readings(session, zone_id, now=now, readings=readings, sensor=body.sensor)


async def readings_body(
    request: Request, hub: TheHub, now: Now,
    time_zone: Annotated[str, Query(max_length=60, description=CLOCK)] = "",
) -> LoggerFile:  # fmt: skip
    """The readings of a CSV body, read before anybody waits to write. Raises `BadInput` by line."""
    file = await run_in_threadpool(_read_csv, hub, await csv_body(request), time_zone, now)
    if file.faults:
        raise BadInput(faults_by_line(file))
    return file


def _read_csv(hub: Hub, body: bytes, time_zone: str, now: datetime) -> LoggerFile:
    with hub.database.reading() as session:
        shop_zone = read_shop(session).zone
    return read_logger_file(body, clock_zone(time_zone, shop_zone), now)


CsvFile = Annotated[LoggerFile, Depends(readings_body)]


@router.post(
    "/zones/{zone_id}/readings.csv", status_code=201, response_model=ReadingsOut,
    max_body_size=MOST_UPLOAD_BYTES, openapi_extra=CSV_BODY,
)  # fmt: skip
def post_readings_file(
    actor: KeyForReadings, file: CsvFile, session: Writing, _once: Once, now: Now, zone_id: int,
    sensor: Annotated[str, Query(max_length=60, description=SENSOR)] = "",
) -> Any:  # fmt: skip
    """Take in a logger's file: CSV with a column for the time and one for the temperature."""
    return add_readings(
        session, zone_id, now=now, readings=file.readings, sensor=sensor, source="file"
    )  # fmt: skip
