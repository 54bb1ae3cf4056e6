"""The line through the guides of a bent blank: how far each guide turns it, and how near the blank it runs.

The line goes straight from the middle of one ring to the next, off the tip-top the way the load pulls, and
from the last guide to the reel. What it weighs, how it rubs, and where within a ring it lies are left out.
Plane geometry, no source.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, degrees, hypot
from typing import NamedTuple

from shop.craft.faults import SumFault
from shop.craft.flex.shape import Shape

# Common practice, no source: a guide that turns the line further than this wants another beside it.
MOST_TURN_DEG = 15.0
Od = Callable[[float], float]


class Guide(NamedTuple):
    """A ring's middle: how far from the butt, and how high over the blank's surface, in mm."""

    from_butt_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class Rig:
    """What the line runs through besides the guides, and on which side of the blank.

    On top is the outside of the bend. `tip_top_mm` is the height of the tip-top's ring over the blank, the
    reel is a guide that does not move: where the line leaves it.
    """

    on_top: bool
    tip_top_mm: float
    reel: Guide


@dataclass(frozen=True, slots=True)
class LinePath:
    """Turns in degrees, each above nothing where the line bends as the blank does.

    `turns_deg` has one for each guide, from the tip to the butt; `gaps_mm` is the least room between line
    and blank in each span, from the tip-top to the first guide and so on to the reel, below nothing where
    the straight line would cut through the blank.
    """

    tip_top_turn_deg: float
    turns_deg: tuple[float, ...]
    gaps_mm: tuple[float, ...]


def line_path(shape: Shape, od_at: Od, guides: Sequence[Guide], rig: Rig) -> LinePath:
    """The path of the line through guides that are given from the tip to the butt.

    `od_at` gives the blank's diameter in mm at a place from its butt. Raises `SumFault` on
    `guides`, `guides.N.from_tip`, `guides.N.height`, `reel_from_butt`, `reel_height` and `tip_top_height`.
    """
    check_guides(shape, guides, rig)
    ways = directions(shape, od_at, guides, rig)
    turns = [degrees(outer - inner) for outer, inner in pairwise(ways)]
    return LinePath(90.0 - degrees(ways[0]), tuple(turns), tuple(_gaps(shape, od_at, guides, rig)))


def check_guides(shape: Shape, guides: Sequence[Guide], rig: Rig) -> None:
    """Raise `SumFault` unless the guides lie on the blank, in order, with the reel behind them."""
    errors = {}
    before, what = shape.from_butt_mm[-1], "the tip-top"
    for number, guide in enumerate(guides, 1):
        if guide.from_butt_mm >= before:
            errors[f"guides.{number}.from_tip"] = (
                f"Guide {number} is not farther from the tip than {what}; give them from the tip to the butt."
            )
        if guide.from_butt_mm < 0.0:
            errors[f"guides.{number}.from_tip"] = f"Guide {number} lies past the butt of the blank."
        if guide.height_mm < 0.0:
            errors[f"guides.{number}.height"] = f"The ring of guide {number} lies inside the blank."
        before, what = guide.from_butt_mm, f"guide {number}"
    if not guides:
        errors["guides"] = "There is no guide; give at least one."
    if not 0.0 <= rig.reel.from_butt_mm < before:
        errors["reel_from_butt"] = (
            f"The reel is {rig.reel.from_butt_mm:.1f} mm from the butt; it must lie on the blank, behind the "
            f"last guide, which is {before:.1f} mm from the butt."
        )
    if rig.tip_top_mm < 0.0:
        errors["tip_top_height"] = "The tip-top's ring cannot lie inside the blank."
    if rig.reel.height_mm < 0.0:
        errors["reel_height"] = "The line cannot leave the reel inside the blank."
    if errors:
        raise SumFault(errors)


def rings(shape: Shape, od_at: Od, guides: Sequence[Guide], rig: Rig) -> list[tuple[float, float]]:
    """Where the line passes, x and y in mm: the tip-top, the guides, the reel."""
    tip = Guide(shape.from_butt_mm[-1], rig.tip_top_mm)
    return [ring(shape, od_at, guide, rig.on_top) for guide in (tip, *guides, rig.reel)]


def ring(shape: Shape, od_at: Od, guide: Guide, on_top: bool) -> tuple[float, float]:
    """Where the middle of a ring is, x and y in mm."""
    off_mm = 0.5 * od_at(guide.from_butt_mm) + guide.height_mm
    x, y, _ = shape.at(guide.from_butt_mm, off_mm if on_top else -off_mm)
    return x, y


def directions(shape: Shape, od_at: Od, guides: Sequence[Guide], rig: Rig) -> list[float]:
    """The angle below level, in radians, of each straight piece of line, from the tip to the reel."""
    places = rings(shape, od_at, guides, rig)
    return [atan2(outer[1] - inner[1], outer[0] - inner[0]) for outer, inner in pairwise(places)]


def _gaps(shape: Shape, od_at: Od, guides: Sequence[Guide], rig: Rig) -> list[float]:
    tip = Guide(shape.from_butt_mm[-1], rig.tip_top_mm)
    side = 1.0 if rig.on_top else -1.0
    gaps = []
    for outer, inner in pairwise((tip, *guides, rig.reel)):
        (x_2, y_2), (x_1, y_1) = (ring(shape, od_at, guide, rig.on_top) for guide in (outer, inner))
        length = hypot(x_2 - x_1, y_2 - y_1)
        level, down = (x_2 - x_1) / length, (y_2 - y_1) / length
        start = bisect_right(shape.from_butt_mm, inner.from_butt_mm)
        end = bisect_left(shape.from_butt_mm, outer.from_butt_mm)
        points = zip(
            *(column[start:end] for column in (shape.x_mm, shape.y_mm, shape.from_butt_mm)), strict=True
        )
        ends = ((*shape.at(guide.from_butt_mm)[:2], guide.from_butt_mm) for guide in (inner, outer))
        gaps.append(
            min(
                side * (level * (y - y_1) - down * (x - x_1)) - 0.5 * od_at(at)
                for x, y, at in (*points, *ends)
            )
        )
    return gaps
