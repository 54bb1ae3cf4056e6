"""How fast a cure ages at a temperature, and how much age a zone's line has given between two instants.

Age is equivalent age at the data sheet's temperature: the maturity method of ASTM C1074 in its Arrhenius
form, rate(T) = exp(−(Ea/R)(1/T − 1/T_ref)) with T in kelvin. Rates are averaged, never temperatures. What
a sheet asks for, and the answers in instants, are in `shop.craft.cure`.
"""

from array import array
from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from functools import lru_cache
from math import ceil, exp, inf, log, sqrt
from typing import Protocol

from shop.craft.temperature import ZERO_CELSIUS_K, kelvin_of_celsius
from shop.craft.warmth import Line

GAS_CONSTANT = 8.31446261815324  # J/(mol K), CODATA 2018, exact since the SI of 2019
# Gauss-Legendre nodes and weights, as parts of the interval: Abramowitz and Stegun, table 25.4.
_TWO_NODE = 0.5 / sqrt(3)
_FOUR = tuple(
    (side * node / 2, weight / 2)
    for node, weight in (
        (sqrt(3 / 7 - 2 / 7 * sqrt(6 / 5)), (18 + sqrt(30)) / 36),
        (sqrt(3 / 7 + 2 / 7 * sqrt(6 / 5)), (18 - sqrt(30)) / 36),
    )
    for side in (-1, 1)
)
# A rate that changes by a factor of e^x over a step is averaged with a relative error of x^4/4320 by two
# nodes and of 5.6e-10 x^8 by four (the remainders of table 25.4): below 2e-9 within these bounds.
_TWO_NODE_CHANGE = 0.05
_FOUR_NODE_CHANGE = 0.7
# An instant found to a quarter of a microsecond is as good as a double of seconds since 1970 can say it.
_NEAR_SECONDS = 2.5e-7


def activation_energy(reference_c: float, doubling_c: float) -> float:
    """Ea in J/mol such that the rate doubles from `reference_c` to `doubling_c` above it.

    Ea = R ln 2 / (1/T_ref − 1/(T_ref + doubling)).
    """
    reference = kelvin_of_celsius(reference_c)
    return GAS_CONSTANT * log(2) / (1 / reference - 1 / (reference + doubling_c))


@dataclass(frozen=True, slots=True)
class RateLaw:
    """How fast age grows with temperature, in seconds of age a second; `ea_over_r` is Ea/R in kelvin.

    Below `low_c` the rate is `low_rate`, at `high_c` and above it is `high_rate`; between them it is the
    Arrhenius rate, 1 at `reference_c`.
    """

    reference_c: float
    ea_over_r: float
    low_c: float
    low_rate: float
    high_c: float = inf
    high_rate: float = inf

    def rate(self, celsius: float) -> float:
        """The rate at a temperature."""
        if celsius < self.low_c:
            return self.low_rate
        if celsius >= self.high_c:
            return self.high_rate
        top = self.ea_over_r / (self.reference_c + ZERO_CELSIUS_K)
        return exp(top - self.ea_over_r / (celsius + ZERO_CELSIUS_K))

    def mean(self, first_c: float, last_c: float) -> float:
        """The mean rate while the temperature goes in a straight line from one to the other."""
        if first_c == last_c:
            return self.rate(first_c)
        low, high = (first_c, last_c) if first_c < last_c else (last_c, first_c)
        low_c, high_c = self.low_c, self.high_c
        if low_c <= low and high <= high_c:
            return self._mean_between(low, high)
        total = 0.0
        if low < low_c:
            total += self.low_rate * (min(high, low_c) - low)
        if high > high_c:
            total += self.high_rate * (high - max(low, high_c))
        middle_low, middle_high = max(low, low_c), min(high, high_c)
        if middle_high > middle_low:
            total += self._mean_between(middle_low, middle_high) * (middle_high - middle_low)
        return total / (high - low)

    def bend(self, first_c: float, last_c: float) -> float:
        """At most how much the logarithm of the rate changes along a line; infinite where the rate jumps."""
        coldest = min(first_c, last_c)
        if coldest < self.low_c <= max(first_c, last_c):
            return inf
        return self.ea_over_r * abs(last_c - first_c) / (coldest + ZERO_CELSIUS_K) ** 2

    def _mean_between(self, low: float, high: float) -> float:
        """The mean rate between two temperatures within the limits, by Gauss-Legendre quadrature."""
        ea_over_r = self.ea_over_r
        top = ea_over_r / (self.reference_c + ZERO_CELSIUS_K)
        width, middle = high - low, (low + high) / 2 + ZERO_CELSIUS_K
        change = ea_over_r * width / (middle * middle)
        if change <= _TWO_NODE_CHANGE:
            off = width * _TWO_NODE
            return (exp(top - ea_over_r / (middle - off)) + exp(top - ea_over_r / (middle + off))) / 2
        steps = ceil(change / _FOUR_NODE_CHANGE)
        step = width / steps
        middles = (low + ZERO_CELSIUS_K + (number + 0.5) * step for number in range(steps))
        nodes = ((middle + step * node, weight) for middle in middles for node, weight in _FOUR)
        return sum(weight * exp(top - ea_over_r / kelvin) for kelvin, weight in nodes) / steps


@lru_cache(maxsize=512)
def credit_law(reference_c: float, doubling_c: float, coldest_c: float, credit_cap: float) -> RateLaw:
    """The law of cure credit: nothing below `coldest_c`, never more than `credit_cap`."""
    ea_over_r = activation_energy(reference_c, doubling_c) / GAS_CONSTANT
    inverse = 1 / kelvin_of_celsius(reference_c) - log(credit_cap) / ea_over_r
    high_c = inf if inverse <= 0 else 1 / inverse - ZERO_CELSIUS_K
    return RateLaw(reference_c, ea_over_r, coldest_c, 0.0, high_c, credit_cap)


@lru_cache(maxsize=512)
def pot_life_law(reference_c: float, doubling_c: float) -> RateLaw:
    """The law of pot life: warmth shortens it without limit, cold never makes it longer than the sheet."""
    ea_over_r = activation_energy(reference_c, doubling_c) / GAS_CONSTANT
    return RateLaw(reference_c, ea_over_r, reference_c, 1.0)


class Ages(Protocol):
    """What the cure clock asks: age at an instant, and the instant at which an age is reached."""

    def age_at(self, at: float) -> float:
        """Age at an instant, in seconds, counted from some fixed beginning."""

    def reached(self, start: float, age: float) -> float | None:
        """The first instant from `start` on at which an age is reached, or none if it never is."""


class Ageing:
    """Running sums of age along a line, by one law: one pass to make them, then O(log n) an answer.

    Age is counted from the line's first piece and is negative before it. `known` are the sums that
    another line had for the pieces at this one's beginning, given away to it; only the rest is added up.
    """

    def __init__(self, line: Line, law: RateLaw, known: "array[float] | None" = None) -> None:
        self._line = line
        self._law = law
        self._assumed = law.rate(line.assumed_c)
        starts, first, last, mean = line.starts, line.first_c, line.last_c, law.mean
        sums = known or array("d", [0.0])
        total = sums[-1]
        for piece in range(len(sums) - 1, len(starts) - 1):
            total += mean(first[piece], last[piece]) * (starts[piece + 1] - starts[piece])
            sums.append(total)
        self._sums = sums

    def sums_before(self, piece: int) -> "array[float]":
        """The sums up to the beginning of a piece, for a line that goes on from there."""
        return self._sums[: piece + 1]

    def age_at(self, at: float) -> float:
        """Age at an instant, in seconds, counted from the line's first piece."""
        starts = self._line.starts
        piece = bisect_right(starts, at) - 1
        if piece < 0:
            return (at - starts[0] if starts else at) * self._assumed
        return self._sums[piece] + self._part(piece, at)

    def when(self, start: float, needed: float) -> float | None:
        """The first instant by which `needed` seconds of age are gained since `start`; none if never."""
        return self.reached(start, self.age_at(start) + needed)

    def reached(self, start: float, age: float) -> float | None:
        """The first instant from `start` on at which an age, as `age_at` counts it, is reached, or none."""
        starts, sums = self._line.starts, self._sums
        if not starts or age <= 0:
            since = starts[0] if starts else 0.0
            return max(start, since + age / self._assumed) if self._assumed > 0 else None
        piece = bisect_left(sums, age) - 1
        if piece == len(starts) - 1:
            return max(start, starts[-1] + (age - sums[-1]) / self._assumed) if self._assumed > 0 else None
        return max(start, self._in_piece(piece, age - sums[piece]))

    def _part(self, piece: int, at: float) -> float:
        """Age gained from the start of a piece to an instant in it."""
        line = self._line
        start = line.starts[piece]
        if piece == len(line.starts) - 1:
            return self._assumed * (at - start)
        return self._law.mean(line.first_c[piece], line.in_piece(piece, at)) * (at - start)

    def _in_piece(self, piece: int, needed: float) -> float:
        """The instant in a piece by which `needed` seconds of age are gained: Newton, held in brackets."""
        line, law = self._line, self._law
        low, high = line.starts[piece], line.starts[piece + 1]
        first, last = line.first_c[piece], line.last_c[piece]
        at = low + (high - low) * needed / (self._sums[piece + 1] - self._sums[piece])
        if first == last or min(first, last) >= law.high_c:
            return at
        # Newton's next error is at most half the square of its step, times the bend per second.
        bend = law.bend(first, last) / (high - low) / 2
        for _ in range(60):
            short = needed - self._part(piece, at)
            if short > 0:
                low = at
            else:
                high = at
            speed = law.rate(line.in_piece(piece, at))
            step = short / speed if speed > 0 else inf
            if not low <= at + step <= high:
                step, at = inf, (low + high) / 2
            else:
                at += step
            if abs(step) < _NEAR_SECONDS or step * step * bend < _NEAR_SECONDS or high - low < _NEAR_SECONDS:
                return at
        return high
