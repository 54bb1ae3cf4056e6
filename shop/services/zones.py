"""Zones: adding them, and taking in the temperatures read there."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from shop.craft.temperature import TemperatureError, check_celsius
from shop.db.zones import Reading, Zone
from shop.queries.zones import zone_named, zone_record
from shop.rules.refusals import BadInput

MOST_NAME = 60
MOST_READINGS = 5000
# A thermometer's clock may run a little ahead of the server's.
AHEAD = timedelta(seconds=60)
OLDEST = timedelta(days=730)


def add_zone(session: Session, *, now: datetime, name: str, assumed_c: float) -> Zone:
    """Add a part of the shop with its own temperature. Raises `BadInput`."""
    _check(session, None, name, assumed_c)
    zone = Zone(name=name.strip(), assumed_c=assumed_c, created_at=now)
    session.add(zone)
    session.flush()
    return zone


def change_zone(
    session: Session, zone_id: int, *, name: str | None = None, assumed_c: float | None = None
) -> Zone:
    """Rename a zone or change its assumed temperature; every cure there is then computed again.

    Raises `NotOnFile` or `BadInput`.
    """
    zone = zone_record(session, zone_id)
    name = zone.name if name is None else name
    assumed_c = zone.assumed_c if assumed_c is None else assumed_c
    _check(session, zone_id, name, assumed_c)
    zone.name, zone.assumed_c = name.strip(), assumed_c
    zone.readings_version += 1
    session.flush()
    return zone


def _check(session: Session, zone_id: int | None, name: str, assumed_c: float) -> None:
    errors = {}
    same = zone_named(session, name.strip())
    if not 1 <= len(name.strip()) <= MOST_NAME:
        errors["name"] = f"The zone needs a name of 1 to {MOST_NAME} characters."
    elif same is not None and same.id != zone_id:
        errors["name"] = f"There is a zone called {name.strip()} already."
    try:
        check_celsius(assumed_c)
    except TemperatureError as fault:
        errors["assumed_c"] = str(fault)
    if errors:
        raise BadInput(errors)


def add_readings(
    session: Session, zone_id: int, *, now: datetime, readings: Sequence[tuple[datetime, float]]
) -> int:
    """Take in temperatures read in a zone, in any order; gives how many.

    Raises `NotOnFile`, or `BadInput` for a reading from the future, one older than two years, or a
    temperature that no shop has.
    """
    zone = zone_record(session, zone_id)
    if not 1 <= len(readings) <= MOST_READINGS:
        raise BadInput({"readings": f"Send 1 to {MOST_READINGS} readings at a time."})
    for position, (at, celsius) in enumerate(readings):
        fault = _fault_of(at, celsius, now)
        if fault:
            raise BadInput({f"readings.{position}": fault})
    session.add_all(
        Reading(zone_id=zone_id, at=at, celsius=celsius, entered_at=now) for at, celsius in readings
    )
    zone.readings_version += 1
    session.flush()
    return len(readings)


def _fault_of(at: datetime, celsius: float, now: datetime) -> str:
    if at > now + AHEAD:
        return "That reading comes from the future; set the thermometer's clock."
    if at < now - OLDEST:
        return "That reading is older than two years; nothing still cures by it."
    try:
        check_celsius(celsius)
    except TemperatureError as fault:
        return str(fault)
    return ""
