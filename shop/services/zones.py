"""Zones: adding them, and taking in the temperatures read there."""

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy.orm import Session

from shop.db.zones import Reading, Zone
from shop.queries.zones import zone_named, zone_record
from shop.rules.refusals import BadInput
from shop.rules.zones import faults_of_reading, faults_of_zone

MOST_READINGS = 5000


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
    errors = faults_of_zone(name, assumed_c)
    same = zone_named(session, name.strip())
    if same is not None and same.id != zone_id:
        errors["name"] = f"There is a zone called {name.strip()} already."
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
        errors = faults_of_reading(at, celsius, now)
        if errors:
            raise BadInput({f"readings.{position}.{field}": fault for field, fault in errors.items()})
    _take_in(session, zone, now, readings)
    return len(readings)


def add_reading(session: Session, zone_id: int, *, now: datetime, at: datetime, celsius: float) -> None:
    """Take in one temperature that somebody typed. Raises `NotOnFile` or `BadInput`."""
    zone = zone_record(session, zone_id)
    errors = faults_of_reading(at, celsius, now)
    if errors:
        raise BadInput(errors)
    _take_in(session, zone, now, [(at, celsius)])


def _take_in(session: Session, zone: Zone, now: datetime, readings: Sequence[tuple[datetime, float]]) -> None:
    session.add_all(
        Reading(zone_id=zone.id, at=at, celsius=celsius, entered_at=now) for at, celsius in readings
    )
    zone.readings_version += 1
    session.flush()
