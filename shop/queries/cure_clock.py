"""The zones' cure clocks, kept between requests, and whoever asks them.

Adding up 26,000 readings costs far more than asking the sums, so each zone's clock is kept and told only
of readings that came since. What is kept reaches back as far as the open builds and the last month need;
what is older is answered from clocks of their own, read when they are asked for, so that a million readings
on file cost the bench nothing. The sums themselves are in `shop.craft.cure`.
"""

from collections import OrderedDict
from collections.abc import Hashable, Iterator, Sequence
from datetime import UTC, datetime, timedelta
from math import inf
from threading import Lock
from typing import NamedTuple

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from shop.craft.carried import Stay, carried_times
from shop.craft.cure import CureTimes, Sheet, ZoneClock, last_instant
from shop.craft.warmth import TemperatureLine
from shop.db.builds import Build
from shop.db.cures import Cure
from shop.db.mixes import Mix
from shop.db.shop import Change, Shop
from shop.db.zones import Reading, Zone
from shop.queries.kept_clocks import KeptClock
from shop.queries.shop import OPEN_DOUBT
from shop.rules.facts import CureFact

MOST_ANSWERS = 20_000
RECENT = timedelta(days=30)
# How long a stretch of older readings is, in days: the shortest that holds an answer is read. A stretch
# begins at a multiple of its length, so that cures of the same days share it, and lasts for two.
STRETCH_DAYS = (2, 16, 128)
DAY = 86_400.0
# Pieces of line that the clocks of older readings hold together, about 33 bytes each.
MOST_OLDER_PIECES = 200_000

_FIGURES = select(
    Shop.reading_gap_minutes, Shop.credit_cap, OPEN_DOUBT.scalar_subquery(),
    select(Change.last_at).scalar_subquery(),
)  # fmt: skip
_LAST_READ = select(func.max(Reading.at)).where(Reading.zone_id == Zone.id).correlate(Zone).scalar_subquery()
_ZONES = select(Zone.id, Zone.name, Zone.assumed_c, Zone.readings_version, _LAST_READ).order_by(Zone.id)
# By way of the few open builds; whatever is mixed is mixed before it is closed anywhere.
_OLDEST_OPEN = (
    select(func.min(Mix.mixed_at))
    .join_from(Build, Cure, (Cure.build_id == Build.id) & (Cure.pass_number == Build.pass_number))
    .join(Mix, Mix.root_id == Cure.mix_id)
    .where(Build.closed_at.is_(None), Cure.superseded_by_id.is_(None), Mix.superseded_by_id.is_(None))
)


class ZoneNow(NamedTuple):
    """A zone and its clock as they stand; `version` moves with every reading.

    `last_id` is the last reading of the zone that was read by then, 0 where none was.
    """

    id: int
    name: str
    clock: ZoneClock
    version: int
    last_id: int = 0


class Warmth(NamedTuple):
    """Every zone with its clock, how much credit warmth may give, and the doubt about the clock if any.

    The zones' clocks answer rightly for instants from `since` on (seconds since 1970); whoever may ask
    about an earlier one asks `Clocks`.
    """

    zones: dict[int, ZoneNow]
    credit_cap: float
    clock_doubt: str
    # Answers given at this very warmth, for `shop.queries.cures` to keep; empty again when it changes.
    answers: dict[Hashable, CureFact]
    since: float
    cure_clock: "CureClock"


class CureClock:
    """Every zone's clock, brought up to date by `warmth`. Safe to share between threads."""

    def __init__(self, most_older_pieces: int = MOST_OLDER_PIECES) -> None:
        self._most_older_pieces = most_older_pieces
        self._kept: dict[int, KeptClock] = {}
        self._older: OrderedDict[Hashable, KeptClock] = OrderedDict()
        self._since = inf
        self._was_asked_further = False
        self._last_at: datetime | None = None
        self._state: Hashable = None
        self._answers: dict[Hashable, CureFact] = {}
        self._lock = Lock()

    def warmth(self, session: Session) -> Warmth:
        """The zones by id, their clocks holding every reading on file that bears on what is recent."""
        gap_minutes, credit_cap, doubt, last_at = session.execute(_FIGURES).one()
        rows = [(row[0], row[1], row[2], row[3], row[4]) for row in session.execute(_ZONES)]
        with self._lock:
            self._settle_how_far_back(session, last_at)
            zones = {}
            for zone_id, name, assumed_c, version, last_read in rows:
                kept = self._clock(zone_id, assumed_c, gap_minutes * 60, last_read)
                kept.bring_up_to_date(session, version)
                zones[zone_id] = ZoneNow(zone_id, name, kept.clock, version, kept.last_id)
            state = (gap_minutes, credit_cap, *(row[:4] for row in rows))
            if state != self._state or len(self._answers) > MOST_ANSWERS:
                self._state, self._answers = state, {}
            return Warmth(zones, credit_cap, doubt or "", self._answers, self._since, self)

    def _settle_how_far_back(self, session: Session, last_at: datetime) -> None:
        """Begin anew at first and once a month: what is kept must not grow for as long as a process lives.

        And where somebody asked further back: a cure of an open build may have been logged long after.
        """
        is_anew = self._last_at is None or last_at > self._last_at + RECENT
        if not is_anew and not self._was_asked_further:
            return
        self._was_asked_further = False
        oldest = session.execute(_OLDEST_OPEN).scalar()
        needed = inf if oldest is None else oldest.timestamp()
        if is_anew or needed < self._since:
            self._since = min(needed, (last_at - RECENT).timestamp() if is_anew else self._since)
            self._last_at = last_at if is_anew else self._last_at
            self._kept = {}

    def _clock(
        self, zone_id: int, assumed_c: float, gap_seconds: float, last_read: datetime | None
    ) -> KeptClock:
        kept = self._kept.get(zone_id)
        if kept is None or _figures_of(kept.clock) != (assumed_c, gap_seconds):
            line = TemperatureLine(assumed_c, gap_seconds)
            # The last reading is held however old it is: since when a zone is silent must be known.
            silent = inf if last_read is None else last_read.timestamp()
            kept = self._kept[zone_id] = KeptClock(zone_id, line, self._since, since=silent)
        return kept

    def older(self, session: Session, warmth: Warmth, zone_id: int, start: float, end: float) -> ZoneClock:
        """A clock of one zone that answers for a stretch of its past, read where it is not kept."""
        zone = warmth.zones[zone_id]
        assumed_c, gap_seconds = _figures_of(zone.clock)
        key = (zone_id, assumed_c, gap_seconds, start, end)
        with self._lock:
            self._was_asked_further = True
            kept = self._older.pop(key, None)
            if kept is None:
                kept = KeptClock(zone_id, TemperatureLine(assumed_c, gap_seconds), start, end)
            kept.bring_up_to_date(session, zone.version, zone.last_id)
            self._older[key] = kept
            while self.older_pieces > self._most_older_pieces and len(self._older) > 1:
                self._older.popitem(last=False)
            return kept.clock

    @property
    def older_pieces(self) -> int:
        """How many pieces of line the clocks of older readings hold together."""
        return sum(len(kept.clock.line.starts) for kept in self._older.values())


class Clocks(NamedTuple):
    """The zones' clocks for whoever asks about any instant, however long ago."""

    session: Session
    warmth: Warmth

    def times(self, stays: Sequence[tuple[float, int]], sheet: Sheet, closed_at: float) -> CureTimes:
        """When a cure reaches the sheet's times (see `carried_times`).

        `stays` are the zones, by id, in which it lies one after the other, each with the instant it came
        there; the first begins with the cure.
        """
        warmth = self.warmth
        if closed_at >= warmth.since:
            here = [Stay(since, warmth.zones[zone_id].clock) for since, zone_id in stays]
            return carried_times(here, sheet, closed_at, warmth.credit_cap)
        longest = max(sheet.full_cure_minutes, sheet.recoat_until_minutes or 0.0) * 60
        for start, end in _stretches(closed_at, longest):
            then = [Stay(since, self._older(zone_id, start, end)) for since, zone_id in stays]
            times = carried_times(then, sheet, closed_at, warmth.credit_cap)
            if last_instant(sheet, times) < end:
                break
        return times

    def pot_life_ends(self, zone_id: int, sheet: Sheet, mixed_at: float) -> float:
        """When a mix may no longer be used (see `shop.craft.cure.pot_life_ends`)."""
        return self._at(zone_id, mixed_at, sheet.pot_life_minutes * 60).pot_life_ends(sheet, mixed_at)

    def temperature_at(self, zone_id: int, at: float) -> float:
        """A zone's temperature at an instant, in °C, by the coldest thermometer that speaks."""
        return self._at(zone_id, at, 0.0).temperature_at(at)

    def _at(self, zone_id: int, at: float, seconds: float) -> ZoneClock:
        """A clock that answers for an instant and so many seconds after it."""
        if at >= self.warmth.since:
            return self.warmth.zones[zone_id].clock
        return self._older(zone_id, *next(_stretches(at, seconds)))

    def _older(self, zone_id: int, start: float, end: float) -> ZoneClock:
        return self.warmth.cure_clock.older(self.session, self.warmth, zone_id, start, end)


def _stretches(at: float, seconds: float) -> Iterator[tuple[float, float]]:
    """Longer and longer stretches of time that hold an instant and at least so many seconds after it."""
    start = at
    for days in STRETCH_DAYS:
        length = days * DAY
        start = at // length * length
        if length >= seconds:
            yield start, start + 2 * length
    yield start, inf


def _figures_of(clock: ZoneClock) -> tuple[float, float]:
    return clock.line.assumed_c, clock.line.gap_seconds


def instant_of(seconds: float | None) -> datetime | None:
    """Seconds since 1970 as an instant; none stays none."""
    return None if seconds is None else datetime.fromtimestamp(seconds, UTC)
