"""The temperature line of a zone on the scale of Setting, and the same in words.

What was read is one path and what is assumed another, so that the style sheet can tell them apart. What the
warmth does to a cure is `shop.craft`'s; here the line is only drawn.
"""

from collections.abc import Callable, Iterable, Iterator
from datetime import UTC, datetime
from itertools import groupby
from typing import NamedTuple
from zoneinfo import ZoneInfo

from shop.craft.warmth import Line, Piece
from shop.web.stretches import QuickScale, StretchScale
from shop.web.wording import span, when

# Per cent of the ruler within which a line is drawn by its highest and lowest point alone.
_FINEST = 0.25
# The least difference from top to bottom, so that a tenth of a degree does not look like a heat wave.
_LEAST_RANGE_C = 6.0
_MARGIN_C = 1.0
# Per cent of the ruler by which labels stand apart, so that two that are close in height can both be read.
_LABEL_WIDTH = 14
# How much of the height a label takes up that stands on its line.
_LABEL_HEIGHT = 0.22

Point = tuple[float, float]


class ColdMark(NamedTuple):
    """The line below which an adhesive stands still, at `y` per cent from the top; its label ends at `x`."""

    x: float
    y: float
    label: str


class ZoneLine(NamedTuple):
    """A zone drawn: outlines of what was read and of what is assumed in a box of 100 by 100, and words."""

    name: str
    href: str
    temperature: str
    says: str
    coldest: str
    warning: str
    read: str
    assumed: str
    marks: tuple[ColdMark, ...]


class Wanted(NamedTuple):
    """A zone in which something is soft, and the coldest temperatures (°C) at which that goes on."""

    zone_id: int
    name: str
    coldest_c: tuple[float, ...]


def draw_zone(wanted: Wanted, line: Line, scale: StretchScale, now: datetime, zone: ZoneInfo) -> ZoneLine:
    """Draw a zone's line on the scale and say what it is at now, an aware datetime."""
    pieces = list(line.pieces_between(scale.start.timestamp(), scale.end.timestamp()))
    shown = [celsius for piece in pieces for celsius in (piece.first_c, piece.last_c)]
    low = min(*shown, *wanted.coldest_c) - _MARGIN_C
    high = max(*shown, *wanted.coldest_c, low + _LEAST_RANGE_C) + _MARGIN_C
    # A label stands on its line and must not be cut off at the top.
    high = max(high, low + (max(wanted.coldest_c, default=low) - low) / (1 - _LABEL_HEIGHT))

    def y(celsius: float) -> float:
        return round(100 * (high - celsius) / (high - low), 1)

    edges, places = [stretch.end.timestamp() for stretch in scale.stretches], QuickScale(scale)
    temperature = line.temperature_at(now.timestamp())
    too_cold = [f"{celsius:g} °C" for celsius in wanted.coldest_c if temperature < celsius]
    return ZoneLine(
        name=wanted.name,
        href=f"/ways/zones/{wanted.zone_id}",
        temperature=f"{temperature:.1f} °C",
        says=where_from(line, now, zone),
        coldest=_coldest(line, scale.start, now, zone),
        warning=f"below {' and '.join(too_cold)}: what needs more does not harden" if too_cold else "",
        read=_outline(_strokes(pieces, False, edges, places), y),
        assumed=_outline(_strokes(pieces, True, edges, places), y),
        marks=tuple(
            ColdMark(100 - _LABEL_WIDTH * n, y(celsius), f"{celsius:g} °C")
            for n, celsius in enumerate(wanted.coldest_c)
        ),
    )


def where_from(line: Line, now: datetime, zone: ZoneInfo) -> str:
    """Where the temperature at an instant comes from: a reading, or what the owner assumes."""
    assumed = f"assumed {line.assumed_c:g} °C"
    if line.last_reading is None:
        return f"never read, {assumed}"
    at = datetime.fromtimestamp(line.last_reading[0], UTC)
    if (now - at).total_seconds() >= line.gap_seconds:
        return f"silent since {when(at, now, zone)}, {assumed}"
    return f"last read {span(now - at)} ago" if at < now else "read just now"


def _coldest(line: Line, since: datetime, now: datetime, zone: ZoneInfo) -> str:
    ends = [
        (celsius, at)
        for piece in line.pieces_between(since.timestamp(), now.timestamp())
        for celsius, at in ((piece.first_c, piece.start), (piece.last_c, piece.end))
    ]
    celsius, at = min(ends)
    return f"{celsius:.1f} °C at {when(datetime.fromtimestamp(at, UTC), now, zone)}"


def _strokes(
    pieces: Iterable[Piece], is_assumed: bool, edges: list[float], places: QuickScale
) -> Iterator[list[Point]]:  # fmt: skip
    """The parts that were read, or those that are assumed, as points of per cent and °C."""
    for kind, run in groupby(pieces, key=lambda piece: piece.is_assumed):
        if kind is is_assumed:
            yield [point for piece in run for point in _points(piece, edges, places)]


def _points(piece: Piece, edges: list[float], places: QuickScale) -> Iterator[Point]:
    """The ends of a piece, and where it goes on with another slope because another stretch begins."""
    slope = (piece.last_c - piece.first_c) / (piece.end - piece.start)
    inside = [edge for edge in edges if piece.start < edge < piece.end]
    for at in (piece.start, *inside, piece.end):
        yield places.per_cent(round(at * 1e6)), piece.first_c + slope * (at - piece.start)


def _outline(strokes: Iterable[list[Point]], y: Callable[[float], float]) -> str:
    """The strokes as the `d` of a path."""
    return "".join(
        "M" + "L".join(f"{x:g} {y(celsius):g}" for x, celsius in _thinned(points)) for points in strokes
    )


def _thinned(points: list[Point]) -> Iterator[Point]:
    """The points without those that cannot be seen: of a crowd its first, lowest, highest and last stay."""
    for _, crowd in groupby(points, key=lambda point: int(point[0] / _FINEST)):
        near = list(dict.fromkeys(crowd))
        if len(near) < 3:
            yield from near
            continue
        kept = {0, len(near) - 1}
        kept |= {pick(range(len(near)), key=lambda n: near[n][1]) for pick in (min, max)}
        yield from (near[n] for n in sorted(kept))
