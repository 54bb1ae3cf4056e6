"""The one place where the clock is read, and the watch kept on it.

Everything else in the program takes `now`. Wall time is compared with a clock that only runs forward;
when the two part company, or wall time is behind the last instant on record, the clock is in doubt and a
hold stands on every stage until an owner confirms the time (`shop.services.clock` keeps that record).
"""

import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from threading import Lock

# Time servers step a clock by fractions of a second in ordinary life; that is not worth a hold.
BACKWARD_TOLERANCE = timedelta(seconds=1)
FORWARD_TOLERANCE = timedelta(minutes=2)
# Two honest oscillators part by less than this, so that much is forgiven and slow drift never adds up to
# a false alarm. A clock that runs fast for longer adds up, or it could shorten a cure without ever jumping.
DRIFT = 0.001
# Longer than this between two readings, and the process was stopped in between: they are no pair.
PAIR_SECONDS = 0.1


def read_wall() -> datetime:
    """The machine's idea of the present instant, in UTC."""
    return datetime.now(UTC)


def read_steady() -> float:
    """Seconds on a clock that only runs forward, sleep of the machine included where it can tell."""
    boot_time = getattr(time, "CLOCK_BOOTTIME", None)
    return time.monotonic() if boot_time is None else time.clock_gettime(boot_time)


class Clock:
    """Reads the time and remembers whether it has behaved. Safe to share between threads."""

    def __init__(
        self, wall: Callable[[], datetime] = read_wall, steady: Callable[[], float] = read_steady
    ) -> None:
        self._wall = wall
        self._steady = steady
        self._lock = Lock()
        self._last_wall, self._last_steady = self._read_pair()
        # How far wall time has run ahead of the steady clock, in ways that were too small to matter yet.
        self._ahead = timedelta()
        self.doubt = ""

    def now(self) -> datetime:
        """The present instant, in UTC; sets `doubt` if the clock has jumped since it was last read."""
        with self._lock:
            wall, steady = self._read_pair()
            passed = timedelta(seconds=steady - self._last_steady)
            forgiven = passed * DRIFT
            kept = max(self._ahead - forgiven, min(self._ahead + forgiven, timedelta()))
            self._ahead = kept + (wall - self._last_wall) - passed
            self._last_wall, self._last_steady = wall, steady
            if self._ahead < -BACKWARD_TOLERANCE:
                self._raise(f"went back by {_span(-self._ahead)}")
            elif self._ahead > FORWARD_TOLERANCE:
                self._raise(f"jumped ahead by {_span(self._ahead)}")
        return wall

    def compare_with_record(self, last_on_record: datetime) -> None:
        """At start: set `doubt` if the present is earlier than the last instant that was written down."""
        behind = last_on_record - self._wall()
        if behind > BACKWARD_TOLERANCE:
            self.doubt = _doubt(f"is {_span(behind)} behind the last entry on record")

    def trust(self) -> None:
        """An owner has confirmed the time: forget the doubt and watch from here."""
        with self._lock:
            self._last_wall, self._last_steady = self._read_pair()
            self._ahead = timedelta()
            self.doubt = ""

    def _raise(self, what: str) -> None:
        # From here on only a further jump is news.
        self._ahead = timedelta()
        self.doubt = _doubt(what)

    def _read_pair(self) -> tuple[datetime, float]:
        while True:
            before = self._steady()
            wall, steady = self._wall(), self._steady()
            if steady - before <= PAIR_SECONDS:
                return wall, steady


def _doubt(what: str) -> str:
    return f"The server's clock {what}; an owner must confirm the time."


def _span(span: timedelta) -> str:
    seconds = int(span.total_seconds())
    if seconds < 120:
        return f"{seconds} s"
    return f"{seconds // 60} min" if seconds < 7200 else f"{seconds // 3600} h {seconds % 3600 // 60} min"
