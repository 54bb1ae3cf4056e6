"""The plot of a zone's last days: what each thermometer read, what was assumed, and how cold it may be.

Everything is in per cent of the plot, so that it is drawn once for every width. The figures by day stand
beside it as a table.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from math import ceil, floor
from typing import NamedTuple
from zoneinfo import ZoneInfo

from shop.craft.cure import ZoneClock
from shop.craft.past_warmth import Figures, Point, drawn, figures, unread_spans
from shop.queries.zones import Coldest
from shop.web.ticks import DAY_MINUTES, local_steps
from shop.web.wording import DAYS, day, minutes

MOST_DAYS = 14
USUAL_DAYS = 3
# However many readings there are, no thermometer's line has many more points than this.
MOST_POINTS = 400
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
PATTERNS = 4
# Per cent of the plot's height.
LETTER_HEIGHT = 7.0
# The least difference from top to bottom, so that a tenth of a degree does not look like a heat wave.
LEAST_RANGE_C = 8.0
MARGIN_C = 1.0
# So many labels of days stand side by side on a phone.
MOST_NARROW = 4
# Per cent of the width up to which a label still has room to its right.
LAST_LABEL = 88
STEPS_C = (1, 2, 5, 10, 20)
MOST_LEVELS = 6


class Tick(NamedTuple):
    """A line up the plot, with its words; `is_wide` where there is room for them on a wide page alone."""

    at: float
    label: str
    is_wide: bool


class Level(NamedTuple):
    """A line across the plot at `y` per cent from the top, with its words."""

    y: float
    label: str


class Series(NamedTuple):
    """What one thermometer read: a path in a box of 100 by 100, its letter and where that stands."""

    letter: str
    name: str
    pattern: str
    d: str
    y: float


class Plot(NamedTuple):
    """A zone's last days, drawn and in words."""

    days: int
    description: str
    series: tuple[Series, ...]
    assumed: str
    assumed_label: str
    ticks: tuple[Tick, ...]
    levels: tuple[Level, ...]
    marks: tuple[Level, ...]
    rows: tuple[tuple[str, ...], ...]


class _Scale(NamedTuple):
    start: float
    end: float
    low: float
    high: float

    def x(self, at: float) -> float:
        return round(100 * (at - self.start) / (self.end - self.start), 2)

    def y(self, celsius: float) -> float:
        return round(100 * (self.high - celsius) / (self.high - self.low), 1)


def days_asked(text: str) -> int:
    """How many days an address asks for; three where it asks for none or for what cannot be drawn."""
    asked = int(text) if text.isascii() and text.isdecimal() and len(text) < 4 else USUAL_DAYS
    return min(max(asked, 1), MOST_DAYS)


def draw_plot(
    clock: ZoneClock, names: Mapping[int | None, str], coldest: Sequence[Coldest], days: int,
    now: datetime, zone: ZoneInfo,
) -> Plot:  # fmt: skip
    """Draw the last days up to now; `names` are those of the thermometers, by sensor, none for by hand."""
    start = now - timedelta(days=days)
    first, last = start.timestamp(), now.timestamp()
    runs = {
        sensor: drawn(line, first, last, MOST_POINTS)
        for sensor, line in clock.by_sensor.items()
        if line.starts
    }
    runs = {sensor: parts for sensor, parts in runs.items() if parts}
    unread = unread_spans(clock.line, first, last)
    scale = _scale(first, last, runs.values(), clock.line.assumed_c if unread else None, coldest)
    called = {sensor: names.get(sensor, "another sensor") for sensor in runs}  # type: ignore[call-overload]
    ordered = sorted(runs, key=lambda sensor: called[sensor])
    heights = _apart([scale.y(runs[sensor][-1][-1][1]) for sensor in ordered])
    series = tuple(
        Series(
            LETTERS[number % len(LETTERS)], called[sensor], f"series-{number % PATTERNS + 1}",
            _path(runs[sensor], scale), heights[number],
        )
        for number, sensor in enumerate(ordered)
    )  # fmt: skip
    rows = tuple(_rows(clock, start, now, zone))
    return Plot(
        days, _description(days, [one.name for one in series]), series,
        _path([[(begin, clock.line.assumed_c), (end, clock.line.assumed_c)] for begin, end in unread], scale),
        f"assumed, {clock.line.assumed_c:g} °C", tuple(_ticks(start, now, zone)), tuple(_levels(scale)),
        tuple(_marks(coldest, scale)), rows,
    )  # fmt: skip


def _scale(
    first: float, last: float, runs: Iterable[list[list[Point]]], assumed_c: float | None,
    coldest: Sequence[Coldest],
) -> _Scale:  # fmt: skip
    shown = [celsius for parts in runs for part in parts for _, celsius in part]
    shown += [one.celsius for one in coldest] + ([] if assumed_c is None else [assumed_c])
    low = min(shown) - MARGIN_C
    return _Scale(first, last, low, max(*shown, low + LEAST_RANGE_C) + MARGIN_C)


def _apart(heights: Sequence[float]) -> list[float]:
    """Where the letters stand so that none hides another: each at its line's height, or lower."""
    placed = list(heights)
    lowest = -LETTER_HEIGHT
    for number in sorted(range(len(placed)), key=lambda number: heights[number]):
        lowest = placed[number] = max(heights[number], lowest + LETTER_HEIGHT)
    return placed


def _path(parts: Iterable[Iterable[Point]], scale: _Scale) -> str:
    return "".join(
        "M" + "L".join(f"{scale.x(at):g} {scale.y(celsius):g}" for at, celsius in part) for part in parts
    )


def _ticks(start: datetime, now: datetime, zone: ZoneInfo) -> Iterable[Tick]:
    """The midnights, or on a single day every six hours."""
    step = DAY_MINUTES if now - start > timedelta(days=1) else DAY_MINUTES // 4
    instants = list(local_steps(start, now, zone, step))
    sparse = -(-len(instants) // MOST_NARROW)
    for number, instant in enumerate(instants):
        local = instant.astimezone(zone)
        label = f"{DAYS[local.weekday()]} {local.day}" if not local.hour else f"{local:%H:%M}"
        at = 100 * (instant - start) / (now - start)
        yield Tick(round(at, 2), label if at < LAST_LABEL else "", number % sparse > 0)


def _levels(scale: _Scale) -> Iterable[Level]:
    """Full degrees across the plot, few of them."""
    step = next((step for step in STEPS_C if (scale.high - scale.low) / step <= MOST_LEVELS), STEPS_C[-1])
    for number in range(ceil(scale.low / step), floor(scale.high / step) + 1):
        yield Level(scale.y(number * step), f"{number * step} °C")


def _marks(coldest: Sequence[Coldest], scale: _Scale) -> Iterable[Level]:
    """The coldest at which adhesives harden, those of one figure together."""
    together: dict[float, list[str]] = {}
    for one in coldest:
        together.setdefault(one.celsius, []).append(one.adhesive)
    for celsius, names in sorted(together.items()):
        said = names[0] if len(names) == 1 else f"{names[0]} and {len(names) - 1} more"
        yield Level(scale.y(celsius), f"{celsius:g} °C {said}")


def _rows(clock: ZoneClock, start: datetime, now: datetime, zone: ZoneInfo) -> Iterable[tuple[str, ...]]:
    """The figures of each day of the shop, the latest first."""
    edges = [start, *local_steps(start + timedelta(microseconds=1), now, zone, DAY_MINUTES), now]
    for begin, end in reversed(list(pairwise(edges))):
        if begin < end:
            found = figures(clock.line, clock.warm_line, begin.timestamp(), end.timestamp())
            yield _day_of(begin, now, zone), *_words(found)


def _day_of(begin: datetime, now: datetime, zone: ZoneInfo) -> str:
    return day(begin.astimezone(zone).date(), now.astimezone(zone).date())


def _words(found: Figures) -> tuple[str, str, str, str]:
    unread = minutes(found.unread_seconds / 60) if found.unread_seconds >= 1 else "none"
    if found.coldest is None or found.mean is None or found.warmest is None:
        return "–", "–", "–", unread
    return f"{found.coldest:.1f}", f"{found.mean:.1f}", f"{found.warmest:.1f}", unread


def _description(days: int, names: Sequence[str]) -> str:
    span = "day" if days == 1 else f"{days} days"
    who = f"Read by {', '.join(names)}." if names else "Nothing was read."
    return f"The temperature of the last {span}. {who} The table beside it has the figures of each day."
