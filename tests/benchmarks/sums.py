"""What the cure clock costs beside the cheapest way to add up: numpy's cumulative sums.

Both are given the same readings and find when 500 cures set and are fully cured; their instants are
compared too, for a floor that answers something else would be no floor.
"""

import random
import statistics
import time
from collections.abc import Callable
from importlib.util import find_spec
from math import cos, log, tau
from typing import Any, NamedTuple

from shop.craft.cure import Sheet, ZoneClock
from shop.craft.warmth import TemperatureLine

if find_spec("numpy") is not None:
    import numpy

READINGS = 25_920
CURES = 500
PRODUCTS = 7
START = 1_700_000_000.0
STEP = 60.0
TURNS = 30
# The sheet's reference of 24 °C in kelvin, and Ea/R in kelvin for a rate that doubles from 24 °C to 34 °C.
REFERENCE_K = 297.15
EA_OVER_R = log(2) / (1 / REFERENCE_K - 1 / (REFERENCE_K + 10))


class Sums(NamedTuple):
    """Milliseconds for 500 cures: numpy's floor, ours for cures never asked for, ours as a page asks, a
    further reading having come in; and how far the instants of the two lie apart, in seconds, at most."""

    numpy_ms: float
    first_ms: float
    again_ms: float
    apart_s: float


def has_numpy() -> bool:
    """Whether the floor can be measured here."""
    return find_spec("numpy") is not None


class _Case(NamedTuple):
    """A zone's readings and the cures that harden in it."""

    times: list[float]
    celsius: list[float]
    closed: list[float]
    sheets: list[Sheet]


def _case() -> _Case:
    chance = random.Random(3)
    return _Case(
        times=[START + STEP * n for n in range(READINGS)],
        celsius=[21 + 3 * cos(tau * n / 1440) + chance.uniform(-0.1, 0.1) for n in range(READINGS)],
        closed=[START + STEP * chance.randrange(READINGS // 2) for _ in range(CURES)],
        sheets=[Sheet(24.0, 60.0, 600.0, 1440.0 + n % PRODUCTS, doubling_c=10.0) for n in range(CURES)],
    )


def measure() -> Sums:
    """Measure both. Needs numpy: ask `has_numpy` first."""
    case = _case()
    by_numpy = _numpy_floor(case)
    line = TemperatureLine(18.0, 3600.0, zip(case.times, case.celsius, strict=True))
    clock = ZoneClock(line)

    def ask(later: float = 0.0) -> list[float | None]:
        return [clock.times(s, at + later).full_at for s, at in zip(case.sheets, case.closed, strict=True)]

    apart = max(
        abs(ours - floor) for ours, floor in zip(ask(), by_numpy()[1], strict=True) if ours is not None
    )
    shifts, later = iter(range(1, TURNS + 1)), iter(range(READINGS, READINGS + TURNS))
    first = _median_ms(lambda: ask(next(shifts) / 7))
    again = _median_ms(ask, lambda: clock.add_readings([(START + STEP * next(later), 21.0)]))
    return Sums(_median_ms(by_numpy), first, again, float(apart))


def _numpy_floor(case: _Case) -> Callable[[], tuple[Any, Any]]:
    """The least that anybody can do: one pass over the readings, then a search for each cure."""
    at, warm, closed = (numpy.array(values) for values in (case.times, case.celsius, case.closed))
    sets = numpy.array([sheet.set_minutes * 60 for sheet in case.sheets])
    hardens = numpy.array([sheet.full_cure_minutes * 60 for sheet in case.sheets])

    def ask() -> tuple[Any, Any]:
        rate = numpy.exp(EA_OVER_R * (1 / REFERENCE_K - 1 / (warm + 273.15)))
        rate = numpy.where(warm < 13.0, 0.0, numpy.minimum(1.0, rate))
        sums = numpy.concatenate(([0.0], numpy.cumsum((rate[1:] + rate[:-1]) / 2 * STEP)))
        aged = numpy.interp(closed, at, sums)
        return _reached(sums, at, aged + sets), _reached(sums, at, aged + hardens)

    return ask


def _reached(sums: Any, at: Any, wanted: Any) -> Any:
    piece = numpy.searchsorted(sums, wanted) - 1
    return at[piece] + (wanted - sums[piece]) / (sums[piece + 1] - sums[piece]) * STEP


def _median_ms(work: Callable[[], object], before: Callable[[], None] = lambda: None) -> float:
    times = []
    for _ in range(TURNS):
        before()
        began = time.perf_counter()
        work()
        times.append((time.perf_counter() - began) * 1000)
    return statistics.median(times)
