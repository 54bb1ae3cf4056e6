"""The shape of a blank held at one point and loaded at its tip: large deflections of a slender beam.

Bernoulli–Euler beam that does not stretch, load of fixed direction (Bisshopp & Drucker, Q. Appl. Math. 3
(1945) 272–275, here with a stiffness that varies): EI(s)·dφ/ds = P·(x_tip − x(s)), dx/ds = cos φ,
dy/ds = sin φ. The blank's own weight, and what the line does through guides that stand off the blank, are
left out. How the equations are solved is in `shooting`; here are the steps it takes, and how exact it is: a
mesh of half the steps, solved too, says how far off the answer is, and the steps are shortened until that is
little enough.
"""

from itertools import accumulate, pairwise, repeat
from math import ceil, cos, hypot, log, pi, radians, sin, sqrt
from operator import add
from typing import Protocol

from shop.craft.faults import SumFault
from shop.craft.flex.shape import Nodes, Shape
from shop.craft.flex.shooting import Step, Trace, aim, guess, run, settle

# Standard gravity, exact (3rd CGPM, 1901; NIST SP 811, appendix B.8).
GRAVITY_M_S2 = 9.80665
STEEPEST_DEG = 85.0
DEFAULT_POINTS = 200
DEFAULT_WITHIN = 3e-6
_MOST_STEPS = 20_000
# What adding up steps may be off by, in parts of the free length.
_ROUNDING = 1e-14
# How long a step may be: by the load, by the free length, and by how much the stiffness changes in a piece.
_PER_LENGTH = 4.0
_PER_PIECE = 0.3
# A piece of the mesh in which EI changes no more than this many times.
_EVEN = 3.0


class Stiffness(Protocol):
    """What a shape needs to know of a blank; `section.Section` is one."""

    @property
    def breaks_mm(self) -> tuple[float, ...]:
        """Places from the butt, first the butt and last the tip, between which EI is smooth."""

    def flexibility(
        self, span: int, first_mm: float, last_mm: float, steps: int, times: float = 1.0
    ) -> list[float]:
        """`times`/EI, EI in N·mm², at `steps` + 1 even places of the span that begins at break `span`."""

    def softness(self) -> list[tuple[float, float]]:
        """1/EI in 1/(N·mm²) at the butt's end and at the tip's end of every span."""


def newtons_of(mass_g: float) -> float:
    """The force of a hung mass, in N: m·g with standard gravity 9.80665 m/s²."""
    return mass_g / 1000.0 * GRAVITY_M_S2


def bend(
    blank: Stiffness,
    load_n: float,
    clamp_mm: float = 0.0,
    butt_angle_deg: float = 0.0,
    points: int = DEFAULT_POINTS,
    within: float = DEFAULT_WITHIN,
) -> Shape:
    """The shape of a blank clamped at `clamp_mm` from its butt, with `load_n` newtons hung from its tip.

    `butt_angle_deg` is how far the clamped part points above level. The shape has `points` points or a few
    more. `within` is how far off the tip's place may be, in parts of how far the tip moved, by an estimate
    made before the last correction (`_refine`), which leaves a small part of it. Raises `SumFault` on `load`,
    `clamp_from_butt` and `butt_angle`.
    """
    _check(blank, load_n, clamp_mm, butt_angle_deg)
    tip_mm, butt = blank.breaks_mm[-1], radians(butt_angle_deg)
    free_mm, clamp_delta = tip_mm - clamp_mm, pi / 2.0 + butt
    density, start, close = 1.0, None, min(1e-4, 0.1 * sqrt(within))
    while True:
        fine, coarse = _meshes(blank, load_n, clamp_mm, density)
        first = aim(coarse, clamp_delta, guess(coarse, clamp_delta) if start is None else start, close)
        start, trace = settle(fine, clamp_delta, first, min(1e-7, within / 30.0))
        nodes = _nodes(fine, trace, clamp_mm, tip_mm)
        error_mm = _refine(nodes, _nodes(coarse, run(coarse, first.u), clamp_mm, tip_mm))
        moved_mm = hypot(free_mm * cos(butt) - nodes.x_mm[-1], free_mm * sin(butt) + nodes.y_mm[-1])
        wanted_mm = max(within * moved_mm, _ROUNDING * free_mm)
        if error_mm <= wanted_mm:
            nodes.angle_rad[0] = 0.0 - butt
            return nodes.shape(points, butt_angle_deg, error_mm)
        density *= min(4.0, 1.3 * (error_mm / wanted_mm) ** 0.25)


def _check(blank: Stiffness, load_n: float, clamp_mm: float, butt_angle_deg: float) -> None:
    if not 0.0 < load_n < 1e6:
        raise SumFault({"load": f"A load of {load_n:g} N bends no blank to any shape."})
    if not 0.0 <= clamp_mm < blank.breaks_mm[-1]:
        raise SumFault(
            {
                "clamp_from_butt": f"The clamp is {clamp_mm:.1f} mm from the butt, but the blank is "
                f"{blank.breaks_mm[-1]:.1f} mm long; it must be held short of its tip."
            }
        )
    if not -STEEPEST_DEG <= butt_angle_deg <= STEEPEST_DEG:
        raise SumFault(
            {
                "butt_angle": f"A butt {butt_angle_deg:g}° from level is too steep; "
                f"from {-STEEPEST_DEG:g}° to {STEEPEST_DEG:g}° can be worked out."
            }
        )


def _meshes(
    blank: Stiffness, load_n: float, clamp_mm: float, density: float
) -> tuple[list[Step], list[Step]]:
    """Steps from the tip to the clamp, and the same with steps twice as long; never across a break."""
    fine: list[Step] = []
    coarse: list[Step] = []
    breaks, softness = blank.breaks_mm, blank.softness()
    per_mm = _PER_LENGTH / (breaks[-1] - clamp_mm)
    for span in range(len(breaks) - 2, -1, -1):
        outer, inner = breaks[span + 1], max(breaks[span], clamp_mm)
        if outer <= inner:
            break
        for first, last, soft in _pieces(outer, inner, *softness[span]):
            size = (first - last) * (sqrt(load_n * soft) + per_mm) + _PER_PIECE
            count = 2 * ceil(density * size)
            if len(fine) + count > _MOST_STEPS:
                raise SumFault({"load": "The load is too great for this blank: no shape was found for it."})
            length = (first - last) / count
            bent = blank.flexibility(span, first, last, 2 * count, 0.5 * load_n * length)
            fine += zip(repeat(length), bent[:-1:2], bent[1::2], bent[2::2], strict=False)
            bent = [2.0 * value for value in bent[::2]]
            coarse += zip(repeat(2.0 * length), bent[:-1:2], bent[1::2], bent[2::2], strict=False)
    return fine, coarse


def _pieces(outer: float, inner: float, stiff: float, soft: float) -> list[tuple[float, float, float]]:
    """A span cut, from the tip inwards, where EI has grown so many times, with the largest 1/EI of each.

    `stiff` and `soft` are 1/EI at its inner and its outer end. As if the fourth root of EI ran straight,
    which it does in a solid: only where to cut hangs on it.
    """
    ratio = soft / stiff
    if 1.0 / _EVEN < ratio < _EVEN:
        return [(outer, inner, max(soft, stiff))]
    count = ceil(abs(log(ratio)) / log(_EVEN))
    root = ratio**0.25
    cuts = [outer + (inner - outer) * (root ** (n / count) - 1.0) / (root - 1.0) for n in range(count)]
    cuts.append(inner)
    flexible = [soft * ratio ** (-n / count) for n in range(count + 1)]
    return [(cuts[n], cuts[n + 1], max(flexible[n], flexible[n + 1])) for n in range(count)]


def _nodes(steps: list[Step], trace: Trace, clamp_mm: float, tip_mm: float) -> Nodes:
    """The places of the nodes, from the clamp outwards, by the trapezoid rule with corrected ends."""
    lengths = [step[0] for step in reversed(steps)]
    deltas, firsts, lasts = trace.deltas[::-1], trace.last_turns[::-1], trace.first_turns[::-1]
    level, down = list(map(sin, deltas)), list(map(cos, deltas))
    rows = list(zip(lengths, level, level[1:], down, down[1:], firsts, lasts, strict=False))
    x = [h * (0.5 * (c + c_2) - (s * turn - s_2 * turn_2) / 12.0) for h, c, c_2, s, s_2, turn, turn_2 in rows]
    y = [h * (0.5 * (s + s_2) + (c * turn - c_2 * turn_2) / 12.0) for h, c, c_2, s, s_2, turn, turn_2 in rows]
    along = list(accumulate(lengths, initial=clamp_mm))
    # The steps add up to the free length but for rounding, and the tip is to be on the blank.
    along[-1] = tip_mm
    angles = [0.5 * pi - delta for delta in deltas]
    return Nodes(
        along, list(accumulate(x, initial=0.0)), list(accumulate(y, initial=0.0)), angles, (firsts, lasts)
    )


def _refine(nodes: Nodes, rough: Nodes) -> float:
    """Take off the error of the finer mesh by what the rougher shows of it; gives its size at the tip, in mm.

    The error of a method of fourth order is a fifteenth of what halving its steps changes (Richardson).
    What is left is smaller still, and is not counted on.
    """
    error_mm = max(abs(nodes.x_mm[-1] - rough.x_mm[-1]), abs(nodes.y_mm[-1] - rough.y_mm[-1])) / 15.0
    for fine, coarse in (
        (nodes.x_mm, rough.x_mm),
        (nodes.y_mm, rough.y_mm),
        (nodes.angle_rad, rough.angle_rad),
    ):
        errors = [(value - other) / 15.0 for value, other in zip(fine[::2], coarse, strict=True)]
        fine[::2] = list(map(add, fine[::2], errors))
        between = [0.5 * (before + after) for before, after in pairwise(errors)]
        fine[1::2] = list(map(add, fine[1::2], between))
    return error_mm
