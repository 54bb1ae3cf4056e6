"""The temperature of one zone over time, as a line that is known at every instant.

Times are seconds since 1970 (UTC), temperatures °C. Between two readings at most `gap_seconds` apart the
line is straight; a lone reading speaks for `gap_seconds` after itself; everywhere else the zone is taken
to be at its `assumed_c`, which the owner sets on the cold side. What the warmth does to a cure is in
`shop.craft.cure`.
"""

from array import array
from bisect import bisect_right
from collections.abc import Iterable
from math import isfinite

Reading = tuple[float, float]


class TemperatureLine:
    """A line made of straight pieces; piece `k` runs from `starts[k]` to `starts[k + 1]`.

    Piece `k` goes from `first_c[k]` to `last_c[k]`. Before the first piece and in the last one, which has
    no end, the temperature is `assumed_c`. Not safe to change from two threads at once.
    """

    def __init__(self, assumed_c: float, gap_seconds: float, readings: Iterable[Reading] = ()) -> None:
        if not isfinite(assumed_c) or not isfinite(gap_seconds) or gap_seconds <= 0:
            raise ValueError("A line needs a finite assumed temperature and a gap above zero.")
        self.assumed_c = assumed_c
        self.gap_seconds = gap_seconds
        self._times = array("d")
        self._celsius = array("d")
        self.starts = array("d")
        self.first_c = array("d")
        self.last_c = array("d")
        self.add(readings)

    def add(self, readings: Iterable[Reading]) -> int:
        """Take in readings, in any order; of two at one instant the later given counts.

        Gives the number of pieces that are as they were; those from there on are new.
        """
        fresh = dict(readings)
        if not fresh:
            return len(self.starts)
        times = sorted(fresh)
        if self._times and times[0] <= self._times[-1]:
            known = dict(zip(self._times, self._celsius, strict=True)) | fresh
            self._clear()
            fresh, times = known, sorted(known)
        unchanged = self._drop_tail()
        for at in times:
            self._append(at, fresh[at])
        self._close_tail()
        return unchanged

    def temperature_at(self, at: float) -> float:
        """The temperature at an instant, in °C."""
        piece = bisect_right(self.starts, at) - 1
        if piece < 0 or piece == len(self.starts) - 1:
            return self.assumed_c
        return self.in_piece(piece, at)

    def in_piece(self, piece: int, at: float) -> float:
        """The temperature at an instant inside a piece that has an end, in °C."""
        first, last = self.first_c[piece], self.last_c[piece]
        if first == last:
            return first
        start = self.starts[piece]
        return first + (last - first) * (at - start) / (self.starts[piece + 1] - start)

    def _clear(self) -> None:
        for values in (self._times, self._celsius, self.starts, self.first_c, self.last_c):
            del values[:]

    def _drop_tail(self) -> int:
        """Take away what was said of the time after the last reading; the next one may change it."""
        if self._times:
            while self.starts[-1] >= self._times[-1]:
                self._pop()
                if not self.starts:
                    break
        return len(self.starts)

    def _pop(self) -> None:
        for values in (self.starts, self.first_c, self.last_c):
            values.pop()

    def _piece(self, start: float, first: float, last: float) -> None:
        self.starts.append(start)
        self.first_c.append(first)
        self.last_c.append(last)

    def _append(self, at: float, celsius: float) -> None:
        if self._times:
            before, was = self._times[-1], self._celsius[-1]
            if at - before <= self.gap_seconds:
                self._piece(before, was, celsius)
            else:
                self._piece(before, was, was)
                self._piece(before + self.gap_seconds, self.assumed_c, self.assumed_c)
        self._times.append(at)
        self._celsius.append(celsius)

    def _close_tail(self) -> None:
        last, celsius = self._times[-1], self._celsius[-1]
        self._piece(last, celsius, celsius)
        self._piece(last + self.gap_seconds, self.assumed_c, self.assumed_c)
