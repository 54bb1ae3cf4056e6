"""The shape of a blank held at one point and loaded at its tip: large deflections of a slender beam.

Bernoulli–Euler beam that does not stretch, load of fixed direction (Bisshopp & Drucker, Q. Appl. Math. 3
(1945) 272–275, here with a stiffness that varies): EI(s)·dφ/ds = P·(x_tip − x(s)), dx/ds = cos φ,
dy/ds = sin φ. The blank's own weight, and what the line does through guides that stand off the blank, are
left out. How the equations are solved is in `shooting`; here are the steps it takes, and how exact it is: a
mesh of half the steps, solved too, says how far off the answer is, and the steps are shortened until that is
little enough.
"""

from functools import lru_cache
from itertools import accumulate
from math import ceil, cos, hypot, log, log2, pi, radians, sin, sqrt
from typing import NamedTuple, Protocol

from shop.craft.faults import SumFault
from shop.craft.flex.shape import Nodes, Shape
from shop.craft.flex.shooting import Bends, Step, Trace, aim, bends_of, run, settle

# Standard gravity, exact (3rd CGPM, 1901; NIST SP 811, appendix B.8).
GRAVITY_M_S2 = 9.80665
STEEPEST_DEG = 85.0
DEFAULT_POINTS = 200
DEFAULT_WITHIN = 3e-6
_MOST_STEPS = 20_000
# What adding up steps may be off by, in parts of the free length.
_ROUNDING = 1e-14
# How many steps the rougher mesh has: by the load, by the free length, and at the tip; found by trial.
_PER_LOAD = 0.6
_PER_LENGTH = 5.0
_AT_TIP = 1.0
# A piece of the mesh in which EI changes no more than this many times.
_EVEN = 3.0


class Stiffness(Protocol):
    """What a shape needs to know of a blank; `section.Section` is one."""

    def __hash__(self) -> int:
        """Meshes are kept by blank, so that it must not change."""

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
    made before the last correction (`_refined`), which leaves a small part of it.
    Raises `SumFault` on `load`, `clamp_from_butt` and `butt_angle`.
    """
    _check(blank, load_n, clamp_mm, butt_angle_deg)
    butt, free_mm = radians(butt_angle_deg), blank.breaks_mm[-1] - clamp_mm
    clamp_delta = pi / 2.0 + butt
    # Loads that differ by less than half may share a mesh.
    up_to_n = 2.0 ** (0.5 * ceil(2.0 * log2(load_n)))
    density, start, close = 1.0, None, min(1e-3, 0.1 * sqrt(within))
    while True:
        mesh = _mesh(blank, clamp_mm, up_to_n, density)
        if start is None:
            start = mesh.bends.guess(load_n, clamp_delta)
        aimed = aim(mesh.coarse, load_n, clamp_delta, start, close)
        start, fine = settle(mesh.fine, load_n, clamp_delta, aimed, within / 20.0)
        nodes, error_mm = _refined(mesh, fine, run(mesh.coarse, load_n, aimed.u), load_n)
        x_mm, y_mm = nodes.outs_mm[-1], nodes.downs_mm[-1]
        moved_mm = hypot(free_mm * cos(butt) - x_mm, free_mm * sin(butt) + y_mm)
        wanted_mm = max(within * moved_mm, _ROUNDING * free_mm)
        if error_mm <= wanted_mm:
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


class _Mesh(NamedTuple):
    """What of a shape does not hang on its load.

    Steps from the tip to the clamp, and others twice as long; where the finer ones end, in mm from the butt;
    how far the blank will bend.
    """

    fine: tuple[Step, ...]
    coarse: tuple[Step, ...]
    from_butt_mm: tuple[float, ...]
    bends: Bends


# A blank is bent many times over: in its static test, for its line, and while its stiffness is sought.
@lru_cache(maxsize=8)
def _mesh(blank: Stiffness, clamp_mm: float, up_to_n: float, density: float) -> _Mesh:
    """Steps for loads of up to so many newtons. None goes across a break.

    The outermost piece is cut finer: most of what is off comes from there.
    """
    fine: list[Step] = []
    coarse: list[Step] = []
    breaks, softness = blank.breaks_mm, blank.softness()
    per_mm = _PER_LENGTH / (breaks[-1] - clamp_mm)
    for span in range(len(breaks) - 2, -1, -1):
        outer, inner = breaks[span + 1], max(breaks[span], clamp_mm)
        if outer <= inner:
            break
        for first, last, soft in _pieces(outer, inner, *softness[span]):
            size = (first - last) * (_PER_LOAD * sqrt(up_to_n * soft) + per_mm)
            count = ceil(density * (size if fine else size + _AT_TIP))
            if len(fine) + 2 * count > _MOST_STEPS:
                raise SumFault({"load": "The load is too great for this blank: no shape was found for it."})
            length = 0.5 * (first - last) / count
            bent = iter(blank.flexibility(span, first, last, 4 * count, 0.5 * length))
            at = next(bent)
            # Of four even parts, two are a step of the finer mesh, and all of them one of the rougher.
            for quarter, half, quarter_3, end in zip(bent, bent, bent, bent, strict=True):
                fine.append((length, at, quarter, half))
                fine.append((length, half, quarter_3, end))
                coarse.append((2.0 * length, 2.0 * at, 2.0 * half, 2.0 * end))
                at = end
    along = list(accumulate([-step[0] for step in fine], initial=breaks[-1]))
    # The steps add up to the free length but for a rounding.
    along[-1] = clamp_mm
    return _Mesh(tuple(fine), tuple(coarse), tuple(along), bends_of(coarse))


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


def _refined(mesh: _Mesh, fine: Trace, rough: Trace, load_n: float) -> tuple[Nodes, float]:
    """The run less the error that one by steps twice as long shows of it, and that error at the tip, in mm.

    The error of a method of fourth order is a fifteenth of what halving its steps changes (Richardson).
    What is left is smaller still, and is not counted on.
    """
    better = []
    for values, others in zip(fine[:3], rough[:3], strict=True):
        error = (values[0] - others[0]) / 15.0
        column = [values[0] + error]
        for between, value, other in zip(values[1::2], values[2::2], others[1:], strict=True):
            before, error = error, (value - other) / 15.0
            column.append(between + 0.5 * (before + error))
            column.append(value + error)
        better.append(column)
    deltas, moments, downs_mm = better
    error_mm = max(abs(moments[-1] - fine.moments[-1]) / load_n, abs(downs_mm[-1] - fine.downs_mm[-1]))
    outs_mm = [moment / load_n for moment in moments]
    return Nodes(mesh.from_butt_mm, deltas, outs_mm, downs_mm, *fine[3:]), error_mm
