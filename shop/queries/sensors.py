"""Sensors and what they said last: frozen views, one record for a verb."""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import NamedTuple

from sqlalchemy import bindparam, func, select
from sqlalchemy.orm import Session

from shop.db.types import UtcDateTime
from shop.db.zones import Reading, Sensor, Zone
from shop.rules.refusals import NotOnFile
from shop.rules.sensors import Arrival

# Of a sensor's latest readings so many are looked through for those that came alone.
LOOKED_THROUGH = 20
SENT_ALONE = ("api", "mqtt")
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


class SensorView(NamedTuple):
    """A sensor, the zone it hangs in, and the last that it said; `ended_at` is null while it is in use."""

    id: int
    name: str
    zone_id: int
    zone: str
    topic: str | None
    created_at: datetime
    ended_at: datetime | None
    last_read_at: datetime | None
    last_celsius: float | None
    version: int


class Topic(NamedTuple):
    """Where a sensor publishes."""

    topic: str
    sensor_id: int


def _last(column: object) -> object:
    return (
        select(column)  # type: ignore[call-overload]
        .where(Reading.sensor_id == Sensor.id)
        .order_by(Reading.at.desc(), Reading.id.desc())
        .limit(1)
        .correlate(Sensor)
        .scalar_subquery()
    )


_VIEW = select(
    Sensor.id, Sensor.name, Sensor.zone_id, Zone.name, Sensor.topic, Sensor.created_at, Sensor.ended_at,
    _last(Reading.at), _last(Reading.celsius), Sensor.version,
).join(Zone, Zone.id == Sensor.zone_id)  # type: ignore[call-overload]  # fmt: skip
_ONE = _VIEW.where(Sensor.id == bindparam("id"))
_PAGE = _VIEW.where(Sensor.id > bindparam("after")).order_by(Sensor.id).limit(bindparam("most"))
_IN_ZONE = _VIEW.where(Sensor.zone_id == bindparam("zone_id")).order_by(
    Sensor.ended_at.is_not(None), Sensor.name
)
_TOPICS = select(Sensor.topic, Sensor.id).where(Sensor.topic.is_not(None), Sensor.ended_at.is_(None))
_NAMES = select(Sensor.name)
# From which instant on a sensor's latest readings lie; only those are walked.
_SINCE = (
    select(Reading.at)
    .where(Reading.sensor_id == Sensor.id)
    .order_by(Reading.at.desc())
    .limit(1)
    .offset(LOOKED_THROUGH - 1)
    .correlate(Sensor)
    .scalar_subquery()
)
_LATEST = (
    select(Sensor.id, Reading.at, Reading.entered_at)
    .select_from(Sensor)
    .join(Reading, Reading.sensor_id == Sensor.id)
    .where(
        Sensor.zone_id == bindparam("zone_id"),
        Sensor.ended_at.is_(None),
        Reading.at >= func.coalesce(_SINCE, bindparam("epoch", _EPOCH, UtcDateTime)),
        Reading.source.in_(SENT_ALONE),
    )
    .order_by(Reading.entered_at, Reading.at)
)


def sensor_view(session: Session, sensor_id: int) -> SensorView:
    """One sensor. Raises `NotOnFile`."""
    row = session.execute(_ONE, {"id": sensor_id}).first()
    if row is None:
        raise NotOnFile(f"There is no sensor {sensor_id} on file.")
    return SensorView(*row)


def sensors_after(session: Session, after: int, most: int) -> list[SensorView]:
    """At most `most` sensors whose id is above `after`, by id, ended ones too."""
    return [SensorView(*row) for row in session.execute(_PAGE, {"after": after, "most": most})]


def sensors_in(session: Session, zone_id: int) -> list[SensorView]:
    """Every sensor that hangs or hung in a zone, those in use first, by name."""
    return [SensorView(*row) for row in session.execute(_IN_ZONE, {"zone_id": zone_id})]


def sensor_topics(session: Session) -> list[Topic]:
    """The topics of every sensor in use that publishes."""
    return [Topic(topic, sensor_id) for topic, sensor_id in session.execute(_TOPICS) if topic is not None]


def lone_arrivals(session: Session, zone_id: int) -> Mapping[int, list[Arrival]]:
    """Of each sensor in use in a zone, which of its latest readings came alone, in the order they came."""
    found: dict[int, dict[datetime, list[Arrival]]] = {}
    for sensor_id, at, entered_at in session.execute(_LATEST, {"zone_id": zone_id}):
        found.setdefault(sensor_id, {}).setdefault(entered_at, []).append(Arrival(at, entered_at))
    return {
        sensor_id: [came[0] for came in together.values() if len(came) == 1]
        for sensor_id, together in found.items()
    }


def sensor_record(session: Session, sensor_id: int) -> Sensor:
    """The record of one sensor, for a verb. Raises `NotOnFile`."""
    sensor = session.get(Sensor, sensor_id)
    if sensor is None:
        raise NotOnFile(f"There is no sensor {sensor_id} on file.")
    return sensor


def sensor_named(session: Session, name: str) -> Sensor | None:
    """The record of the sensor of that name, or none."""
    return session.scalars(select(Sensor).where(Sensor.name == name)).first()


def sensor_at_topic(session: Session, topic: str) -> Sensor | None:
    """The record of the sensor that publishes there, or none."""
    return session.scalars(select(Sensor).where(Sensor.topic == topic)).first()


def sensor_names(session: Session) -> list[str]:
    """The names of all sensors, those of ended ones included."""
    return list(session.scalars(_NAMES))
