"""Zones of the shop and their latest readings. The line through them is kept by `cure_clock`."""

from datetime import datetime
from typing import NamedTuple

from sqlalchemy import bindparam, func, select
from sqlalchemy.orm import Session

from shop.db.zones import Reading, Zone
from shop.rules.refusals import NotOnFile


class ZoneView(NamedTuple):
    """A zone, and when it was last read."""

    id: int
    name: str
    assumed_c: float
    last_read_at: datetime | None


class ReadingView(NamedTuple):
    """One temperature at one instant."""

    at: datetime
    celsius: float


_LAST = select(func.max(Reading.at)).where(Reading.zone_id == Zone.id).correlate(Zone).scalar_subquery()
_VIEW = select(Zone.id, Zone.name, Zone.assumed_c, _LAST)
_ONE = _VIEW.where(Zone.id == bindparam("id"))
_PAGE = _VIEW.where(Zone.id > bindparam("after")).order_by(Zone.id).limit(bindparam("most"))
_LATEST = (
    select(Reading.at, Reading.celsius)
    .where(Reading.zone_id == bindparam("zone_id"))
    .order_by(Reading.at.desc(), Reading.id.desc())
    .limit(bindparam("most"))
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


def zone_record(session: Session, zone_id: int) -> Zone:
    """The record of one zone, for a verb. Raises `NotOnFile`."""
    zone = session.get(Zone, zone_id)
    if zone is None:
        raise NotOnFile(f"There is no zone {zone_id} on file.")
    return zone


def zone_named(session: Session, name: str) -> Zone | None:
    """The record of the zone of that name, or none."""
    return session.scalars(select(Zone).where(Zone.name == name)).first()
