"""Aims from the tip of a blank at its clamp: finds how steep the tip must be for the clamp to be as it is.

With δ = 90° − φ, how far the blank is from hanging straight down, and M, the load's bending moment, the two
equations of the bent beam (see `beam`) are dδ/dt = M/EI and dM/dt = P·sin δ, with t measured from the tip
inwards and M = 0 at the tip, where nothing bends. They are run by the classical Runge–Kutta method of fourth
order (W. Kutta, Z. Math. Phys. 46 (1901) 435–453; the reference is from memory).

The unknown is sought in u = ln tan(δ/4) at the tip, in which the same measure at the clamp grows nearly
evenly, for light loads and for loads that leave δ far below what a double could tell from 90°. δ at the
clamp grows with δ at the tip until it passes the clamp's own, so that a bracket always holds.
"""

from collections.abc import Sequence
from math import atan, cos, exp, inf, log, pi, sin, sqrt, tan
from typing import NamedTuple

from shop.craft.faults import SumFault

# One step from the tip inwards: its length h in mm, and h/2EI at its start, middle and end, in 1/(N·mm).
Step = tuple[float, float, float, float]
# u at the tip, and by how much ln tan(δ/4) at the clamp is missed then.
Shot = tuple[float, float]
# Below this, the tip hangs straight down to more digits than a double has.
_LOWEST = -600.0
_MOST_SHOTS = 200
_MOST_SETTLING = 12
_CLOSE = 1e-6
# In radians; a double near a right angle is no finer than a fifth of it.
_LEAST = 1e-15
# By how much ln tan(δ/4) at the clamp grows with u, about; found by trial, for the first shot.
_USUAL_SLOPE = 0.93
# Half of how that slope grows; by trial too, for the first two.
_USUAL_CURVE = -0.08
# By how much ln tan(δ/4) grows less than by Liouville and Green's approximation; found by trial.
_TAPERING = 0.2


class Trace(NamedTuple):
    """A run from the tip to the clamp, by nodes and by steps.

    At the nodes δ, the moment in N·mm, how far they lie above the tip in mm, the sine and the cosine of δ; of
    the steps, h·dδ/dt at both ends.
    """

    deltas: list[float]
    moments: list[float]
    downs_mm: list[float]
    sines: list[float]
    cosines: list[float]
    first_turns: list[float]
    last_turns: list[float]


class Aim(NamedTuple):
    """u, and how ln tan(δ/4) at the clamp goes with it there: its slope, and half its second derivative."""

    u: float
    slope: float
    curve: float

    def corrected(self, missed: float) -> float:
        """Where what is missed at u is nothing, with the slope that holds halfway there."""
        return self.u - missed / max(self.slope - self.curve * missed / self.slope, 0.5 * self.slope)

    def on_another_mesh(self, missed: float) -> float:
        """Where nothing is missed on a mesh that misses by so much at u.

        As if that mesh lay so much further along the same curve: it bends as the curve does from u onwards.
        """
        return self.u - missed / max(self.slope + self.curve * missed / self.slope, 0.5 * self.slope)


class Bends(NamedTuple):
    """What of a blank says about how far it will bend, without solving anything.

    `turn_per_n`: how far each newton would turn it, in radians, were it straight and square to the load.
    `growth_per_root_n`: the integral of 1/√EI along it, in 1/√N. `taken_off`: a quarter of the logarithm of
    how many times EI grows from tip to clamp.
    """

    turn_per_n: float
    growth_per_root_n: float
    taken_off: float

    def guess(self, load_n: float, clamp_delta: float) -> float:
        """u for a load: by how much ln tan(δ/4) grows from tip to clamp, taken off what it is there.

        The greater of two: what a uniform blank that turns as far would have, which is exact for one under
        a very heavy load, and what a slowly tapering one has (Liouville and Green's approximation, from
        memory), whose constant was found by trial.
        """
        root = sqrt(2.0 * self.turn_per_n * load_n)
        # ln cosh root
        uniform = root + log(0.5 + 0.5 * exp(-2.0 * root))
        tapering = self.growth_per_root_n * sqrt(load_n) - self.taken_off - _TAPERING
        return max(log(tan(clamp_delta / 4.0)) - max(uniform, tapering), _LOWEST)


def bends_of(steps: Sequence[Step]) -> Bends:
    """What steps from the tip to the clamp say; the integrals by Simpson's rule."""
    turn = growth = out = 0.0
    for length, first, middle, last in steps:
        turn += (first * out + 4.0 * middle * (out + 0.5 * length) + last * (out + length)) / 3.0
        growth += sqrt(2.0 * length) * (sqrt(first) + 4.0 * sqrt(middle) + sqrt(last)) / 6.0
        out += length
    at_tip, at_clamp = steps[0][1] / steps[0][0], steps[-1][3] / steps[-1][0]
    return Bends(turn, growth, 0.25 * log(at_tip / at_clamp))


def aim(steps: Sequence[Step], load_n: float, clamp_delta: float, start: float, close: float) -> Aim:
    """u for which δ at the clamp is `clamp_delta`. Raises `SumFault` on `load`.

    By Muller's method (Math. Tables Aids Comput. 10 (1956) 208–215, from memory), the nearest zero of the
    parabola through three shots, kept inside a bracket, which is halved where it leaves that. It ends with
    one correction more from where the clamp is missed by `close` of what the blank turns, so that much less
    is left.
    """
    target = log(tan(clamp_delta / 4.0))
    low, high, u = -inf, target, min(start, target)
    shots: list[Shot] = []
    for tried in range(_MOST_SHOTS):
        missed = _log_tan(_shoot(steps, load_n, delta_of(u))) - target
        if missed < inf:
            shots.append((u, missed))
            here = _through(shots)
            follows = here.corrected(missed)
            if abs(missed) <= close * min(1.0, target - u):
                return Aim(follows, here.slope + 2.0 * here.curve * (follows - u), here.curve)
        else:
            # Too far past the clamp to say how far: step back, twice as far each time, until it falls short.
            shots.clear()
            follows = u - 2.0**tried
        low, high = (low, u) if missed > 0.0 else (u, high)
        u = follows if low < follows < high else max(0.5 * (low + high), high - 2.0**tried)
        if u < _LOWEST:
            break
    raise SumFault(
        {"load": "The load is too great for this blank: it would hang straight down from its clamp."}
    )


def _through(shots: Sequence[Shot]) -> Aim:
    """The last shot, and the parabola through the last three; through two, the one that usually is."""
    u, missed = shots[-1]
    if len(shots) == 1 or missed == shots[-2][1]:
        return Aim(u, _USUAL_SLOPE, _USUAL_CURVE)
    u_1, missed_1 = shots[-2]
    slope = (missed - missed_1) / (u - u_1)
    if len(shots) == 2:
        steep = slope + _USUAL_CURVE * (u - u_1)
        return Aim(u, steep, _USUAL_CURVE) if steep > 0.0 else Aim(u, slope, 0.0)
    u_0, missed_0 = shots[-3]
    curve = (slope - (missed_1 - missed_0) / (u_1 - u_0)) / (u - u_0)
    steep = slope + curve * (u - u_1)
    return Aim(u, steep, curve) if steep > 0.0 else Aim(u, slope, 0.0)


def settle(
    steps: Sequence[Step], load_n: float, clamp_delta: float, aimed: Aim, within: float
) -> tuple[float, Trace]:
    """u, and the run that misses the clamp by less than `within` of what the blank turns, from nearby.

    Raises `SumFault` on `load`.
    """
    target = log(tan(clamp_delta / 4.0))
    within = max(within * min(1.0, clamp_delta - delta_of(aimed.u)), _LEAST)
    missed = _log_tan(_shoot(steps, load_n, delta_of(aimed.u))) - target
    if missed == inf:
        # The nearby solution is not near enough for the clamp to be reached at all: aim anew.
        aimed, missed = aim(steps, load_n, clamp_delta, aimed.u, _CLOSE), 0.0
    u = aimed.on_another_mesh(missed)
    for _ in range(_MOST_SETTLING):
        trace = run(steps, load_n, u)
        reached = trace.deltas[-1]
        if abs(reached - clamp_delta) <= within:
            return u, trace
        before, missed = missed, _log_tan(reached) - target
        if missed == inf:
            break
        differs = u != aimed.u and missed != before
        aimed = Aim(u, (missed - before) / (u - aimed.u) if differs else aimed.slope, 0.0)
        u = aimed.corrected(missed)
    raise SumFault({"load": "No shape was found for this load; it may be far too great for the blank."})


def run(steps: Sequence[Step], load_n: float, u: float) -> Trace:
    """The run from a tip at u; how far down it comes by the trapezoid rule with corrected ends."""
    delta, moment, down = delta_of(u), 0.0, 0.0
    rise_1, fall_1 = sin(delta), cos(delta)
    deltas, moments, downs, sines, cosines = [delta], [moment], [down], [rise_1], [fall_1]
    first_turns, last_turns = [], []
    for length, first, middle, last in steps:
        push = load_n * length
        half = 0.5 * push
        moment_2 = moment + half * rise_1
        turn_1 = first * moment
        rise_2 = sin(delta + turn_1)
        moment_3 = moment + half * rise_2
        rise_3 = sin(delta + middle * moment_2)
        rise_4 = sin(delta + 2.0 * middle * moment_3)
        delta += (turn_1 + 2.0 * middle * (moment_2 + moment_3) + last * (moment + push * rise_3)) / 3.0
        moment += push * (rise_1 + rise_4 + 2.0 * (rise_2 + rise_3)) / 6.0
        rise, fall, turn = sin(delta), cos(delta), last * moment
        down += length * (0.5 * (fall_1 + fall) + (rise * turn - rise_1 * turn_1) / 6.0)
        rise_1, fall_1 = rise, fall
        deltas.append(delta)
        moments.append(moment)
        downs.append(down)
        sines.append(rise)
        cosines.append(fall)
        first_turns.append(2.0 * turn_1)
        last_turns.append(2.0 * turn)
    return Trace(deltas, moments, downs, sines, cosines, first_turns, last_turns)


def _shoot(steps: Sequence[Step], load_n: float, delta: float) -> float:
    """δ at the clamp, or infinity as soon as it is past π, where no clamp is. The same steps as in `run`."""
    moment = 0.0
    for length, first, middle, last in steps:
        push = load_n * length
        half = 0.5 * push
        rise_1 = sin(delta)
        turn_1 = first * moment
        moment_2 = moment + half * rise_1
        rise_2 = sin(delta + turn_1)
        moment_3 = moment + half * rise_2
        rise_3 = sin(delta + middle * moment_2)
        middle += middle
        rise_4 = sin(delta + middle * moment_3)
        delta += (turn_1 + middle * (moment_2 + moment_3) + last * (moment + push * rise_3)) / 3.0
        if delta > pi:
            return inf
        moment += push * (rise_1 + rise_4 + 2.0 * (rise_2 + rise_3)) / 6.0
    return delta


def delta_of(u: float) -> float:
    """δ in radians from u."""
    return 4.0 * atan(exp(u))


def _log_tan(delta: float) -> float:
    return log(tan(delta / 4.0)) if 0.0 < delta < pi else inf
