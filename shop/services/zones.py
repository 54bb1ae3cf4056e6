"""Zones: adding them, and taking in the temperatures read there."""

from collections.abc import Sequence
from datetime import datetime
from typing import Literal, NamedTuple

from sqlalchemy import insert
from sqlalchemy.orm import Session

from shop.db.zones import Reading, Sensor, Zone
from shop.queries.sensors import sensor_named, sensor_record
from shop.queries.zones import readings_at, zone_named, zone_record
from shop.rules.refusals import BadInput, NotOnFile
from shop.rules.zones import faults_of_reading, faults_of_readings, faults_of_zone

MOST_READINGS = 20_000
MOST_IN_FILE = 100_000

Source = Literal["hand", "api", "file", "mqtt"]
Readings = Sequence[tuple[datetime, float]]


class Taken(NamedTuple):
    """What became of readings: how many were taken in, and how many were on file already."""

    accepted: int
    repeated: int


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
    session: Session, zone_id: int, *, now: datetime, readings: Readings,
    sensor: str = "", source: Source = "api",
) -> Taken:  # fmt: skip
    """Take in temperatures read in a zone, in any order, all or none; `sensor` names who read them.

    What is on file already, of the same sensor, instant and value, is not stored again. Raises `NotOnFile`,
    or `BadInput` by place for readings from the future, older than two years, or that no shop has.
    """
    zone = zone_record(session, zone_id)
    reader = _sensor_called(session, zone, sensor)
    most = MOST_IN_FILE if source == "file" else MOST_READINGS
    if not 1 <= len(readings) <= most:
        raise BadInput({"readings": f"Send 1 to {most} readings at a time."})
    if errors := faults_of_readings(readings, now):
        raise BadInput(errors)
    return _take_in(session, zone, reader, now, readings, source)


def add_reading(session: Session, zone_id: int, *, now: datetime, at: datetime, celsius: float) -> Taken:
    """Take in one temperature that somebody typed. Raises `NotOnFile` or `BadInput`."""
    zone = zone_record(session, zone_id)
    _check_reading(at, celsius, now)
    return _take_in(session, zone, None, now, [(at, celsius)], "hand")


def hear_sensor(session: Session, sensor_id: int, *, now: datetime, at: datetime, celsius: float) -> Taken:
    """Take in one temperature that a sensor published. Raises `BadInput`, or `NotOnFile` if it has ended."""
    sensor = sensor_record(session, sensor_id)
    if sensor.ended_at is not None:
        raise NotOnFile(f"The sensor “{sensor.name}” has ended.")
    _check_reading(at, celsius, now)
    return _take_in(session, zone_record(session, sensor.zone_id), sensor, now, [(at, celsius)], "mqtt")


def _check_reading(at: datetime, celsius: float, now: datetime) -> None:
    if errors := faults_of_reading(at, celsius, now):
        raise BadInput(errors)


def _sensor_called(session: Session, zone: Zone, name: str) -> Sensor | None:
    """The sensor of that name, which must hang in the zone; none for no name."""
    if not name:
        return None
    sensor = sensor_named(session, name)
    if sensor is None or sensor.ended_at is not None:
        raise BadInput({"sensor": f"There is no sensor called {name}; put it on file under Ways, Zones."})
    if sensor.zone_id != zone.id:
        raise BadInput({"sensor": f"The sensor {name} does not hang in the zone {zone.name}."})
    return sensor


def _take_in(
    session: Session, zone: Zone, sensor: Sensor | None, now: datetime, readings: Readings, source: Source
) -> Taken:
    sensor_id = None if sensor is None else sensor.id
    known = readings_at(session, zone.id, sensor_id, {at for at, _ in readings})
    fresh = []
    for at, celsius in readings:
        # Of two at one instant the later entry counts, so what was put right since is news again.
        if known.get(at) != celsius:
            known[at] = celsius
            fresh.append((at, celsius))
    if fresh:
        made = {"zone_id": zone.id, "sensor_id": sensor_id, "source": source, "entered_at": now}
        session.execute(insert(Reading), [{**made, "at": at, "celsius": celsius} for at, celsius in fresh])
        zone.readings_version += 1
        session.flush()
    return Taken(len(fresh), len(readings) - len(fresh))
