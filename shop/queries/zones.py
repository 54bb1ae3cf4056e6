"""Zones of the shop and their latest readings. The line through them is kept by `cure_clock`."""

from collections.abc import Collection
from datetime import datetime
from itertools import islice
from typing import NamedTuple

from sqlalchemy import bindparam, func, select
from sqlalchemy.orm import Session

from shop.craft.cure import DEFAULT_COLDEST_C
from shop.db.mixes import Mix
from shop.db.zones import Reading, Sensor, Zone
from shop.rules.refusals import NotOnFile

# Instants that are asked for in one statement; SQLite takes some thousands of values.
ASKED_AT_ONCE = 1000


class ZoneView(NamedTuple):
    """A zone, and when it was last read."""

    id: int
    name: str
    assumed_c: float
    last_read_at: datetime | None


class ReadingView(NamedTuple):
    """One temperature at one instant, by a sensor or, where there is none, by hand or unnamed."""

    at: datetime
    celsius: float
    sensor: str | None = None


class Coldest(NamedTuple):
    """An adhesive and the coldest temperature at which it hardens, in °C."""

    adhesive: str
    celsius: float


_LAST = select(func.max(Reading.at)).where(Reading.zone_id == Zone.id).correlate(Zone).scalar_subquery()
_VIEW = select(Zone.id, Zone.name, Zone.assumed_c, _LAST)
_ONE = _VIEW.where(Zone.id == bindparam("id"))
_PAGE = _VIEW.where(Zone.id > bindparam("after")).order_by(Zone.id).limit(bindparam("most"))
_LATEST = (
    select(Reading.at, Reading.celsius, Sensor.name)
    .outerjoin(Sensor, Sensor.id == Reading.sensor_id)
    .where(Reading.zone_id == bindparam("zone_id"))
    .order_by(Reading.at.desc(), Reading.id.desc())
    .limit(bindparam("most"))
)
_KNOWN = select(Reading.at, Reading.celsius).where(Reading.at.in_(bindparam("instants", expanding=True)))
_BY_SENSOR = _KNOWN.where(Reading.sensor_id == bindparam("sensor_id")).order_by(Reading.id)
_BY_NOBODY = _KNOWN.where(
    Reading.zone_id == bindparam("zone_id"), Reading.sensor_id.is_(None)
).order_by(Reading.id)  # fmt: skip
_COLDEST = (
    select(Mix.adhesive_name, Mix.coldest_c, func.min(Mix.reference_c))
    .where(Mix.mixed_at >= bindparam("since"), Mix.superseded_by_id.is_(None))
    .group_by(Mix.adhesive_name, Mix.coldest_c)
    .order_by(Mix.adhesive_name)
)


def zone_view(session: Session, zone_id: int) -> ZoneView:
    """One zone. Raises `NotOnFile`."""
    row = session.execute(_ONE, {"id": zone_id}).first()
    if row is None:
        raise NotOnFile(f"There is no zone {zone_id} on file.")
    return ZoneView(*row)


def zones_after(session: Session, after: int, most: int) -> list[ZoneView]:
    """At most `most` zones whose id is above `after`, by id."""
    return [ZoneView(*row) for row in session.execute(_PAGE, {"after": after, "most": most})]


def latest_readings(session: Session, zone_id: int, most: int) -> list[ReadingView]:
    """A zone's latest readings, newest first."""
    rows = session.execute(_LATEST, {"zone_id": zone_id, "most": most})
    return [ReadingView(*row) for row in rows]


def readings_at(
    session: Session, zone_id: int, sensor_id: int | None, instants: Collection[datetime]
) -> dict[datetime, float]:
    """What one sensor, or else nobody by name, is known to have read in a zone at these instants, in °C."""
    asked = _BY_NOBODY if sensor_id is None else _BY_SENSOR
    who = {"zone_id": zone_id} if sensor_id is None else {"sensor_id": sensor_id}
    found: dict[datetime, float] = {}
    left = iter(instants)
    while some := list(islice(left, ASKED_AT_ONCE)):
        for at, celsius in session.execute(asked, {**who, "instants": some}):
            found[at] = celsius
    return found


def coldest_in_use(session: Session, since: datetime) -> list[Coldest]:
    """Of each adhesive mixed since then the coldest temperature at which it hardens."""
    rows = session.execute(_COLDEST, {"since": since})
    return [
        Coldest(name, min(DEFAULT_COLDEST_C, reference_c) if coldest_c is None else coldest_c)
        for name, coldest_c, reference_c in rows
    ]


def zone_record(session: Session, zone_id: int) -> Zone:
    """The record of one zone, for a verb. Raises `NotOnFile`."""
    zone = session.get(Zone, zone_id)
    if zone is None:
        raise NotOnFile(f"There is no zone {zone_id} on file.")
    return zone


def zone_named(session: Session, name: str) -> Zone | None:
    """The record of the zone of that name, or none."""
    return session.scalars(select(Zone).where(Zone.name == name)).first()
