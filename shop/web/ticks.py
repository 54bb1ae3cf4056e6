"""The instants at which the shop's clocks show a full step, for the ticks of a ruler of time."""

from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

DAY_MINUTES = 1440


def local_steps(start: datetime, end: datetime, zone: ZoneInfo, step_minutes: int) -> Iterator[datetime]:
    """The instants from `start` to `end`, in UTC, at which the shop's clocks show a full step.

    A step is a part of a day or a number of whole days. An hour that the change to summer time leaves out
    has no tick; one that comes twice in autumn has a tick the first time only.
    """
    day, last = start.astimezone(zone).date(), end.astimezone(zone).date()
    while day <= last:
        for minutes in range(0, DAY_MINUTES, min(step_minutes, DAY_MINUTES)):
            wall = datetime.combine(day, time(minutes // 60, minutes % 60), zone)
            instant = wall.astimezone(UTC)
            # What costs most is asked last: most steps of the first and the last day lie outside.
            if start <= instant <= end and falls_on(wall, step_minutes) and _exists(wall, instant, zone):
                yield instant
        day += timedelta(days=1)


def _exists(wall: datetime, instant: datetime, zone: ZoneInfo) -> bool:
    """Whether the shop's clocks ever show a local time, of which `instant` is the same in UTC."""
    return instant.astimezone(zone).replace(tzinfo=None) == wall.replace(tzinfo=None)


def falls_on(local: datetime, step_minutes: int) -> bool:
    """Whether a local time is a full step of the clock, or of the calendar where a step is longer."""
    minutes = local.hour * 60 + local.minute
    if step_minutes <= DAY_MINUTES:
        return minutes % step_minutes == 0
    return minutes == 0 and local.date().toordinal() % (step_minutes // DAY_MINUTES) == 0
