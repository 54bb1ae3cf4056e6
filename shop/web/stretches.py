"""The scale of Setting: what has been, the next hour, the rest of today, tomorrow and later on one ruler.

Each stretch has a scale of its own, so that the next hour can be read to the minute beside a fortnight. A
stretch ends where the shop's own day ends, however long that day is. What is drawn on the scale is the
business of `shop.web.setting_rows` and `shop.web.zone_lines`.
"""

from bisect import bisect_right
from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from shop.web.ruler import hundredths
from shop.web.ticks import DAY_MINUTES, falls_on, local_steps
from shop.web.wording import DAYS

BEFORE, HOUR, DAY = timedelta(hours=12), timedelta(hours=1), timedelta(days=1)
MOST_AHEAD = timedelta(days=14)
LATER = "later"
# Per cent of the ruler's length.
_BEFORE_WIDTH, _HOUR_WIDTH, _TODAY_WIDTH, _TOMORROW_WIDTH = 12.0, 21.0, 20.0, 23.0
# With less of the day left than this, the rest of today gives way to tomorrow.
_FULL_TODAY = timedelta(hours=4)
# Pixels that the ruler has on a wide screen and on a narrow one, and that a label takes there.
_WIDE, _NARROW = 700, 330
_LABEL_WIDTHS = {_WIDE: {"hour": 44, "day": 52}, _NARROW: {"hour": 22, "day": 52}}
_LETTER_WIDTH, _HEAD_MARGIN = 6.8, 7.0
_EPOCH, _MICROSECOND = datetime(1970, 1, 1, tzinfo=UTC), timedelta(microseconds=1)
_STEP_MINUTES = (15, 30, 60, 180, 360, 720, 1440, 2880, 5760, 11520)


class Stretch(NamedTuple):
    """A part of the ruler from `x`, `width` wide (per cent), for the time from `start` to `end`, aware."""

    heading: str
    day: str
    start: datetime
    end: datetime
    x: float
    width: float


class StretchTick(NamedTuple):
    """An hour or day mark at `at` per cent; `room` says how wide a screen must be for it: `any` or `wide`.

    Its label on a narrow screen and on a wide one; either is empty where there is no room for it.
    """

    at: float
    room: str
    narrow: str
    wide: str


class StretchHead(NamedTuple):
    """What stands over a stretch that begins at `at` per cent, on a narrow screen and on a wide one.

    Either is empty where the stretch has no room for it.
    """

    at: float
    narrow: str
    wide: str


class StretchScale(NamedTuple):
    """Stretches that follow each other without a gap: a map from instants to per cent of the ruler."""

    stretches: tuple[Stretch, ...]

    @property
    def start(self) -> datetime:
        """The instant at the left end."""
        return self.stretches[0].start

    @property
    def end(self) -> datetime:
        """The instant at the right end."""
        return self.stretches[-1].end

    def per_cent(self, instant: datetime) -> float:
        """The place of an instant; one beyond an end is put at that end."""
        if instant <= self.start:
            return 0.0
        for stretch in self.stretches:
            if instant < stretch.end:
                share = (instant - stretch.start) / (stretch.end - stretch.start)
                return hundredths(stretch.x + stretch.width * share)
        return 100.0


class QuickScale:
    """A scale for instants in microseconds since 1970: the same places, in a fraction of the time."""

    def __init__(self, scale: StretchScale) -> None:
        starts = [microseconds(stretch.start) for stretch in scale.stretches]
        self._ends = [microseconds(stretch.end) for stretch in scale.stretches]
        self.start, self.end = starts[0], self._ends[-1]
        self._parts = [
            (start, end - start, stretch.x, stretch.width)
            for start, end, stretch in zip(starts, self._ends, scale.stretches, strict=True)
        ]

    def per_cent(self, instant: int, /) -> float:
        """The place of an instant; one beyond an end is put at that end."""
        if instant <= self.start:
            return 0.0
        if instant >= self.end:
            return 100.0
        start, length, x, width = self._parts[bisect_right(self._ends, instant)]
        return hundredths(x + width * ((instant - start) / length))


def microseconds(instant: datetime) -> int:
    """An aware datetime as microseconds since 1970, without any rounding."""
    return (instant - _EPOCH) // _MICROSECOND


def stretches_at(now: datetime, last: datetime | None, zone: ZoneInfo) -> StretchScale:
    """The scale at an instant. Later ends at `last`, the last instant that matters, where there is one.

    Later is a day long at least, so that it has a scale, and ends at most 14 days from now. In the last
    hour of a day there is no rest of today.
    """
    today = now.astimezone(zone).date()
    hour_end = now + HOUR
    today_end = max(hour_end, day_begins(today + DAY, zone))
    tomorrow_end = max(today_end, day_begins(today + 2 * DAY, zone))
    later_end = min(max(last or now, tomorrow_end + DAY), now + MOST_AHEAD)
    today_width = round(_TODAY_WIDTH * min(1.0, (today_end - hour_end) / _FULL_TODAY), 2)
    tomorrow_width = _TODAY_WIDTH + _TOMORROW_WIDTH - today_width
    later_width = 100 - _BEFORE_WIDTH - _HOUR_WIDTH - _TODAY_WIDTH - _TOMORROW_WIDTH
    parts = [
        ("past", "", now - BEFORE, now, _BEFORE_WIDTH),
        ("next hour", "", now, hour_end, _HOUR_WIDTH),
        ("today", _day(today), hour_end, today_end, today_width),
        ("tomorrow", _day(today + DAY), today_end, tomorrow_end, tomorrow_width),
        (LATER, "", tomorrow_end, later_end, later_width),
    ]
    stretches, x = [], 0.0
    for heading, day, start, end, width in parts:
        if end > start:
            stretches.append(Stretch(heading, day, start, end, round(x, 2), width))
            x += width
    return StretchScale(tuple(stretches))


def day_begins(day: date, zone: ZoneInfo) -> datetime:
    """The first instant of a local day, in UTC, also where summer time leaves out its midnight."""
    return datetime.combine(day, time(0), zone).astimezone(UTC)


def _day(day: date) -> str:
    return f"{DAYS[day.weekday()]} {day.day}"


def heads_of(scale: StretchScale) -> tuple[StretchHead, ...]:
    """The headings of the stretches, with the day where there is room for it."""
    return tuple(_head(stretch) for stretch in scale.stretches)


def _head(stretch: Stretch) -> StretchHead:
    said = [f"{stretch.heading}, {stretch.day}"] if stretch.day else []
    said.append(stretch.heading)

    def longest(ruler_width: int) -> str:
        room = ruler_width * stretch.width / 100 - _HEAD_MARGIN
        return next((text for text in said if len(text) * _LETTER_WIDTH <= room), "")

    return StretchHead(stretch.x, longest(_NARROW), longest(_WIDE))


def ticks_of(scale: StretchScale, zone: ZoneInfo) -> tuple[StretchTick, ...]:
    """The ticks of every stretch, each with its own step: as many as have room for their labels."""
    return tuple(tick for stretch in scale.stretches for tick in _ticks(scale, stretch, zone))


def _ticks(scale: StretchScale, stretch: Stretch, zone: ZoneInfo) -> Iterator[StretchTick]:
    fine = _step(stretch, _WIDE)
    coarse = max(fine, _step(stretch, _NARROW))
    kind = _kind(fine)
    for instant in local_steps(stretch.start, stretch.end, zone, fine):
        # The edge of a stretch has its heading; only days are counted from it.
        if instant == stretch.end or (instant == stretch.start and kind == "hour"):
            continue
        local, at = instant.astimezone(zone), scale.per_cent(instant)
        is_narrow = falls_on(local, coarse)
        left = (stretch.x + stretch.width - at) / 100
        label = _day(local.date()) if kind == "day" else f"{local:%H:%M}"
        yield StretchTick(
            at,
            "any" if is_narrow else "wide",
            _short(label) if is_narrow and left * _NARROW >= _LABEL_WIDTHS[_NARROW][kind] else "",
            label if left * _WIDE >= _LABEL_WIDTHS[_WIDE][kind] else "",
        )


def _short(label: str) -> str:
    """A label for a narrow screen: of a time the hour, or else the minutes within it (`12`, `:30`)."""
    hour, colon, minute = label.partition(":")
    return hour if minute in ("", "00") else colon + minute


def _step(stretch: Stretch, ruler_width: int) -> int:
    """The shortest step, in minutes, that gives every label the room it takes."""
    minutes = (stretch.end - stretch.start) / timedelta(minutes=1)
    width = ruler_width * stretch.width / 100
    # Later begins on a day that no heading names, so its ticks are days.
    steps = [step for step in _STEP_MINUTES if stretch.heading != LATER or _kind(step) == "day"]
    fitting = (step for step in steps if width * step / minutes >= _LABEL_WIDTHS[ruler_width][_kind(step)])
    return next(fitting, steps[-1])


def _kind(step_minutes: int) -> str:
    return "day" if step_minutes >= DAY_MINUTES else "hour"
