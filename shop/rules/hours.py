"""When somebody is in the shop: the hours of the week and the days it is closed.

Attended work skips closed hours, a cure does not; so a window may shut while nobody is there. Times of the
day are the shop's own clocks', and a shop that never said its hours is judged by none.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from functools import lru_cache
from typing import Any

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MOST_CLOSED_DAYS = 400
# Nobody closes for longer than this, or nothing here could be said.
_FAR = timedelta(days=400)
_TIME = re.compile(r"([01]?[0-9]|2[0-3])[:.]([0-5][0-9])")

Span = tuple[datetime, datetime]


@dataclass(frozen=True, slots=True)
class Hours:
    """For each day from Monday the times of opening and closing, or none; and the closed dates."""

    week: tuple[tuple[time, time] | None, ...] = (None,) * 7
    closed_on: frozenset[date] = frozenset()

    @property
    def are_known(self) -> bool:
        """Whether the shop said that it is ever open."""
        return any(self.week)


def parse_time(text: str) -> time | None:
    """A time of the day as people write it (`8:00`, `17.30`), or none where it is not one."""
    found = _TIME.fullmatch(text.strip())
    return time(int(found[1]), int(found[2])) if found else None


def hours_from(week: Sequence[Sequence[str] | None], closed_on: Sequence[str]) -> Hours:
    """The hours from what was kept of them; the reverse of `kept_week` and `kept_days`."""
    spans = [
        None if day is None else (time.fromisoformat(day[0]), time.fromisoformat(day[1])) for day in week
    ]
    return Hours(tuple(spans or [None] * 7), frozenset(date.fromisoformat(day) for day in closed_on))


def kept_week(hours: Hours) -> list[Any]:
    """The week as it is kept: pairs of `HH:MM`, or none for a closed day."""
    return [None if day is None else [f"{at:%H:%M}" for at in day] for day in hours.week]


def kept_days(hours: Hours) -> list[Any]:
    """The closed dates as they are kept, in order."""
    return [day.isoformat() for day in sorted(hours.closed_on)]


def faults_of_hours(hours: Hours) -> dict[str, str]:
    """What is wrong with the hours, by field: the day's name in small letters, or `closed_on`."""
    faults = {}
    for name, day in zip(DAYS, hours.week, strict=True):
        if day is not None and day[1] <= day[0]:
            faults[name.lower()] = f"On {name} the shop closes at {day[1]:%H:%M}, before it opens."
    if len(hours.closed_on) > MOST_CLOSED_DAYS:
        faults["closed_on"] = f"At most {MOST_CLOSED_DAYS} closed days can be kept; drop those gone by."
    return faults


def is_open(hours: Hours, at: datetime, zone: tzinfo) -> bool:
    """Whether somebody is there at an instant, or the shop never said its hours."""
    if not hours.are_known:
        return True
    span = _span(hours, at.astimezone(zone).date(), zone)
    return span is not None and span[0] <= at < span[1]


def next_opening(hours: Hours, at: datetime, zone: tzinfo) -> datetime | None:
    """The first instant, not before `at`, at which the shop is open; none within a year."""
    if is_open(hours, at, zone):
        return at
    return next((opens for opens, _ in _spans(hours, at, zone, 1) if opens >= at), None)


def last_open(hours: Hours, at: datetime, zone: tzinfo) -> datetime | None:
    """The last instant, not after `at`, at which somebody was still there; none within a year."""
    if is_open(hours, at, zone):
        return at
    return next((closes for _, closes in _spans(hours, at, zone, -1) if closes <= at), None)


def _spans(hours: Hours, at: datetime, zone: tzinfo, step: int) -> Iterator[Span]:
    """The open spans from the day of `at` on, or back from it."""
    day = at.astimezone(zone).date()
    for _ in range(_FAR.days):
        span = _span(hours, day, zone)
        if span is not None:
            yield span
        day += timedelta(days=step)


def _span(hours: Hours, day: date, zone: tzinfo) -> Span | None:
    """From when until when the shop is open on a day, as instants in UTC."""
    times = hours.week[day.weekday()]
    if times is None or day in hours.closed_on:
        return None
    return _instants(times, day, zone)


@lru_cache(maxsize=512)
def _instants(times: tuple[time, time], day: date, zone: tzinfo) -> Span:
    opens, closes = (datetime.combine(day, at, zone).astimezone(UTC) for at in times)
    return opens, closes
