"""The cure clock's rule by brute force: no running sums, no clever pieces, steps without number.

Independent of the program's own code: the rule is written out here once more, as plainly as it can be.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise

import numpy
from numpy.typing import NDArray

R = 8.31446261815324
STEPS = 2000
# One thermometer's reading as it is entered: the zone, which thermometer, when and how warm in °C.
Entry = tuple[int, int | None, float, float]
Array = NDArray[numpy.float64]


@dataclass
class History:
    """What was entered, in that order; of two by one thermometer at one instant the later counts."""

    assumed: dict[int, float]
    gap: float
    entries: list[Entry] = field(default_factory=list)

    def by_sensor(self, zone: int) -> list[list[tuple[float, float]]]:
        """Each thermometer's readings in the order of time."""
        found: dict[int | None, dict[float, float]] = {}
        for where, sensor, at, celsius in self.entries:
            if where == zone:
                found.setdefault(sensor, {})[at] = celsius
        return [sorted(readings.items()) for readings in found.values()]

    def corners(self, zone: int) -> set[float]:
        """Every instant at which the rule may change its mind about a zone."""
        instants = {at for where, _, at, _ in self.entries if where == zone}
        return instants | {at + self.gap for at in instants}

    def celsius(self, zone: int, at: Array, warmest: bool = False) -> Array:
        """The temperature of a zone at instants: the coldest (or warmest) that speaks, else what is assumed.

        The instants are those of one stretch between two neighbouring corners.
        """
        pick = numpy.maximum if warmest else numpy.minimum
        result: Array | None = None
        for readings in self.by_sensor(zone):
            said = self._said(readings, at)
            if said is not None:
                result = said if result is None else pick(result, said)
        return numpy.full_like(at, self.assumed[zone]) if result is None else result

    def _said(self, readings: list[tuple[float, float]], at: Array) -> Array | None:
        """What one thermometer says within the stretch of the instants, or none where it is silent."""
        middle = float(at[len(at) // 2])
        after = bisect_right([when for when, _ in readings], middle)
        if after == 0:
            return None
        was_at, was = readings[after - 1]
        if after < len(readings) and readings[after][0] - was_at <= self.gap:
            next_at, following = readings[after]
            said: Array = was + (following - was) * (at - was_at) / (next_at - was_at)
            return said
        return numpy.full_like(at, was) if middle < was_at + self.gap else None


@dataclass(frozen=True)
class Law:
    """What a data sheet says of the rate."""

    reference_c: float
    doubling_c: float
    coldest_c: float
    cap: float

    def free(self, celsius: Array) -> Array:
        """The Arrhenius rate without any limit."""
        kelvin, reference = celsius + 273.15, self.reference_c + 273.15
        energy = R * numpy.log(2) / (1 / reference - 1 / (reference + self.doubling_c))
        rate: Array = numpy.exp(-energy / R * (1 / kelvin - 1 / reference))
        return rate

    def credit(self, celsius: Array) -> Array:
        """Seconds of credit a second."""
        return numpy.where(celsius < self.coldest_c, 0.0, numpy.minimum(self.cap, self.free(celsius)))

    def pot(self, celsius: Array) -> Array:
        """Seconds of pot life used up a second."""
        return numpy.maximum(1.0, self.free(celsius))


def rate(celsius: float, reference_c: float, doubling_c: float) -> float:
    """Seconds of age a second without any limit: 2 to the power of the way in 1/T, in risings that double."""
    kelvin, reference, doubled = (celsius + 273.15, reference_c + 273.15, reference_c + doubling_c + 273.15)
    return float(2 ** ((1 / reference - 1 / kelvin) / (1 / reference - 1 / doubled)))


def credit(history: History, law: Law, stays: Iterable[tuple[float, int]], start: float, end: float) -> float:
    """Credit in seconds that a cure gains from `start` to `end` while it lies in one zone after another."""
    stays = list(stays)
    total = 0.0
    for number, (since, zone) in enumerate(stays):
        until = stays[number + 1][0] if number + 1 < len(stays) else end
        first, last = (start if number == 0 else max(start, since)), min(end, until)
        for at, wide in _steps(history, zone, first, last):
            total += float(law.credit(history.celsius(zone, at)).sum() * wide)
    return total


def pot_used(history: History, law: Law, zone: int, start: float, end: float) -> float:
    """How much of the pot life is used up from `start` to `end`, in seconds."""
    steps = _steps(history, zone, start, end)
    return sum(float(law.pot(history.celsius(zone, at, warmest=True)).sum() * wide) for at, wide in steps)


def _steps(history: History, zone: int, start: float, end: float) -> Iterable[tuple[Array, float]]:
    """Midpoints of the steps of each stretch between two corners, and how wide a step is in seconds."""
    if end <= start:
        return
    corners = sorted(history.corners(zone))
    inside = corners[bisect_right(corners, start) : bisect_left(corners, end)]
    for first, last in pairwise([start, *inside, end]):
        wide = (last - first) / STEPS
        middles: Array = first + wide * (numpy.arange(STEPS, dtype=numpy.float64) + 0.5)
        yield middles, wide
