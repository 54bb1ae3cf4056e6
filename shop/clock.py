"""The one place where the clock is read, and the watch kept on it.

Everything else in the program takes `now`. Wall time is compared with a clock that only runs forward;
when the two part company, or wall time is behind the last instant on record, the clock is in doubt and a
hold stands on every stage until an owner confirms the time (`shop.services.clock` keeps that record).
"""

import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

# Time servers step a clock by fractions of a second in ordinary life; that is not worth a hold.
BACKWARD_TOLERANCE = timedelta(seconds=1)
FORWARD_TOLERANCE = timedelta(minutes=2)


def read_wall() -> datetime:
    """The machine's idea of the present instant, in UTC."""
    return datetime.now(UTC)


def read_steady() -> float:
    """Seconds on a clock that only runs forward, sleep of the machine included where it can tell."""
    boot_time = getattr(time, "CLOCK_BOOTTIME", None)
    return time.monotonic() if boot_time is None else time.clock_gettime(boot_time)


class Clock:
    """Reads the time and remembers whether it has behaved."""

    def __init__(
        self, wall: Callable[[], datetime] = read_wall, steady: Callable[[], float] = read_steady
    ) -> None:
        self._wall = wall
        self._steady = steady
        self._last_wall = wall()
        self._last_steady = steady()
        self.doubt = ""

    def now(self) -> datetime:
        """The present instant, in UTC; sets `doubt` if the clock has jumped since it was last read."""
        wall, steady = self._wall(), self._steady()
        jump = (wall - self._last_wall) - timedelta(seconds=steady - self._last_steady)
        if jump < -BACKWARD_TOLERANCE:
            self.doubt = f"The server's clock went back by {_span(-jump)}; an owner must confirm the time."
        elif jump > FORWARD_TOLERANCE:
            self.doubt = f"The server's clock jumped ahead by {_span(jump)}; an owner must confirm the time."
        if not -BACKWARD_TOLERANCE <= jump <= FORWARD_TOLERANCE or steady - self._last_steady > 60:
            # Slow drift is steered out by time servers and must not add up to a false alarm.
            self._last_wall, self._last_steady = wall, steady
        return wall

    def compare_with_record(self, last_on_record: datetime) -> None:
        """At start: set `doubt` if the present is earlier than the last instant that was written down."""
        behind = last_on_record - self._wall()
        if behind > BACKWARD_TOLERANCE:
            self.doubt = (
                f"The server's clock is {_span(behind)} behind the last entry on record; "
                "an owner must confirm the time."
            )

    def trust(self) -> None:
        """An owner has confirmed the time: forget the doubt and watch from here."""
        self._last_wall, self._last_steady = self._wall(), self._steady()
        self.doubt = ""


def _span(span: timedelta) -> str:
    seconds = int(span.total_seconds())
    if seconds < 120:
        return f"{seconds} s"
    return f"{seconds // 60} min" if seconds < 7200 else f"{seconds // 3600} h {seconds % 3600 // 60} min"
