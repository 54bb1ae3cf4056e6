"""The cure clock: how far a cure has come, by the warmth it has had.

A cure's age is its equivalent age at the data sheet's temperature: the maturity method of ASTM C1074 in
its Arrhenius form, rate(T) = exp(−(Ea/R)(1/T − 1/T_ref)) with T in kelvin. Rates are averaged, never
temperatures. The figures are estimates: the sheet and a hardness check decide.
"""

from array import array
from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from math import ceil, exp, floor, inf, isfinite, log, sqrt

from shop.craft.temperature import kelvin_of_celsius
from shop.craft.warmth import Reading, TemperatureLine

GAS_CONSTANT = 8.31446261815324  # J/(mol K), CODATA 2018, exact since the SI of 2019
DEFAULT_COLDEST_C = 13.0
DEFAULT_DOUBLING_C = 10.0
MOST_CREDIT = 2.0
MOST_MINUTES = 60 * 24 * 365.0
# Gauss-Legendre nodes and weights on [-1, 1]: Abramowitz and Stegun, table 25.4.
_TWO = ((-1 / sqrt(3), 1.0), (1 / sqrt(3), 1.0))
_FOUR = tuple(
    (sign * node, weight)
    for node, weight in (
        (sqrt(3 / 7 - 2 / 7 * sqrt(6 / 5)), (18 + sqrt(30)) / 36),
        (sqrt(3 / 7 + 2 / 7 * sqrt(6 / 5)), (18 - sqrt(30)) / 36),
    )
    for sign in (-1, 1)
)
# Steps of at most these widths keep the quadrature's error below 1e-8 for energies up to 150 kJ/mol.
_TWO_NODE_C = 1.0
_FOUR_NODE_C = 8.0


class CureError(ValueError):
    """Figures that no adhesive can have; the text is a sentence for a person."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """The figures of an adhesive's data sheet; minutes hold at `reference_c`. Raises `CureError`."""

    reference_c: float
    pot_life_minutes: float
    set_minutes: float
    full_cure_minutes: float
    recoat_from_minutes: float | None = None
    recoat_until_minutes: float | None = None
    coldest_c: float | None = None
    doubling_c: float | None = None

    def __post_init__(self) -> None:
        _check_minutes("The pot life", self.pot_life_minutes)
        _check_minutes("The set time", self.set_minutes)
        _check_minutes("The full cure", self.full_cure_minutes)
        if self.full_cure_minutes < self.set_minutes:
            raise CureError("The full cure is shorter than the set time; it cannot be.")
        if self.recoat_from_minutes is not None:
            _check_minutes("The start of the recoat window", self.recoat_from_minutes)
        if self.recoat_until_minutes is not None:
            _check_minutes("The end of the recoat window", self.recoat_until_minutes)
            if self.recoat_from_minutes is None or self.recoat_until_minutes < self.recoat_from_minutes:
                raise CureError("The recoat window ends before it begins.")
        if not -50 <= self.reference_c <= 100:
            raise CureError("The sheet's reference temperature must lie between -50 and 100 °C.")
        if not 0 < self.doubling <= 60:
            raise CureError("The rise that doubles the rate must lie above 0 and at most at 60 °C.")
        if not isfinite(self.coldest) or self.coldest > self.reference_c:
            raise CureError("The coldest temperature of cure cannot lie above the reference temperature.")

    @property
    def coldest(self) -> float:
        """The coldest temperature at which it cures, 13 °C (or the reference, if lower) if not stated."""
        if self.coldest_c is None:
            return min(DEFAULT_COLDEST_C, self.reference_c)
        return self.coldest_c

    @property
    def doubling(self) -> float:
        """The rise above reference that doubles the rate, 10 °C where the sheet is silent."""
        return DEFAULT_DOUBLING_C if self.doubling_c is None else self.doubling_c


def _check_minutes(what: str, minutes: float) -> None:
    if not 0 < minutes <= MOST_MINUTES:  # also refuses NaN and infinities
        raise CureError(f"{what} must be above 0 and at most a year, in minutes.")


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

    def arrhenius(self, celsius: float) -> float:
        """The rate without its limits."""
        reference = kelvin_of_celsius(self.reference_c)
        return exp(self.ea_over_r * (1 / reference - 1 / kelvin_of_celsius(celsius)))

    def rate(self, celsius: float) -> float:
        """The rate with its limits."""
        if celsius < self.low_c:
            return self.low_rate
        return self.high_rate if celsius >= self.high_c else self.arrhenius(celsius)

    def mean(self, first_c: float, last_c: float) -> float:
        """The mean rate while the temperature goes in a straight line from one to the other."""
        if first_c == last_c:
            return self.rate(first_c)
        low, high = (first_c, last_c) if first_c < last_c else (last_c, first_c)
        total = 0.0
        if low < self.low_c:
            total += self.low_rate * (min(high, self.low_c) - low)
        if high > self.high_c:
            total += self.high_rate * (high - max(low, self.high_c))
        middle_low, middle_high = max(low, self.low_c), min(high, self.high_c)
        if middle_high > middle_low:
            total += self._integral(middle_low, middle_high)
        return total / (high - low)

    def _integral(self, low: float, high: float) -> float:
        """The integral of the Arrhenius rate over temperature, by Gauss-Legendre quadrature."""
        width = high - low
        nodes = _TWO if width <= _TWO_NODE_C else _FOUR
        steps = 1 if width <= _FOUR_NODE_C else ceil(width / _FOUR_NODE_C)
        half = width / steps / 2
        middles = (low + (2 * step + 1) * half for step in range(steps))
        return half * sum(
            weight * self.arrhenius(middle + half * node) for middle in middles for node, weight in nodes
        )


@lru_cache(maxsize=512)
def cure_law(reference_c: float, doubling_c: float, coldest_c: float, credit_cap: float) -> RateLaw:
    """The law of cure credit: nothing below `coldest_c`, never more than `credit_cap`. Raises `CureError`."""
    if not 1.0 <= credit_cap <= MOST_CREDIT:
        raise CureError(f"The credit cap must lie between 1 and {MOST_CREDIT:g}.")
    ea_over_r = activation_energy(reference_c, doubling_c) / GAS_CONSTANT
    inverse = 1 / kelvin_of_celsius(reference_c) - log(credit_cap) / ea_over_r
    high_c = inf if inverse <= 0 else 1 / inverse - kelvin_of_celsius(0)
    return RateLaw(reference_c, ea_over_r, coldest_c, 0.0, high_c, credit_cap)


@lru_cache(maxsize=512)
def pot_life_law(reference_c: float, doubling_c: float) -> RateLaw:
    """The law of pot life: warmth shortens it without limit, cold never makes it longer than the sheet."""
    ea_over_r = activation_energy(reference_c, doubling_c) / GAS_CONSTANT
    return RateLaw(reference_c, ea_over_r, reference_c, 1.0)


class Ageing:
    """Running sums of age along a line, by one law; an answer takes O(log n) once they are made.

    Adding a reading costs a term for each new piece of the line. Not safe to use from two threads at once.
    """

    def __init__(self, line: TemperatureLine, law: RateLaw) -> None:
        self._line = line
        self._law = law
        self._sums = array("d")

    def forget_from(self, piece: int) -> None:
        """The pieces from this one on have changed."""
        del self._sums[piece + 1 :]

    def age_between(self, start: float, end: float) -> float:
        """Seconds of age gained between two instants."""
        self._extend()
        return self._age_at(end) - self._age_at(start)

    def when(self, start: float, needed: float) -> float | None:
        """The first instant by which `needed` seconds of age have been gained since `start`, or none."""
        self._extend()
        starts, sums = self._line.starts, self._sums
        assumed = self._law.rate(self._line.assumed_c)
        target = self._age_at(start) + needed
        if not starts or target <= 0:
            return start + needed / assumed if assumed > 0 else None
        piece = bisect_left(sums, target) - 1
        if piece == len(starts) - 1:
            return max(start, starts[-1] + (target - sums[-1]) / assumed) if assumed > 0 else None
        return max(start, self._in_piece(piece, target - sums[piece]))

    def _extend(self) -> None:
        line, law, sums = self._line, self._law, self._sums
        starts, first, last = line.starts, line.first_c, line.last_c
        if not sums and starts:
            sums.append(0.0)
        for piece in range(len(sums) - 1, len(starts) - 1):
            mean = law.mean(first[piece], last[piece])
            sums.append(sums[piece] + mean * (starts[piece + 1] - starts[piece]))

    def _age_at(self, at: float) -> float:
        """Age at an instant, counted from the line's first piece; negative before it."""
        starts = self._line.starts
        piece = bisect_right(starts, at) - 1
        if piece < 0:
            origin = starts[0] if starts else 0.0
            return (at - origin) * self._law.rate(self._line.assumed_c)
        return self._sums[piece] + self._part(piece, at)

    def _part(self, piece: int, at: float) -> float:
        """Age gained from the start of a piece to an instant in it."""
        line = self._line
        start = line.starts[piece]
        if piece == len(line.starts) - 1:
            return self._law.rate(line.assumed_c) * (at - start)
        return self._law.mean(line.first_c[piece], line.in_piece(piece, at)) * (at - start)

    def _in_piece(self, piece: int, needed: float) -> float:
        """The instant in a piece by which `needed` seconds of age are gained: Newton, held in brackets."""
        line, law = self._line, self._law
        low, high = line.starts[piece], line.starts[piece + 1]
        if line.first_c[piece] == line.last_c[piece]:
            return low + needed / law.rate(line.first_c[piece])
        at = low + needed * (high - low) / (self._sums[piece + 1] - self._sums[piece])
        for _ in range(60):
            short = needed - self._part(piece, at)
            if short > 0:
                low = at
            else:
                high = at
            rate = law.rate(line.in_piece(piece, at))
            step = at + short / rate if rate > 0 else inf
            nearer = step if low < step < high else (low + high) / 2
            if abs(nearer - at) < 1e-6:
                return nearer
            at = nearer
        return high


@dataclass(frozen=True, slots=True)
class CureTimes:
    """When a cure has set, is fully cured, and may be recoated; none where stalled or the sheet is silent.

    Seconds since 1970. All four count the same age, the one that cold slows and warmth does not hurry.
    """

    set_at: float | None
    full_at: float | None
    recoat_from: float | None
    recoat_until: float | None


class ZoneClock:
    """One zone's line with its running sums and the answers already given.

    Not safe to use from two threads at once while readings are added.
    """

    def __init__(self, line: TemperatureLine) -> None:
        self.line = line
        self._ageings: dict[RateLaw, Ageing] = {}
        self._times: dict[tuple[Sheet, float, float], CureTimes] = {}
        self._pot_lives: dict[tuple[Sheet, float], float] = {}

    def add_readings(self, readings: Iterable[Reading]) -> None:
        """Take in readings of `(seconds since 1970, °C)`."""
        unchanged = self.line.add(readings)
        for ageing in self._ageings.values():
            ageing.forget_from(unchanged)
        self._times.clear()
        self._pot_lives.clear()

    def temperature_at(self, at: float) -> float:
        """The zone's temperature at an instant, in °C."""
        return self.line.temperature_at(at)

    def times(self, sheet: Sheet, closed_at: float, credit_cap: float = 1.0) -> CureTimes:
        """When a cure closed at an instant reaches the sheet's times; rounded up, its window's end down."""
        key = (sheet, closed_at, credit_cap)
        known = self._times.get(key)
        if known is None:
            law = cure_law(sheet.reference_c, sheet.doubling, sheet.coldest, credit_cap)
            ageing = self._ageing(law)

            def reached(minutes: float | None) -> float | None:
                return None if minutes is None else ageing.when(closed_at, minutes * 60)

            known = self._times[key] = CureTimes(
                _up(reached(sheet.set_minutes)),
                _up(reached(sheet.full_cure_minutes)),
                _up(reached(sheet.recoat_from_minutes)),
                _down(reached(sheet.recoat_until_minutes)),
            )
        return known

    def pot_life_ends(self, sheet: Sheet, mixed_at: float) -> float:
        """When a mix may no longer be used, in seconds since 1970, rounded down."""
        known = self._pot_lives.get((sheet, mixed_at))
        if known is None:
            ageing = self._ageing(pot_life_law(sheet.reference_c, sheet.doubling))
            ends = _down(ageing.when(mixed_at, sheet.pot_life_minutes * 60))
            assert ends is not None  # the rate of pot life is never below 1
            known = self._pot_lives[(sheet, mixed_at)] = ends
        return known

    def _ageing(self, law: RateLaw) -> Ageing:
        ageing = self._ageings.get(law)
        if ageing is None:
            ageing = self._ageings[law] = Ageing(self.line, law)
        return ageing


# Answers are kept to the millisecond; a double of seconds since 1970 is good to a quarter of a microsecond,
# and a time must not move by a whole step for that.
_NOISE = 1e-6


def _up(at: float | None) -> float | None:
    return None if at is None else ceil((at - _NOISE) * 1000) / 1000


def _down(at: float | None) -> float | None:
    return None if at is None else floor((at + _NOISE) * 1000) / 1000
