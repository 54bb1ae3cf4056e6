"""Several thermometers in one zone: the line of the coldest that speaks, and that of the warmest.

Each thermometer has a line of its own (`shop.craft.warmth`) and speaks where that line was read. At every
instant a cure goes by the coldest of those that speak and a pot life by the warmest, so that one which is
wrong, or hangs in the draught, never lets a joint be used early. Where none speaks the zone is assumed.
One thermometer alone gives one line, the very line that it has itself.
"""

from bisect import bisect_left
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from math import inf
from typing import NamedTuple

from shop.craft.warmth import Line, Reading, TemperatureLine

# What a thermometer says at the two ends of a stretch, in °C.
Ends = tuple[float, float]


class ZoneLines(NamedTuple):
    """A zone's lines as they stand; further readings make another set (`with_readings`).

    `by_sensor` has each thermometer's own line by whatever names the thermometer; all go by the same gap
    and the same assumed temperature, those of `coldest`.
    """

    by_sensor: Mapping[Hashable, TemperatureLine]
    coldest: Line
    warmest: Line


class Grown(NamedTuple):
    """Lines that have taken in readings: what was said of any instant before `since` still holds.

    Of the pieces of the coldest and of the warmest line so many are as they were.
    """

    lines: ZoneLines
    since: float
    unchanged_coldest: int
    unchanged_warmest: int


def zone_lines(line: TemperatureLine, sensor: Hashable = None) -> ZoneLines:
    """The lines of a zone with one thermometer."""
    return ZoneLines({sensor: line}, line, line)


def with_readings(lines: ZoneLines, readings: Mapping[Hashable, Iterable[Reading]]) -> Grown:
    """The lines with further readings, by thermometer; only what lies near them is worked out anew.

    Raises `ValueError` for a reading that is not finite.
    """
    old = lines.by_sensor
    new, since = dict(old), inf
    for sensor, fresh in readings.items():
        was = old.get(sensor) or TemperatureLine(lines.coldest.assumed_c, lines.coldest.gap_seconds)
        new[sensor], unchanged = was.extended(fresh)
        if unchanged < len(new[sensor].starts):
            since = min(since, new[sensor].starts[unchanged])
    speaking = [line for line in new.values() if line.starts]
    # A piece that holds `since` is made anew from its beginning, so that lines grown reading by reading
    # are the lines made at once.
    edges = [line.starts[piece] for line in old.values() if (piece := line.piece_at(since)) >= 0]
    begin = max(edges, default=-inf) if since < inf else inf
    unchanged_coldest = bisect_left(lines.coldest.starts, begin)
    unchanged_warmest = bisect_left(lines.warmest.starts, begin)
    if len(speaking) == 1:
        made = ZoneLines(new, speaking[0], speaking[0])
    elif since == inf:
        made = lines
    else:
        coldest = _merged(speaking, lines.coldest, unchanged_coldest, begin, 1)
        made = ZoneLines(new, coldest, _merged(speaking, lines.warmest, unchanged_warmest, begin, -1))
    return Grown(made, since, unchanged_coldest, unchanged_warmest)


def _merged(lines: Sequence[TemperatureLine], old: Line, unchanged: int, begin: float, side: int) -> Line:
    """The coldest (`side` 1) or warmest (-1) of the lines; it goes on from the first pieces of `old`."""
    merged = Line(old.assumed_c, old.gap_seconds)
    merged.copy_pieces(old, unchanged)
    merged.last_reading = max(line.last_reading for line in lines if line.last_reading is not None)
    edges = sorted({at for line in lines for at in line.starts[bisect_left(line.starts, begin) :]})
    pieces = [line.piece_at(edges[0]) for line in lines]
    for number, start in enumerate(edges):
        end = edges[number + 1] if number + 1 < len(edges) else inf
        spoken = []
        for which, line in enumerate(lines):
            piece = pieces[which]
            if piece + 1 < len(line.starts) and line.starts[piece + 1] <= start:
                piece = pieces[which] = piece + 1
            if piece >= 0 and line.is_read[piece]:
                spoken.append((side * line.in_piece(piece, start), side * _last_of(line, piece, end)))
        if not spoken:
            merged.add_piece(start, merged.assumed_c, merged.assumed_c, False)
        for at, (first, last) in _lowest(spoken, start, end):
            merged.add_piece(at, side * first, side * last, True)
    return merged


def _last_of(line: TemperatureLine, piece: int, end: float) -> float:
    """The temperature where a stretch ends; at the piece's own end it is exactly what was read."""
    return line.last_c[piece] if end == line.starts[piece + 1] else line.in_piece(piece, end)


def _lowest(spoken: list[Ends], start: float, end: float) -> Iterator[tuple[float, Ends]]:
    """The lowest of straight lines over one stretch: where each part of it begins, and its ends."""
    if not spoken:
        return
    at, now = start, min(spoken)
    first = now[0]
    while True:
        place, steeper = 1.0, None
        for other in spoken:
            if other[1] < now[1]:
                above, below = max(other[0] - now[0], 0.0), now[1] - other[1]
                crosses = above / (above + below)
                if crosses < place or (crosses == place and steeper is not None and other[1] < steeper[1]):
                    place, steeper = crosses, other
        crossing = start + (end - start) * place
        if steeper is None:
            yield at, (first, now[1])
            return
        met = now[0] + (now[1] - now[0]) * place
        # Two lines may meet so near an end that no instant lies between; then there is no part to speak of.
        if at < crossing < end:
            yield at, (first, met)
            at, first = crossing, met
        now = steeper
