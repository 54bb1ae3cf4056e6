"""One zone's cure clock over a stretch of time, made from the readings on file and told of later ones.

Which stretches are kept, and for how long, is `shop.queries.cure_clock`'s.
"""

from collections.abc import Hashable, Iterable
from datetime import UTC, datetime
from math import inf
from typing import Any

from sqlalchemy import Select, bindparam, select
from sqlalchemy.orm import Session

from shop.craft.cure import ZoneClock
from shop.craft.warmth import Reading as Read
from shop.craft.warmth import TemperatureLine
from shop.db.zones import Reading

END_OF_TIME = datetime(9999, 1, 1, tzinfo=UTC)
# Its id, when, how warm in °C, and by which sensor; null is by hand.
Entry = tuple[int, datetime, float, int | None]
_STRETCH = (
    select(Reading.id, Reading.at, Reading.celsius, Reading.sensor_id)
    .where(Reading.zone_id == bindparam("zone_id"), Reading.at.between(bindparam("first"), bindparam("last")))
    .order_by(Reading.id)
)
# The sum keeps the planner from the index of zones, by which it would walk every reading of the zone.
_LATER = (
    select(Reading.id, Reading.at, Reading.celsius, Reading.sensor_id)
    .where(Reading.id > bindparam("after"), Reading.zone_id + 0 == bindparam("zone_id"))
    .order_by(Reading.id)
)


class KeptClock:
    """A zone's clock that answers rightly for every instant from `start` to `end`, seconds since 1970.

    It holds the readings that can bear on that stretch, those of the gap before and after it included.
    """

    def __init__(
        self, zone_id: int, line: TemperatureLine, start: float, end: float = inf, since: float = inf
    ) -> None:
        """`line` is an empty one; readings from `since` on are held too, where that lies before `start`."""
        self.zone_id = zone_id
        self.start = start
        self.end = end
        self.clock = ZoneClock(line)
        self._first = min(start - line.gap_seconds, since)
        self._last = end + line.gap_seconds
        self._version = 0
        # The zone's own: readings of one zone are committed in the order of their ids, those of different
        # zones are not, so a higher id of another zone says nothing.
        self.last_id = 0

    def bring_up_to_date(self, session: Session, version: int, last_id: int = 0) -> None:
        """Read what is on file where the zone's version has moved.

        `last_id` is a reading of the zone that is known to be on file at that version, 0 where none is.
        Readings that were read twice do no harm: of two at an instant the later entry counts.
        """
        if version == self._version:
            return
        if version < self._version:
            # Whoever read before us had written what was then thrown away, or sees a later moment.
            self.clock = ZoneClock(TemperatureLine(self.clock.line.assumed_c, self.clock.line.gap_seconds))
            self.last_id = 0
        rows = self._later(session) if self.last_id else self._stretch(session)
        bearing = [row for row in rows if self._first <= row[1].timestamp() <= self._last]
        if bearing:
            self.clock.take_in(_by_sensor(bearing))
        self._version = version
        self.last_id = max(self.last_id, last_id, *(row[0] for row in rows[-1:]))

    def _stretch(self, session: Session) -> list[Entry]:
        last = END_OF_TIME if self._last == inf else datetime.fromtimestamp(self._last, UTC)
        # A mix may be said to be older than any thermometer; nothing was read before 1970.
        first = datetime.fromtimestamp(max(self._first, 0.0), UTC)
        wanted = {"zone_id": self.zone_id, "first": first, "last": last}
        return _entries(session, _STRETCH, wanted)

    def _later(self, session: Session) -> list[Entry]:
        """What was entered since, however old it is."""
        return _entries(session, _LATER, {"zone_id": self.zone_id, "after": self.last_id})


def _entries(session: Session, statement: Select[*tuple[Any, ...]], wanted: dict[str, Any]) -> list[Entry]:
    return [(row[0], row[1], row[2], row[3]) for row in session.connection().execute(statement, wanted)]


def _by_sensor(rows: Iterable[Entry]) -> dict[Hashable, list[Read]]:
    found: dict[Hashable, list[Read]] = {}
    for _, at, celsius, sensor_id in rows:
        found.setdefault(sensor_id, []).append((at.timestamp(), celsius))
    return found
