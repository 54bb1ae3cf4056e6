"""The temperature of one zone over time, as a line that is known at every instant.

Times are seconds since 1970 (UTC), temperatures °C. Between two readings at most `gap_seconds` apart the
line is straight; a lone reading speaks for `gap_seconds` after itself; everywhere else the zone is taken
to be at its `assumed_c`, which the owner sets on the cold side. Several thermometers in one zone are in
`shop.craft.sensors`; what the warmth does to a cure is in `shop.craft.ageing`.
"""

from array import array
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator
from math import inf, isfinite
from typing import NamedTuple

Reading = tuple[float, float]


class Piece(NamedTuple):
    """A straight part of a line: seconds since 1970 and °C at both ends, and whether nobody measured it."""

    start: float
    end: float
    first_c: float
    last_c: float
    is_assumed: bool


class Line:
    """Straight pieces one after the other; piece `k` runs from `starts[k]` to the next.

    Piece `k` goes from `first_c[k]` to `last_c[k]`, and `is_read[k]` is 1 where a thermometer says so.
    Before the first piece and in the last one, which has no end, the temperature is `assumed_c`.
    """

    def __init__(self, assumed_c: float, gap_seconds: float) -> None:
        if not isfinite(assumed_c) or not isfinite(gap_seconds) or gap_seconds <= 0:
            raise ValueError("A line needs a finite assumed temperature and a gap above zero.")
        self.assumed_c = assumed_c
        self.gap_seconds = gap_seconds
        # The latest reading, as seconds since 1970 and °C, or none where there is none.
        self.last_reading: Reading | None = None
        self.starts = array("d")
        self.first_c = array("d")
        self.last_c = array("d")
        self.is_read = array("b")

    def temperature_at(self, at: float) -> float:
        """The temperature at an instant, in °C."""
        piece = self.piece_at(at)
        if piece < 0 or piece == len(self.starts) - 1:
            return self.assumed_c
        return self.in_piece(piece, at)

    def piece_at(self, at: float) -> int:
        """The number of the piece that an instant lies in, -1 before the first."""
        return bisect_right(self.starts, at) - 1

    def speaks_at(self, at: float) -> bool:
        """Whether a thermometer says what the temperature is at an instant."""
        piece = self.piece_at(at)
        return piece >= 0 and bool(self.is_read[piece])

    def in_piece(self, piece: int, at: float) -> float:
        """The temperature at an instant inside a piece that has an end, in °C."""
        first, last = self.first_c[piece], self.last_c[piece]
        if first == last:
            return first
        start = self.starts[piece]
        return first + (last - first) * (at - start) / (self.starts[piece + 1] - start)

    def pieces_between(self, first: float, last: float) -> Iterator[Piece]:
        """The parts of the line from `first` to `last`, in order and without a gap between them."""
        at, piece = first, self.piece_at(first)
        while at < last:
            ends = self.starts[piece + 1] if piece + 1 < len(self.starts) else inf
            end = min(ends, last)
            if piece < 0 or ends == inf:
                yield Piece(at, end, self.assumed_c, self.assumed_c, True)
            else:
                is_assumed = not self.is_read[piece]
                yield Piece(at, end, self.in_piece(piece, at), self.in_piece(piece, end), is_assumed)
            at, piece = end, piece + 1

    def add_piece(self, start: float, first: float, last: float, is_read: bool) -> None:
        """Put a further piece at the end; for whoever makes a line, before it is handed on."""
        self.starts.append(start)
        self.first_c.append(first)
        self.last_c.append(last)
        self.is_read.append(is_read)

    def copy_pieces(self, other: "Line", count: int) -> None:
        """Begin with the first pieces of another line; for whoever makes a line."""
        self.starts, self.is_read = other.starts[:count], other.is_read[:count]
        self.first_c, self.last_c = other.first_c[:count], other.last_c[:count]


class TemperatureLine(Line):
    """The line through the readings of one thermometer, never changed once made.

    Of two readings at one instant the later given counts. Raises `ValueError` for figures that are not
    finite and for a gap that is not above zero.
    """

    def __init__(self, assumed_c: float, gap_seconds: float, readings: Iterable[Reading] = ()) -> None:
        super().__init__(assumed_c, gap_seconds)
        self._times = array("d")
        self._celsius = array("d")
        self._take_in(dict(readings))

    def extended(self, readings: Iterable[Reading]) -> tuple["TemperatureLine", int]:
        """The line with further readings, in any order, and how many of its first pieces are as they were.

        Copying the arrays costs little beside making one piece in Python, and whoever is reading this
        line in another thread is not disturbed.
        """
        longer = TemperatureLine(self.assumed_c, self.gap_seconds)
        longer.copy_pieces(self, len(self.starts))
        longer._times, longer._celsius = self._times[:], self._celsius[:]
        longer.last_reading = self.last_reading
        return longer, longer._take_in(dict(readings))

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
        del (
            self.starts[unchanged:],
            self.first_c[unchanged:],
            self.last_c[unchanged:],
            self.is_read[unchanged:],
        )
        for at in sorted(fresh):
            self._append(at, fresh[at])
        self._close_tail()
        return unchanged

    def _append(self, at: float, celsius: float) -> None:
        if self._times:
            before, was = self._times[-1], self._celsius[-1]
            if at - before <= self.gap_seconds:
                self.add_piece(before, was, celsius, True)
            else:
                self.add_piece(before, was, was, True)
                self.add_piece(before + self.gap_seconds, self.assumed_c, self.assumed_c, False)
        self._times.append(at)
        self._celsius.append(celsius)

    def _close_tail(self) -> None:
        last, celsius = self._times[-1], self._celsius[-1]
        self.last_reading = (last, celsius)
        self.add_piece(last, celsius, celsius, True)
        self.add_piece(last + self.gap_seconds, self.assumed_c, self.assumed_c, False)
