"""The zones' cure clocks, kept between requests.

Adding up 26,000 readings costs far more than asking the sums, so each zone's clock is kept and told only
of readings that came since. The sums themselves are in `shop.craft.cure`.
"""

from collections.abc import Hashable
from datetime import UTC, datetime
from threading import Lock
from typing import NamedTuple

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from shop.craft.cure import ZoneClock
from shop.craft.warmth import TemperatureLine
from shop.db.shop import Shop
from shop.db.zones import Reading, Zone
from shop.queries.shop import OPEN_DOUBT
from shop.rules.facts import CureFact

MOST_ANSWERS = 20_000

_FIGURES = select(Shop.reading_gap_minutes, Shop.credit_cap, OPEN_DOUBT.scalar_subquery())
_ZONES = select(Zone.id, Zone.name, Zone.assumed_c, Zone.readings_version).order_by(Zone.id)
_READINGS = (
    select(Reading.id, Reading.at, Reading.celsius)
    .where(Reading.zone_id == bindparam("zone_id"), Reading.id > bindparam("after"))
    .order_by(Reading.id)
)


class ZoneNow(NamedTuple):
    """A zone and its clock as they stand."""

    id: int
    name: str
    clock: ZoneClock


class Warmth(NamedTuple):
    """Every zone with its clock, how much credit warmth may give, and the doubt about the clock if any."""

    zones: dict[int, ZoneNow]
    credit_cap: float
    clock_doubt: str
    # Answers given at this very warmth, for `shop.queries.cures` to keep; empty again when it changes.
    answers: dict[Hashable, CureFact]


class _Kept:
    """One zone's clock with what it was made from."""

    def __init__(self, clock: ZoneClock, assumed_c: float, gap_seconds: float) -> None:
        self.clock = clock
        self.assumed_c = assumed_c
        self.gap_seconds = gap_seconds
        self.version = 0
        self.last_id = 0


class CureClock:
    """Every zone's clock, brought up to date by `warmth`. Safe to share between threads."""

    def __init__(self) -> None:
        self._kept: dict[int, _Kept] = {}
        self._state: Hashable = None
        self._answers: dict[Hashable, CureFact] = {}
        self._lock = Lock()

    def warmth(self, session: Session) -> Warmth:
        """The zones by id, their clocks holding every reading on file."""
        gap_minutes, credit_cap, doubt = session.execute(_FIGURES).one()
        rows = [(row[0], row[1], row[2], row[3]) for row in session.execute(_ZONES)]
        with self._lock:
            zones = {
                zone_id: ZoneNow(zone_id, name, self._clock(session, zone_id, assumed, version, gap_minutes))
                for zone_id, name, assumed, version in rows
            }
            state = (gap_minutes, credit_cap, *rows)
            if state != self._state or len(self._answers) > MOST_ANSWERS:
                self._state, self._answers = state, {}
            return Warmth(zones, credit_cap, doubt or "", self._answers)

    def _clock(
        self, session: Session, zone_id: int, assumed_c: float, version: int, gap_minutes: float
    ) -> ZoneClock:
        gap_seconds = gap_minutes * 60
        kept = self._kept.get(zone_id)
        if kept is None or (kept.assumed_c, kept.gap_seconds) != (assumed_c, gap_seconds):
            line = TemperatureLine(assumed_c=assumed_c, gap_seconds=gap_seconds)
            kept = self._kept[zone_id] = _Kept(ZoneClock(line), assumed_c, gap_seconds)
        if kept.version != version:
            rows = session.execute(_READINGS, {"zone_id": zone_id, "after": kept.last_id}).all()
            kept.clock.add_readings((at.timestamp(), celsius) for _, at, celsius in rows)
            kept.last_id = max((row[0] for row in rows), default=kept.last_id)
            kept.version = version
        return kept.clock


def instant_of(seconds: float | None) -> datetime | None:
    """Seconds since 1970 as an instant; none stays none."""
    return None if seconds is None else datetime.fromtimestamp(seconds, UTC)
