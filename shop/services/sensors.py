"""Sensors: hung up in a zone, renamed, moved and ended. Taking in what they read is `zones`'s."""

from datetime import datetime

from sqlalchemy.orm import Session

from shop.db.zones import Sensor
from shop.queries.sensors import sensor_at_topic, sensor_named, sensor_names, sensor_record
from shop.queries.shop import shop_day
from shop.queries.zones import zone_record
from shop.rules.refusals import BadInput, Overtaken
from shop.rules.sensors import faults_of_sensor, retired_name


def add_sensor(
    session: Session, *, now: datetime, zone_id: int, name: str, topic: str | None = None
) -> Sensor:
    """Put a sensor on file that hangs in a zone; `topic` is where it publishes over MQTT, if it does.

    Raises `BadInput` or `NotOnFile`.
    """
    zone_record(session, zone_id)
    name, topic = _checked(session, None, name, topic)
    sensor = Sensor(zone_id=zone_id, name=name, topic=topic, created_at=now)
    session.add(sensor)
    session.flush()
    return sensor


def change_sensor(
    session: Session, sensor_id: int, *, version: int | None = None, **changes: str | None
) -> Sensor:
    """Rename a sensor or change where it publishes: `name`, `topic`; what is left out stays.

    Raises `BadInput`, `NotOnFile`, or `Overtaken` where it has ended or, with `version` given, was changed
    since.
    """
    sensor = _in_use(session, sensor_id)
    if version is not None and sensor.version != version:
        raise Overtaken("Somebody else changed this sensor meanwhile; look at it again.")
    told = {"name": sensor.name, "topic": sensor.topic, **changes}
    sensor.name, sensor.topic = _checked(session, sensor_id, told["name"] or "", told["topic"])
    session.flush()
    return sensor


def move_sensor(session: Session, sensor_id: int, *, now: datetime, zone_id: int) -> Sensor:
    """Hang a sensor in another zone: it ends where it was and begins anew there; gives the new record.

    So what it read before stays with the zone where it was read. Raises `BadInput`, `NotOnFile` or
    `Overtaken`.
    """
    sensor = _in_use(session, sensor_id)
    zone = zone_record(session, zone_id)
    if zone_id == sensor.zone_id:
        raise BadInput({"zone_id": f"It hangs in {zone.name} already."})
    name, topic = sensor.name, sensor.topic
    end_sensor(session, sensor_id, now=now)
    return add_sensor(session, now=now, zone_id=zone_id, name=name, topic=topic)


def end_sensor(session: Session, sensor_id: int, *, now: datetime) -> Sensor:
    """Take a sensor down; what it read stays, and its name and topic are free for another.

    Raises `NotOnFile` or `Overtaken`.
    """
    sensor = _in_use(session, sensor_id)
    sensor.name = retired_name(sensor.name, shop_day(session, now), sensor_names(session))
    sensor.topic = None
    sensor.ended_at = now
    session.flush()
    return sensor


def _in_use(session: Session, sensor_id: int) -> Sensor:
    sensor = sensor_record(session, sensor_id)
    if sensor.ended_at is not None:
        raise Overtaken(f"The sensor “{sensor.name}” has ended already.")
    return sensor


def _checked(session: Session, sensor_id: int | None, name: str, topic: str | None) -> tuple[str, str | None]:
    """The name and topic as they are kept. Raises `BadInput`."""
    name, topic = name.strip(), (topic or "").strip() or None
    errors = faults_of_sensor(name, topic)
    same = sensor_named(session, name)
    if same is not None and same.id != sensor_id:
        errors["name"] = f"There is a sensor called {name} already."
    if topic is not None and "topic" not in errors:
        other = sensor_at_topic(session, topic)
        if other is not None and other.id != sensor_id:
            errors["topic"] = f"The sensor “{other.name}” publishes there already."
    if errors:
        raise BadInput(errors)
    return name, topic
