"""Which load sags a blank so far, how stiff a blank is that sagged so far, and its stiffness number.

A blank that is k times as stiff takes the same shape under k times the load, so that a measured sag asks
only which load would give it at the stiffness that was assumed.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import copysign, exp, inf, isfinite, log

from shop.craft.faults import SumFault
from shop.craft.flex.beam import DEFAULT_POINTS, GRAVITY_M_S2, Stiffness, bend, newtons_of
from shop.craft.flex.section import Section
from shop.craft.flex.shape import Shape

# Nearer to the whole length, a sag says next to nothing of the load.
MOST_SAG = 0.95
# How near the sag is met, in parts of it; a measured one is never as exact as that.
_CLOSE = 1e-7
_MOST_TRIES = 60
_WITHIN = 1e-6
# In natural logarithms: no step makes a load more than twenty times as much.
_LONGEST = 3.0


@dataclass(frozen=True, slots=True)
class Loaded:
    """A load in N, and the shape that it gives."""

    load_n: float
    shape: Shape

    @property
    def load_g(self) -> float:
        """The load as a hung mass in g, by standard gravity."""
        return self.load_n / GRAVITY_M_S2 * 1000.0


@dataclass(frozen=True, slots=True)
class Fitted:
    """A blank whose stiffness agrees with a measured sag, and how many times as stiff as assumed it is."""

    blank: Section
    times: float


def load_for_sag(blank: Stiffness, sag_mm: float, clamp_mm: float = 0.0, field: str = "test_sag") -> Loaded:
    """The load that brings the tip of a blank, clamped level, down by `sag_mm`.

    The sag grows with the load, and for little ones evenly; the load is sought by secants on the logarithms
    of both, inside a bracket that is halved where they leave it.
    Raises `SumFault` on `field` for a sag that cannot be or is not reached, and on
    `clamp_from_butt`.
    """
    _check(blank, sag_mm, clamp_mm, field)

    def missed(log_load: float) -> float:
        return log(_shape(blank, exp(log_load), clamp_mm, field).tip_drop_mm / sag_mm)

    at, slope = _light(blank, sag_mm, clamp_mm, field), 1.0
    low, high = -inf, inf
    before: tuple[float, float] | None = None
    for _ in range(_MOST_TRIES):
        now = missed(at)
        if abs(now) <= _CLOSE:
            break
        low, high = (at, high) if now < 0.0 else (low, at)
        if before is not None and at != before[0]:
            slope = (now - before[1]) / (at - before[0])
        before = (at, now)
        follows = at - now / slope if slope > 0.0 else inf
        if not low < follows < high:
            follows = 0.5 * (low + high) if isfinite(low + high) else at + copysign(1.0, -now)
        at = min(max(follows, at - _LONGEST), at + _LONGEST)
    return Loaded(exp(at), _shape(blank, exp(at), clamp_mm, field, DEFAULT_POINTS))


# A blank is asked about several times over: its static test, its line, its layout.
@lru_cache(maxsize=64)
def fitted_to(blank: Section, load_g: float, sag_mm: float, clamp_mm: float = 0.0) -> Fitted:
    """The blank made as stiff as a measured sag says: `load_g` at the tip sagged it, clamped level, so far.

    One factor for its whole length. Raises `SumFault` on `test_load`, `test_sag` and `clamp_from_butt`.
    """
    if load_g <= 0.0:
        raise SumFault({"test_load": "The load that was measured with must be more than nothing."})
    times = newtons_of(load_g) / load_for_sag(blank, sag_mm, clamp_mm).load_n
    return Fitted(blank.scaled(times), times)


def third_length_load(blank: Stiffness, clamp_mm: float = 0.0) -> Loaded:
    """The load that sags the tip by a third of the free length, the blank clamped level, and the shape then.

    Common practice as the measure of a blank's power, its tip angle as that of its action. Raises
    `SumFault` on `clamp_from_butt` and `stations`.
    """
    return load_for_sag(blank, (blank.breaks_mm[-1] - clamp_mm) / 3.0, clamp_mm, "stations")


def _check(blank: Stiffness, sag_mm: float, clamp_mm: float, field: str) -> None:
    free_mm = blank.breaks_mm[-1] - clamp_mm
    if clamp_mm < 0.0 or free_mm <= 0.0:
        raise SumFault(
            {"clamp_from_butt": f"The clamp is {clamp_mm:.1f} mm from the butt, which is not on the blank."}
        )
    if not 0.0 < sag_mm <= MOST_SAG * free_mm:
        raise SumFault(
            {
                field: f"A sag of {sag_mm:.1f} mm gives no stiffness: it must be more than nothing "
                f"and at most {MOST_SAG:.0%} of the free length of {free_mm:.1f} mm."
            }
        )


def _shape(blank: Stiffness, load_n: float, clamp_mm: float, field: str, points: int = 2) -> Shape:
    """The shape under a load that nobody gave, so that what is wrong is said of `field`."""
    try:
        return bend(blank, load_n, clamp_mm, points=points, within=_WITHIN)
    except SumFault as fault:
        raise SumFault({field: f"No load was found that sags this blank so far: {fault}"}) from fault


def _light(blank: Stiffness, sag_mm: float, clamp_mm: float, field: str) -> float:
    """The logarithm of the load that would sag a blank so far if sags grew evenly."""
    free_mm = blank.breaks_mm[-1] - clamp_mm
    soft = max(max(ends) for ends in blank.softness())
    little_n = 1e-3 / (soft * free_mm * free_mm)
    return log(little_n * sag_mm / _shape(blank, little_n, clamp_mm, field).tip_drop_mm)
