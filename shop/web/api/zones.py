"""The API of zones, and of the temperatures read in them."""

from typing import Annotated, Any

from pydantic import BaseModel, Field

from shop.queries.zones import zone_view, zones_after
from shop.services.zones import MOST_READINGS, add_readings, add_zone, change_zone
from shop.web.api.base import After, Body, Limit, Number, Once, Page, api_router, changes_of, page_of
from shop.web.api.times import InstantIn, InstantOut
from shop.web.deps import Now, Reading, Writing
from shop.web.doors import KeyForLooking, KeyForReadings, KeyForWays

router = api_router("zones")


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
    """Temperatures read in a zone, in any order."""

    readings: Annotated[list[ReadingIn], Field(min_length=1, max_length=MOST_READINGS)]


class ReadingsOut(BaseModel):
    """How many readings were taken in."""

    accepted: int


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
    return {"accepted": add_readings(session, zone_id, now=now, readings=readings)}
