"""The bent blank as points: where each lies, how steep it is, and how far the tip has come down.

Level is x, away from the butt; y is down; both in mm from the clamp. Angles are in radians below level.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import pairwise
from math import ceil, cos, degrees, pi, radians, sin
from typing import NamedTuple

from shop.craft.faults import SumFault

Place = tuple[float, float, float]
# A curve over a step: its mean and its rise; the sum of its slopes at both ends and by how much the second is
# more; the sum of its second derivatives. All by the part of the step.
Span = tuple[float, float, float, float, float]
# Its values at the nodes, and it over every step between.
Curve = tuple[Sequence[float], list[Span]]
_LEVEL = 0.5 * pi


@dataclass(frozen=True, slots=True)
class Shape:
    """A bent blank from its clamp to its tip, by points that lie closer together where it bends more.

    `from_butt_mm` is measured along the blank, `error_mm` estimates how far off the tip's place is.
    """

    from_butt_mm: tuple[float, ...]
    x_mm: tuple[float, ...]
    y_mm: tuple[float, ...]
    angle_rad: tuple[float, ...]
    butt_angle_deg: float
    error_mm: float

    @property
    def free_mm(self) -> float:
        """Length from the clamp to the tip, along the blank."""
        return self.from_butt_mm[-1] - self.from_butt_mm[0]

    @property
    def tip_drop_mm(self) -> float:
        """How far the tip lies below where it is unbent."""
        return self.y_mm[-1] + self.free_mm * sin(radians(self.butt_angle_deg))

    @property
    def pull_in_mm(self) -> float:
        """How far the tip has come back, level, from where it is unbent; below nothing if it went out."""
        return self.free_mm * cos(radians(self.butt_angle_deg)) - self.x_mm[-1]

    @property
    def tip_angle_deg(self) -> float:
        """The angle of the tip below level."""
        return degrees(self.angle_rad[-1])

    def at(self, from_butt_mm: float, off_mm: float = 0.0) -> Place:
        """x, y and angle at a place along the blank, or `off_mm` above it at a right angle.

        Between two points the blank is taken to be an arc. Before the clamp it is straight. Raises
        `SumFault` on `from_butt` for a place that is not on the blank.
        """
        along = self.from_butt_mm
        if not 0.0 <= from_butt_mm <= along[-1]:
            raise SumFault({"from_butt": f"{from_butt_mm:.1f} mm from the butt is not on the blank."})
        if from_butt_mm < along[0]:
            angle, back = self.angle_rad[0], from_butt_mm - along[0]
            across, down = sin(angle), cos(angle)
            return (
                self.x_mm[0] + back * down + off_mm * across,
                self.y_mm[0] + back * across - off_mm * down,
                angle,
            )
        end = bisect_right(along, from_butt_mm, 1, len(along) - 1)
        start = end - 1
        length = along[end] - along[start]
        share = (from_butt_mm - along[start]) / length
        x, y, angle = self.x_mm[start], self.y_mm[start], self.angle_rad[start]
        turn = self.angle_rad[end] - angle
        angle += share * turn
        # The rise of an arc over its chord, to the second order in the angle it turns.
        off_mm += 0.5 * share * (1.0 - share) * length * turn
        return (
            x + share * (self.x_mm[end] - x) + off_mm * sin(angle),
            y + share * (self.y_mm[end] - y) - off_mm * cos(angle),
            angle,
        )

    def where_angle(self, angle_rad: float) -> float:
        """The place from the butt in mm where the blank has turned so far below level; the nearest end."""
        end = bisect_right(self.angle_rad, angle_rad, 1, len(self.angle_rad) - 1)
        first, last = self.angle_rad[end - 1], self.angle_rad[end]
        start_mm, end_mm = self.from_butt_mm[end - 1], self.from_butt_mm[end]
        share = (angle_rad - first) / (last - first) if last > first else 0.5
        return start_mm + min(max(share, 0.0), 1.0) * (end_mm - start_mm)


class Nodes(NamedTuple):
    """A solution at the ends of its steps, from the tip to the clamp, before points are put between them.

    `outs_mm` and `downs_mm` are how far the tip lies from each node, level and down; `deltas` how far the
    blank is there from hanging straight down, in radians, with its sines and cosines. `first_turns` and
    `last_turns` hold for every step its length times dδ/dt at its ends, t being measured from the tip; they
    differ from step to step where the stiffness jumps.
    """

    from_butt_mm: tuple[float, ...]
    deltas: list[float]
    outs_mm: list[float]
    downs_mm: list[float]
    sines: list[float]
    cosines: list[float]
    first_turns: list[float]
    last_turns: list[float]

    def shape(self, points: int, butt_angle_deg: float, error_mm: float) -> Shape:
        """The shape with as many points between the nodes as make `points` or a few more.

        x and y run through the nodes by their slopes and by the sum of their bends, the angle by its slopes.
        """
        each = max(1, ceil((points - 1) / len(self.first_turns)))
        x, y, angle = (_drawn(values, spans, each) for values, spans in self._curves())
        # The clamp was met but for a little.
        angle[0] = radians(0.0 - butt_angle_deg)
        along = _places(self.from_butt_mm, each)
        return Shape(along, tuple(x), tuple(y), tuple(angle), butt_angle_deg, error_mm)

    def _curves(self) -> tuple[Curve, Curve, Curve]:
        """x, y and the angle, from the tip inwards."""
        along, angle, sine, cosine = (
            self.from_butt_mm[0],
            _LEVEL - self.deltas[0],
            self.sines[0],
            self.cosines[0],
        )
        x_tip, y_tip = x, y = self.outs_mm[-1], self.downs_mm[-1]
        xs, ys, angles = [x], [y], [angle]
        x_spans, y_spans, angle_spans = [], [], []
        at_ends = zip(*self[:6], strict=True)
        next(at_ends)
        for turn, turn_2, (along_2, delta_2, out_2, down_2, sine_2, cosine_2) in zip(
            *self[6:], at_ends, strict=True
        ):
            back, x_2, y_2, angle_2 = along_2 - along, x_tip - out_2, y_tip - down_2, _LEVEL - delta_2
            level, level_2, fall, fall_2 = back * sine, back * sine_2, back * cosine, back * cosine_2
            bends = fall * turn + fall_2 * turn_2
            x_spans.append((0.5 * (x + x_2), x_2 - x, level + level_2, level_2 - level, bends))
            bends = -level * turn - level_2 * turn_2
            y_spans.append((0.5 * (y + y_2), y_2 - y, fall + fall_2, fall_2 - fall, bends))
            # Of how the bend of the angle goes nothing is known: as much as makes it a cubic.
            less = turn - turn_2
            angle_spans.append((0.5 * (angle + angle_2), angle_2 - angle, -turn - turn_2, less, less + less))
            along, x, y, angle, sine, cosine = along_2, x_2, y_2, angle_2, sine_2, cosine_2
            xs.append(x)
            ys.append(y)
            angles.append(angle)
        return (xs, x_spans), (ys, y_spans), (angles, angle_spans)


# The same for every load on a blank.
@lru_cache(maxsize=8)
def _places(from_butt_mm: tuple[float, ...], each: int) -> tuple[float, ...]:
    """Places from the clamp to the tip: the nodes, and `each` − 1 evenly in every step between."""
    found = [from_butt_mm[0]]
    for outer, inner in pairwise(from_butt_mm):
        found += [outer + (inner - outer) * part / each for part in range(1, each)]
        found.append(inner)
    return tuple(reversed(found))


@cache
def _weights(each: int) -> tuple[tuple[float, float, float, float], ...]:
    """What `_drawn` takes of a span, at the parts of a step up to its middle.

    With σ from −1 to 1 over the step and q = σ² − 1, the polynomial of fourth degree that meets values,
    slopes and the sum of the bends at both ends is mean + (q/8 − q²/32)·more + q²/64·bends, which is even in
    σ, and the odd σ·((1/2 − q/4)·rise + q/8·slopes) (Hermite's interpolation, worked by hand).
    """
    found = []
    for part in range(1, each // 2 + 1):
        sigma = 1.0 - 2.0 * part / each
        q = sigma * sigma - 1.0
        found.append((q / 8.0 - q * q / 32.0, q * q / 64.0, sigma * (0.5 - 0.25 * q), sigma * q / 8.0))
    return tuple(found)


def _drawn(values: Sequence[float], spans: list[Span], each: int) -> list[float]:
    """A curve as points from the clamp to the tip: the nodes, and `each` − 1 in every step between.

    Those are found in pairs about its middle.
    """
    found = [0.0] * (len(spans) * each + 1)
    found[::each] = values
    for part, (a, b, c, d) in enumerate(_weights(each), 1):
        # Loops that append are faster here than comprehensions, which would have to go over the spans twice.
        before, after = [], []
        for mean, rise, slopes, more, bends in spans:
            even, odd = mean + a * more + b * bends, c * rise + d * slopes
            before.append(even - odd)
            after.append(even + odd)
        found[part::each], found[each - part :: each] = before, after
    found.reverse()
    return found
