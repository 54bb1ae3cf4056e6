"""The bent blank as points: where each lies, how steep it is, and how far the tip has come down.

Level is x, away from the butt; y is down; both in mm from the clamp. Angles are in radians below level.
"""

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from math import ceil, cos, degrees, radians, sin
from operator import mul, neg, sub

from shop.craft.faults import SumFault

Place = tuple[float, float, float]


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
        end = min(bisect_right(along, from_butt_mm), len(along) - 1)
        start = end - 1
        length = along[end] - along[start]
        share = (from_butt_mm - along[start]) / length
        turn = self.angle_rad[end] - self.angle_rad[start]
        angle = self.angle_rad[start] + share * turn
        # The rise of an arc over its chord, to the second order in the angle it turns.
        off_mm += 0.5 * share * (1.0 - share) * length * turn
        x, y = self.x_mm[start], self.y_mm[start]
        return (
            x + share * (self.x_mm[end] - x) + off_mm * sin(angle),
            y + share * (self.y_mm[end] - y) - off_mm * cos(angle),
            angle,
        )

    def where_angle(self, angle_rad: float) -> float:
        """The place from the butt in mm where the blank has turned so far below level; the nearest end."""
        end = min(max(bisect_right(self.angle_rad, angle_rad), 1), len(self.angle_rad) - 1)
        first, last = self.angle_rad[end - 1], self.angle_rad[end]
        start_mm, end_mm = self.from_butt_mm[end - 1], self.from_butt_mm[end]
        share = (angle_rad - first) / (last - first) if last > first else 0.5
        return start_mm + min(max(share, 0.0), 1.0) * (end_mm - start_mm)


@dataclass(frozen=True, slots=True)
class Nodes:
    """A solution at the ends of its steps, from the clamp to the tip, before points are put between them.

    `turns` holds for every step its length times dφ/ds at its start and at its end, which differ from step
    to step where the stiffness jumps.
    """

    from_butt_mm: list[float]
    x_mm: list[float]
    y_mm: list[float]
    angle_rad: list[float]
    turns: tuple[Sequence[float], Sequence[float]]

    def shape(self, points: int, butt_angle_deg: float, error_mm: float) -> Shape:
        """The shape with as many points between the nodes as make `points` or a few more.

        Places run through the nodes by their slope and their bend there, angles by their slope.
        """
        lengths = list(map(sub, self.from_butt_mm[1:], self.from_butt_mm))
        each = max(1, ceil((points - 1) / len(lengths)))
        cosines, sines = list(map(cos, self.angle_rad)), list(map(sin, self.angle_rad))
        # `map` stops with the shorter list, so that there is one value for each step.
        level, level_2 = list(map(mul, lengths, cosines)), list(map(mul, lengths, cosines[1:]))
        down, down_2 = list(map(mul, lengths, sines)), list(map(mul, lengths, sines[1:]))
        bend, bend_2 = self.turns
        back, back_2 = map(mul, map(neg, down), bend), map(mul, map(neg, down_2), bend_2)
        return Shape(
            _filled(self.from_butt_mm, lengths, each),
            _curved(self.x_mm, level, level_2, back, back_2, each),
            _curved(self.y_mm, down, down_2, map(mul, level, bend), map(mul, level_2, bend_2), each),
            _turned(self.angle_rad, bend, bend_2, each),
            butt_angle_deg,
            error_mm,
        )


@cache
def _cubic(each: int) -> tuple[tuple[float, float, float], ...]:
    """Hermite's weights at the parts of a step, for its rise and for its slopes at both ends."""
    parts = (part / each for part in range(1, each))
    return tuple((t * t * (3 - 2 * t), t * (1 - t) ** 2, t * t * (t - 1)) for t in parts)


@cache
def _quintic(each: int) -> tuple[tuple[float, float, float, float, float], ...]:
    """The same with second derivatives: for the rise, the slopes and the bends at both ends."""
    return tuple(
        (
            t**3 * (10 - 15 * t + 6 * t * t),
            t - t**3 * (6 - 8 * t + 3 * t * t),
            t**3 * (7 * t - 4 - 3 * t * t),
            0.5 * t * t * (1 - t) ** 3,
            0.5 * t**3 * (1 - t) ** 2,
        )
        for t in (part / each for part in range(1, each))
    )


def _filled(values: list[float], rises: list[float], each: int) -> tuple[float, ...]:
    found = [0.0] * (len(rises) * each + 1)
    found[::each] = values
    for part in range(1, each):
        share = part / each
        found[part::each] = [first + share * rise for first, rise in zip(values, rises, strict=False)]
    return tuple(found)


def _turned(
    values: list[float], slopes: Iterable[float], slopes_2: Iterable[float], each: int
) -> tuple[float, ...]:
    # A list of whole rows is read faster than lists side by side, and each row is read many times.
    rows = list(zip(values, map(sub, values[1:], values), slopes, slopes_2, strict=False))
    found = [0.0] * (len(rows) * each + 1)
    found[::each] = values
    for part, (a, b, c) in enumerate(_cubic(each), 1):
        found[part::each] = [first + a * rise + b * m + c * n for first, rise, m, n in rows]
    return tuple(found)


def _curved(
    values: list[float],
    slopes: Iterable[float],
    slopes_2: Iterable[float],
    bends: Iterable[float],
    bends_2: Iterable[float],
    each: int,
) -> tuple[float, ...]:
    rises = map(sub, values[1:], values)
    rows = list(zip(values, rises, slopes, slopes_2, bends, bends_2, strict=False))
    found = [0.0] * (len(rows) * each + 1)
    found[::each] = values
    for part, (a, b, c, d, e) in enumerate(_quintic(each), 1):
        found[part::each] = [
            first + a * rise + b * m + c * n + d * p + e * q for first, rise, m, n, p, q in rows
        ]
    return tuple(found)
