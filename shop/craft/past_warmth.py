"""What a zone's temperature line was over some days: few points to draw it by, and its figures.

However many readings a line goes through, it is walked by its arrays and not piece by piece. Times are
seconds since 1970 (UTC), temperatures °C. Which days are asked for, and how they are drawn, is left to
others.
"""

from bisect import bisect_left
from collections.abc import Iterator
from operator import add, mul, sub
from typing import NamedTuple

from shop.craft.warmth import Line

Point = tuple[float, float]
Span = tuple[float, float]


class Figures(NamedTuple):
    """What was read over a stretch of time: °C, none where nothing was; and for how long nobody read."""

    coldest: float | None
    mean: float | None
    warmest: float | None
    unread_seconds: float


class _Run(NamedTuple):
    """A stretch in which the line was read all the time, or never."""

    start: float
    end: float
    is_read: bool


class _Parts(NamedTuple):
    """The straight parts of a run: part `k` lasts from `times[k]` to `times[k + 1]`."""

    times: list[float]
    first_c: list[float]
    last_c: list[float]


def unread_spans(line: Line, start: float, end: float) -> list[Span]:
    """The stretches from `start` to `end` in which no thermometer spoke."""
    return [(run.start, run.end) for run in _runs(line, start, end) if not run.is_read]


def drawn(line: Line, start: float, end: float, most: int) -> list[list[Point]]:
    """What was read from `start` to `end`, each unbroken part of it as points, about `most` in all.

    For the line of one thermometer, which does not leap. Of a crowd of points its coldest and its warmest
    stay. Raises `ValueError` for fewer than four points.
    """
    if most < 4:
        raise ValueError("A line is not drawn by fewer than four points.")
    width = 2 * (end - start) / most
    return [_thinned(parts, width) for parts in _read(line, start, end)]


def figures(line: Line, warm_line: Line, start: float, end: float) -> Figures:
    """The figures of a stretch: coldest and mean by `line`, warmest by the line of the warmest thermometer.

    The mean is by time, over what was read.
    """
    unread = sum(last - first for first, last in unread_spans(line, start, end))
    read, warm = _read(line, start, end), _read(warm_line, start, end)
    if not read or not warm:
        return Figures(None, None, None, unread)
    seconds = sum(parts.times[-1] - parts.times[0] for parts in read)
    return Figures(
        min(min(*parts.first_c, *parts.last_c) for parts in read),
        sum(_area(parts) for parts in read) / seconds,
        max(max(*parts.first_c, *parts.last_c) for parts in warm),
        unread,
    )


def _runs(line: Line, start: float, end: float) -> Iterator[_Run]:
    """The line from `start` to `end` as runs, each as long as may be."""
    flags = line.is_read.tobytes()
    at, piece = start, line.piece_at(start)
    while at < end:
        is_read = piece >= 0 and bool(flags[piece])
        # Before the first piece nobody has read, and the last one has no end.
        other = b"\0" if is_read else b"\1"
        after = flags.find(other, max(piece, 0))
        stop = end if after < 0 else min(line.starts[after], end)
        yield _Run(at, stop, is_read)
        at, piece = stop, after


def _read(line: Line, start: float, end: float) -> list[_Parts]:
    """The straight parts of every run in which a thermometer spoke."""
    return [_parts(line, run) for run in _runs(line, start, end) if run.is_read]


def _parts(line: Line, run: _Run) -> _Parts:
    first = line.piece_at(run.start)
    # The pieces from `first` to before `stop` bear on the run; the last piece of a line was never read.
    stop = bisect_left(line.starts, run.end, first)
    ends_whole = line.starts[stop] == run.end
    last_c = line.last_c[stop - 1] if ends_whole else line.in_piece(stop - 1, run.end)
    return _Parts(
        [run.start, *line.starts[first + 1 : stop], run.end],
        [line.in_piece(first, run.start), *line.first_c[first + 1 : stop]],
        [*line.last_c[first : stop - 1], last_c],
    )


def _area(parts: _Parts) -> float:
    """The temperature added up over the seconds."""
    seconds = map(sub, parts.times[1:], parts.times)
    return float(sum(map(mul, map(add, parts.first_c, parts.last_c), seconds)) / 2)


def _thinned(parts: _Parts, width: float) -> list[Point]:
    times, celsius = parts.times, parts.first_c
    points = [(times[0], celsius[0])]
    here, last = 1, len(celsius)
    while here < last:
        after = max(bisect_left(times, times[here] + width, here, last), here + 1)
        crowd = celsius[here:after]
        kept = {here + crowd.index(pick(crowd)) for pick in (min, max)}
        points += [(times[place], celsius[place]) for place in sorted(kept)]
        here = after
    return [*points, (times[-1], parts.last_c[-1])]
