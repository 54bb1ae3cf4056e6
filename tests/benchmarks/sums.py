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
# Ninety days of a reading every five minutes.
STEP = 300.0
A_DAY = 288
TURNS = 30
_OVER = f"{CURES} cures over {READINGS:,} readings of 90 days"
# The lines of the table with their targets, in the order in which they are measured.
LINES = (
    (f"{_OVER}, a further reading taken in and all asked", "≤ 2, goal 1"),
    (f"{_OVER}, never asked for", "none"),
    (f"{_OVER}, all still hardening, a further reading taken in", "none"),
)
# The sheet's reference of 24 °C in kelvin, and Ea/R in kelvin for a rate that doubles from 24 °C to 34 °C.
REFERENCE_K = 297.15
EA_OVER_R = log(2) / (1 / REFERENCE_K - 1 / (REFERENCE_K + 10))


class Sums(NamedTuple):
    """Milliseconds for 500 cures, numpy's floor and ours in alternating turns.

    `apart_s` is how far the instants of the two lie apart at most, in seconds, of cures that were hard
    before the last reading; none where there is no such cure. After it the shop assumes a temperature, and
    the floor knows of none.
    """

    numpy_ms: float
    ours_ms: float
    apart_s: float | None


def has_numpy() -> bool:
    """Whether the floor can be measured here."""
    return find_spec("numpy") is not None


class _Case(NamedTuple):
    """A zone's readings and the cures that harden in it."""

    times: list[float]
    celsius: list[float]
    closed: list[float]
    sheets: list[Sheet]


def _case(closes: Callable[[random.Random], float]) -> _Case:
    chance = random.Random(3)
    return _Case(
        times=[START + STEP * n for n in range(READINGS)],
        celsius=[21 + 3 * cos(tau * n / A_DAY) + chance.uniform(-0.1, 0.1) for n in range(READINGS)],
        closed=[closes(chance) for _ in range(CURES)],
        sheets=[Sheet(24.0, 60.0, 600.0, 1440.0 + n % PRODUCTS, doubling_c=10.0) for n in range(CURES)],
    )


def measure() -> list[Sums]:
    """Measure both, for each of `LINES`. Needs numpy: ask `has_numpy` first."""
    spread = _case(lambda chance: START + STEP * chance.randrange(READINGS))
    # Hard after a day at 24 °C and later at what this zone has.
    soft = _case(lambda chance: START + STEP * READINGS - chance.uniform(0, 20 * 3600))
    return [_measured(spread, again=True), _measured(spread, again=False), _measured(soft, again=True)]


def _measured(case: _Case, again: bool) -> Sums:
    """With `again`, the same cures and one reading more each turn; else other cures each turn."""
    by_numpy = _numpy_floor(case)
    clock = ZoneClock(TemperatureLine(18.0, 3600.0, zip(case.times, case.celsius, strict=True)))
    turns = iter(range(TURNS))

    def ask(later: float = 0.0) -> list[float | None]:
        return [clock.times(s, at + later).full_at for s, at in zip(case.sheets, case.closed, strict=True)]

    def take_in_and_ask() -> None:
        clock.take_in({None: [(START + STEP * (READINGS + next(turns)), 21.0)]})
        ask()

    pairs = zip(ask(), by_numpy()[1], strict=True)
    known = [(ours, floor) for ours, floor in pairs if ours is not None and ours <= case.times[-1]]
    apart = max((abs(ours - float(floor)) for ours, floor in known), default=None)
    work = take_in_and_ask if again else lambda: ask((next(turns) + 1) / 7)
    numpy_ms, ours_ms = _median_ms(by_numpy, work)
    return Sums(numpy_ms, ours_ms, apart)


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
    # What is not reached by the last reading goes on as between the last two.
    piece = numpy.minimum(numpy.searchsorted(sums, wanted) - 1, len(at) - 2)
    return at[piece] + (wanted - sums[piece]) / (sums[piece + 1] - sums[piece]) * STEP


def _median_ms(*works: Callable[[], object]) -> tuple[float, ...]:
    """The median of each, in milliseconds; they take turns."""
    times: list[list[float]] = [[] for _ in works]
    for _ in range(TURNS):
        for work, taken in zip(works, times, strict=True):
            began = time.perf_counter()
            work()
            taken.append((time.perf_counter() - began) * 1000)
    return tuple(statistics.median(taken) for taken in times)
