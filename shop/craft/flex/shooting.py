"""Aims from the tip of a blank at its clamp: finds how steep the tip must be for the clamp to be as it is.

With δ = 90° − φ, how far the blank is from hanging straight down, and a, how far the tip is out, level, from
a place on the blank, the two equations of the bent beam (see `beam`) are dδ/dt = P/EI·a and da/dt = sin δ,
with t measured from the tip inwards and a = 0 at the tip, where nothing bends. They are run by the classical
Runge–Kutta method of fourth order.

The unknown is sought in u = ln tan(δ/4) at the tip, in which the same measure at the clamp grows nearly
evenly, for light loads and for loads that leave δ far below what a double could tell from 90°. δ at the
clamp grows with δ at the tip until it passes the clamp's own, so that a bracket always holds.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import atan, cosh, exp, inf, log, pi, sin, sqrt, tan
from typing import NamedTuple

from shop.craft.faults import SumFault

# One step from the tip inwards: its length in mm, and P/EI·h/2 at its start, middle and end.
Step = tuple[float, float, float, float]
# Below this, the tip hangs straight down to more digits than a double has.
_LOWEST = -600.0
_MOST_SHOTS = 200
_MOST_SETTLING = 12
_CLOSE = 1e-6
# In radians; a double near a right angle is no finer than a fifth of it.
_LEAST = 1e-15


class Trace(NamedTuple):
    """A run from the tip to the clamp: δ at the nodes, and h·dδ/dt at both ends of every step."""

    deltas: list[float]
    first_turns: list[float]
    last_turns: list[float]


@dataclass(frozen=True, slots=True)
class Aim:
    """u at the tip, and by how much ln tan(δ/4) at the clamp changes with it."""

    u: float
    slope: float


def guess(steps: Iterable[Step], clamp_delta: float) -> float:
    """u from the turn that a straight blank would make: exact for a uniform one under a very heavy load."""
    turn = out = 0.0
    for length, first, middle, last in steps:
        turn += (first * out + 4.0 * middle * (out + 0.5 * length) + last * (out + length)) / 3.0
        out += length
    return max(log(tan(clamp_delta / 4.0)) - log(cosh(min(sqrt(2.0 * turn), 700.0))), _LOWEST)


def aim(steps: Sequence[Step], clamp_delta: float, start: float, close: float) -> Aim:
    """u for which δ at the clamp is `clamp_delta`, by secants. Raises `SumFault` on `load`.

    They end with one more from where the clamp is missed by `close` of what the blank turns, so that about
    the square of it is left. They are kept inside a bracket, which is halved where they leave it.
    """
    target = log(tan(clamp_delta / 4.0))
    low, high = -inf, target
    u, slope = min(start, target), 1.0
    before: tuple[float, float] | None = None
    for shots in range(_MOST_SHOTS):
        missed = _log_tan(_shoot(steps, delta_of(u))) - target
        if before is not None and missed < inf and missed != before[1]:
            slope = (missed - before[1]) / (u - before[0])
        if abs(missed) <= close * min(1.0, target - u):
            return Aim(u - missed / slope, slope)
        if missed > 0.0:
            high = u
        else:
            low = u
        before = (u, missed) if missed < inf else None
        # Too far past the clamp to say how far: step back, twice as far each time, until it falls short.
        follows = u - missed / slope if missed < inf else u - 2.0**shots
        u = follows if low < follows < high else max(0.5 * (low + high), high - 2.0**shots)
        if u < _LOWEST:
            break
    raise SumFault(
        {"load": "The load is too great for this blank: it would hang straight down from its clamp."}
    )


def settle(steps: Sequence[Step], clamp_delta: float, aimed: Aim, within: float) -> tuple[float, Trace]:
    """u, and the run that misses the clamp by less than `within` of what the blank turns, from nearby.

    Raises `SumFault` on `load`.
    """
    target = log(tan(clamp_delta / 4.0))
    within = max(within * min(1.0, clamp_delta - delta_of(aimed.u)), _LEAST)
    u, slope = aimed.u, aimed.slope
    missed = _log_tan(_shoot(steps, delta_of(u))) - target
    if missed == inf:
        # The nearby solution is not near enough for the clamp to be reached at all: aim anew.
        anew = aim(steps, clamp_delta, u, _CLOSE)
        u, slope, missed = anew.u, anew.slope, 0.0
    for _ in range(_MOST_SETTLING):
        before = (u, missed)
        u -= missed / slope
        trace = run(steps, u)
        reached = trace.deltas[-1]
        if abs(reached - clamp_delta) <= within:
            return u, trace
        missed = _log_tan(reached) - target
        if missed == inf:
            break
        if u != before[0] and missed != before[1]:
            slope = (missed - before[1]) / (u - before[0])
    raise SumFault({"load": "No shape was found for this load; it may be far too great for the blank."})


def run(steps: Sequence[Step], u: float) -> Trace:
    """The run from a tip at u."""
    delta, out = delta_of(u), 0.0
    deltas, first_turns, last_turns = [delta], [], []
    for length, first, middle, last in steps:
        half = 0.5 * length
        rise_1 = sin(delta)
        out_2 = out + half * rise_1
        turn = first * out
        first_turns.append(2.0 * turn)
        rise_2 = sin(delta + turn)
        out_3 = out + half * rise_2
        rise_3 = sin(delta + middle * out_2)
        rise_4 = sin(delta + 2.0 * middle * out_3)
        delta += (turn + 2.0 * middle * (out_2 + out_3) + last * (out + length * rise_3)) / 3.0
        out += length * (rise_1 + rise_4 + 2.0 * (rise_2 + rise_3)) / 6.0
        deltas.append(delta)
        last_turns.append(2.0 * last * out)
    return Trace(deltas, first_turns, last_turns)


def _shoot(steps: Sequence[Step], delta: float) -> float:
    """δ at the clamp, or infinity as soon as it is past π, where no clamp is. The same steps as in `run`."""
    out = 0.0
    for length, first, middle, last in steps:
        half = 0.5 * length
        rise_1 = sin(delta)
        out_2 = out + half * rise_1
        rise_2 = sin(delta + first * out)
        out_3 = out + half * rise_2
        rise_3 = sin(delta + middle * out_2)
        middle += middle
        rise_4 = sin(delta + middle * out_3)
        delta += (first * out + middle * (out_2 + out_3) + last * (out + length * rise_3)) / 3.0
        if delta > pi:
            return inf
        out += length * (rise_1 + rise_4 + 2.0 * (rise_2 + rise_3)) / 6.0
    return delta


def delta_of(u: float) -> float:
    """δ in radians from u."""
    return 4.0 * atan(exp(u))


def _log_tan(delta: float) -> float:
    return log(tan(delta / 4.0)) if 0.0 < delta < pi else inf
