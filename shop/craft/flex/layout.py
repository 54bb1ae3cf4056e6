"""Moves the guides of a bent blank until each turns the line as much as the next.

The first guess is to share the bend of the blank out evenly between the first and the last guide, for a
guide turns the line by about half of the bend on either side of it. Then a span whose two guides turn the
line more than the mean is given less of the bend, and so on, until a round is less even than the one before
it; the most even layout of all that were tried, the one given among them, is kept. Common practice is to do
the same by hand, under a load; no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate
from math import atan2, degrees, inf, sqrt
from operator import add, le, sub
from typing import NamedTuple

from shop.craft.faults import SumFault
from shop.craft.flex.line import Guide, Od, Rig, check_guides, ring
from shop.craft.flex.shape import Shape

_ROUNDS = 8
_LEAST_SHARE = 0.25


@dataclass(frozen=True, slots=True)
class Layout:
    """Guides from the tip to the butt, and how far each turns the line, in degrees."""

    guides: tuple[Guide, ...]
    turns_deg: tuple[float, ...]

    @property
    def spread_deg(self) -> float:
        """The largest turn less the smallest."""
        return max(self.turns_deg) - min(self.turns_deg)


def even_out(
    shape: Shape, od_at: Od, guides: Sequence[Guide], rig: Rig, gaps_grow: bool = True
) -> tuple[Layout, Layout]:
    """The layout as given, and the most even one found, whose spread is never larger.

    `guides` run from the tip to the butt; the first and the last stay, the others move, each taking its
    ring's height along. With `gaps_grow`, no gap between two guides that was moved is smaller than the one
    before it, nearer to the tip. Raises `SumFault` as `line.line_path` does, and on `guides` for fewer
    than three.
    """
    check_guides(shape, guides, rig)
    if len(guides) < 3:
        raise SumFault({"guides": f"{len(guides)} guides leave none to move; at least three are needed."})
    run = _run_of(shape, od_at, guides, rig)
    given = best = _tried(run, [guide.from_butt_mm for guide in guides])
    bends, spread = [1.0] * (len(guides) - 1), inf
    for _ in range(_ROUNDS):
        places = _shared_out(shape, given, bends)
        if gaps_grow:
            places = _growing(places)
        if any(map(le, places, places[1:])):
            break
        now = _tried(run, places)
        if now.spread < best.spread:
            best = now
        # Of made-up layouts one in a hundred was made more even by going on, and then hardly.
        if now.spread >= spread:
            break
        bends, spread = _weighed(now), now.spread
    before = Layout(tuple(guides), tuple(map(degrees, given.turns)))
    return before, before if best is given else _layout(guides, best)


@dataclass(frozen=True, slots=True)
class _Run:
    """What stays while guides move: the blank, how far off its axis each ring is, where the line ends."""

    shape: Shape
    od_at: Od
    side: float
    heights_mm: tuple[float, ...]
    tip: tuple[float, float]
    reel: tuple[float, float]


class _Trial(NamedTuple):
    """Places tried, in mm from the butt, how steep the blank is there, and the turns, in radians."""

    places: list[float]
    angles: list[float]
    turns: list[float]
    spread: float


def _run_of(shape: Shape, od_at: Od, guides: Sequence[Guide], rig: Rig) -> _Run:
    tip = ring(shape, od_at, Guide(shape.from_butt_mm[-1], rig.tip_top_mm), rig.on_top)
    reel = ring(shape, od_at, rig.reel, rig.on_top)
    heights = tuple(guide.height_mm for guide in guides)
    return _Run(shape, od_at, 1.0 if rig.on_top else -1.0, heights, tip, reel)


def _tried(run: _Run, places: list[float]) -> _Trial:
    at, od_at, side = run.shape.at, run.od_at, run.side
    ways, angles = [], []
    x_1, y_1 = run.tip
    for place, height in zip(places, run.heights_mm, strict=True):
        x, y, angle = at(place, side * (0.5 * od_at(place) + height))
        ways.append(atan2(y_1 - y, x_1 - x))
        angles.append(angle)
        x_1, y_1 = x, y
    x, y = run.reel
    ways.append(atan2(y_1 - y, x_1 - x))
    turns = list(map(sub, ways, ways[1:]))
    return _Trial(places, angles, turns, max(turns) - min(turns))


def _layout(guides: Sequence[Guide], trial: _Trial) -> Layout:
    laid = (Guide(at, guide.height_mm) for at, guide in zip(trial.places, guides, strict=True))
    return Layout(tuple(laid), tuple(map(degrees, trial.turns)))


def _shared_out(shape: Shape, given: _Trial, bends: Sequence[float]) -> list[float]:
    """Places from the first guide to the last, between which the blank bends by such shares."""
    outer, inner = given.angles[0], given.angles[-1]
    by, where_angle = (outer - inner) / sum(bends), shape.where_angle
    places, part = [given.places[0]], 0.0
    for bend in bends[:-1]:
        part += bend
        places.append(where_angle(outer - by * part))
    places.append(given.places[-1])
    return places


def _weighed(now: _Trial) -> list[float]:
    """How much of the bend each span is to have next: less than now where its guides turn the line more.

    The two guides of a span are taken together, lest narrow and wide spans come to alternate.
    """
    twice = 2.0 * sum(now.turns) / len(now.turns)
    bent = list(map(sub, now.angles, now.angles[1:]))
    if twice <= 0.0:
        return bent
    shares = map(add, now.turns, now.turns[1:])
    return [bend / sqrt(max(share / twice, _LEAST_SHARE)) for bend, share in zip(bent, shares, strict=True)]


def _growing(places: Sequence[float]) -> list[float]:
    """The places with their gaps made never to shrink towards the butt, and none of their sum changed.

    Neighbours that shrink are evened out until none do (pooling of adjacent violators: of all such gaps,
    the ones that differ least from those given, by their squares).
    """
    gaps = list(map(sub, places, places[1:]))
    if all(map(le, gaps, gaps[1:])):
        return list(places)
    pools: list[tuple[float, int]] = []
    for gap in gaps:
        count = 1
        while pools and pools[-1][0] * count > gap * pools[-1][1]:
            more, others = pools.pop()
            gap, count = gap + more, count + others
        pools.append((gap, count))
    gaps = [gap / count for gap, count in pools for _ in range(count)]
    return [*accumulate((-gap for gap in gaps[:-1]), initial=places[0]), places[-1]]
