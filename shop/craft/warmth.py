"""The temperature of one zone over time, as a line that is known at every instant.

Times are seconds since 1970 (UTC), temperatures °C. Between two readings at most `gap_seconds` apart the
line is straight; a lone reading speaks for `gap_seconds` after itself; everywhere else the zone is taken
to be at its `assumed_c`, which the owner sets on the cold side. What the warmth does to a cure is in
`shop.craft.ageing`.
"""

from array import array
from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from math import isfinite

Reading = tuple[float, float]


class TemperatureLine:
    """A line made of straight pieces, never changed once made; piece `k` runs from `starts[k]` to the next.

    Piece `k` goes from `first_c[k]` to `last_c[k]`. Before the first piece and in the last one, which has
    no end, the temperature is `assumed_c`. Of two readings at one instant the later given counts.
    Raises `ValueError` for figures that are not finite and for a gap that is not above zero.
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
        self._take_in(dict(readings))

    def extended(self, readings: Iterable[Reading]) -> tuple["TemperatureLine", int]:
        """The line with further readings, in any order, and how many of its first pieces are as they were.

        Copying the arrays costs little beside making one piece in Python, and whoever is reading this
        line in another thread is not disturbed.
        """
        longer = TemperatureLine(self.assumed_c, self.gap_seconds)
        longer._times, longer._celsius = self._times[:], self._celsius[:]
        longer.starts, longer.first_c, longer.last_c = self.starts[:], self.first_c[:], self.last_c[:]
        return longer, longer._take_in(dict(readings))

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

    def _take_in(self, fresh: dict[float, float]) -> int:
        """Take in readings; gives the number of pieces that stay as they were."""
        if not fresh:
            return len(self.starts)
        if not all(isfinite(at) and isfinite(celsius) for at, celsius in fresh.items()):
            raise ValueError("A reading needs a finite instant and a finite temperature.")
        cut = bisect_left(self._times, min(fresh))
        fresh = dict(zip(self._times[cut:], self._celsius[cut:], strict=True)) | fresh
        del self._times[cut:], self._celsius[cut:]
        # What was said of the time after the last reading that stays may change by the one that follows.
        unchanged = bisect_left(self.starts, self._times[-1]) if cut else 0
        del self.starts[unchanged:], self.first_c[unchanged:], self.last_c[unchanged:]
        for at in sorted(fresh):
            self._append(at, fresh[at])
        self._close_tail()
        return unchanged

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
