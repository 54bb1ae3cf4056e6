"""The cure clock: when a cure has set, is fully cured and may be coated again, by the warmth it has had.

The sums of age are in `shop.craft.ageing`, the warmth of a zone in `shop.craft.warmth` and, where several
thermometers hang there, in `shop.craft.sensors`; cures that were carried from zone to zone are in
`shop.craft.carried`. Times are seconds since 1970 (UTC). The figures are estimates: the sheet and a
hardness check decide.
"""

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from math import ceil, floor, inf, isfinite
from typing import NamedTuple, TypeVar

from shop.craft.ageing import Ageing, Ages, RateLaw, credit_law, pot_life_law
from shop.craft.sensors import ZoneLines, with_readings, zone_lines
from shop.craft.warmth import Line, Reading, TemperatureLine

DEFAULT_COLDEST_C = 13.0
DEFAULT_DOUBLING_C = 10.0
MOST_CREDIT = 2.0
MOST_MINUTES = 60 * 24 * 365.0
# A wait of a century is a stall by another name, and no calendar need hold its end.
MOST_WAIT_SECONDS = 100 * 365 * 86_400.0
MOST_KEPT = 20_000

_TIMES = {
    "The pot life": "pot_life_minutes",
    "The set time": "set_minutes",
    "The full cure": "full_cure_minutes",
    "The start of the recoat window": "recoat_from_minutes",
    "The end of the recoat window": "recoat_until_minutes",
    "The turning time": "turn_minutes",
}

Key = TypeVar("Key")
Answer = TypeVar("Answer")


class CureError(ValueError):
    """Figures that no adhesive can have: a sentence for a person, and the figure of a sheet that it is of."""

    def __init__(self, sentence: str, figure: str = "") -> None:
        super().__init__(sentence)
        self.figure = figure


@dataclass(frozen=True, slots=True)
class Sheet:
    """The figures of an adhesive's data sheet; minutes hold at `reference_c`. Raises `CureError`.

    What fits together is decided here alone; `shop.rules.adhesives` asks.
    """

    reference_c: float
    pot_life_minutes: float
    set_minutes: float
    full_cure_minutes: float
    recoat_from_minutes: float | None = None
    recoat_until_minutes: float | None = None
    coldest_c: float | None = None
    doubling_c: float | None = None
    turn_minutes: float | None = None

    def __post_init__(self) -> None:
        for what, figure in _TIMES.items():
            minutes = getattr(self, figure)
            if minutes is not None and not 0 < minutes <= MOST_MINUTES:  # also refuses NaN and infinities
                raise CureError(f"{what} must be above 0 and at most a year, in minutes.", figure)
        if self.full_cure_minutes < self.set_minutes:
            sentence = "The full cure is shorter than the set time; it cannot be."
            raise CureError(sentence, "full_cure_minutes")
        if self.recoat_until_minutes is not None:
            _check_window(self.recoat_from_minutes, self.recoat_until_minutes)
        if self.turn_minutes is not None and self.turn_minutes > self.full_cure_minutes:
            sentence = "A coat is not kept turning longer than until its full cure."
            raise CureError(sentence, "turn_minutes")
        if not -50 <= self.reference_c <= 100:
            sentence = "The sheet's reference temperature must lie between -50 and 100 °C."
            raise CureError(sentence, "reference_c")
        if not 1 <= self.doubling <= 60:
            sentence = "The rise that doubles the rate must lie between 1 and 60 °C."
            raise CureError(sentence, "doubling_c")
        if not isfinite(self.coldest) or self.coldest > self.reference_c:
            sentence = "The coldest temperature of cure cannot lie above the reference temperature."
            raise CureError(sentence, "coldest_c")

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


def _check_window(from_minutes: float | None, until_minutes: float) -> None:
    """A window that has an end has a beginning before it.

    One without length would be turned inside out: what opens is rounded up, what shuts is rounded down.
    """
    sentence = ""
    if from_minutes is None:
        sentence = "The recoat window has an end but no beginning; say from when it is open."
    elif until_minutes < from_minutes:
        sentence = "The recoat window ends before it begins."
    elif until_minutes == from_minutes:
        sentence = "The recoat window ends when it begins; say until when it is open."
    if sentence:
        raise CureError(sentence, "recoat_until_minutes")


@dataclass(frozen=True, slots=True)
class CureTimes:
    """When a cure has set, is fully cured, and may be recoated; none where stalled or the sheet is silent.

    Seconds since 1970. All count the same age, the one that cold slows and warmth hurries no more than the
    credit cap allows. Until `turned_at` a coat must be kept turning.
    """

    set_at: float | None
    full_at: float | None
    recoat_from: float | None
    recoat_until: float | None
    turned_at: float | None


def cure_times(ageing: Ages, sheet: Sheet, closed_at: float) -> CureTimes:
    """The first instants at which a cure closed at `closed_at` has the sheet's minutes of credit.

    `ageing` is by the sheet's credit law. Set, full cure, the opening of the recoat window and the end of
    turning are rounded up to the millisecond, so that nothing opens early; the window's end is rounded down.
    """
    closed_age = ageing.age_at(closed_at)

    def reached(minutes: float | None) -> float | None:
        at = None if minutes is None else ageing.reached(closed_at, closed_age + minutes * 60)
        return None if at is None or at - closed_at > MOST_WAIT_SECONDS else at

    until = reached(sheet.recoat_until_minutes)
    return CureTimes(
        _up(reached(sheet.set_minutes)),
        _up(reached(sheet.full_cure_minutes)),
        _up(reached(sheet.recoat_from_minutes)),
        None if until is None else _down(until),
        _up(reached(sheet.turn_minutes)),
    )


def pot_life_ends(ageing: Ageing, sheet: Sheet, mixed_at: float) -> float:
    """When a mix may no longer be used, rounded down to the millisecond. `ageing` is by the pot life law."""
    ends = ageing.when(mixed_at, sheet.pot_life_minutes * 60)
    if ends is None:
        raise ValueError("A law of pot life never stands still; this one does.")
    return _down(ends)


# A double of seconds since 1970 is good to a quarter of a microsecond, and the running sums of some years
# to about one; an answer must not move by a whole millisecond for that.
_NOISE = 1e-6


def _up(at: float | None) -> float | None:
    return None if at is None else ceil((at - _NOISE) * 1000) / 1000


def _down(at: float) -> float:
    return floor((at + _NOISE) * 1000) / 1000


class _Known(NamedTuple):
    """A zone's lines and what was worked out from them: credit by the coldest, pot life by the warmest."""

    lines: ZoneLines
    credits: dict[RateLaw, Ageing]
    pots: dict[RateLaw, Ageing]
    times: dict[tuple[Sheet, float, float], CureTimes]
    pot_lives: dict[tuple[Sheet, float], float]


class ZoneClock:
    """One zone's lines with their running sums and the answers already given.

    Cures go by the coldest of the thermometers that speak and pot lives by the warmest; the line that a
    clock is made with is the one of readings that no sensor sent. Threads may ask while one of them adds
    readings: an answer comes from the lines of before or of after. Those who add must take turns.
    """

    def __init__(self, line: TemperatureLine) -> None:
        self._known = _Known(zone_lines(line), {}, {}, {}, {})

    @property
    def line(self) -> Line:
        """The coldest line as it stands; readings that come later make another."""
        return self._known.lines.coldest

    @property
    def warm_line(self) -> Line:
        """The warmest line as it stands; the very same as `line` where one thermometer alone has spoken."""
        return self._known.lines.warmest

    @property
    def by_sensor(self) -> Mapping[Hashable, TemperatureLine]:
        """Each thermometer's own line as it stands, by what names the thermometer."""
        return self._known.lines.by_sensor

    def take_in(self, readings: Mapping[Hashable, Iterable[Reading]]) -> None:
        """Take in readings by thermometer; answers that they cannot change stay known."""
        old = self._known
        lines, since, cold, warm = with_readings(old.lines, readings)
        self._known = _Known(
            lines,
            {
                law: Ageing(lines.coldest, law, was.sums_before(cold))
                for law, was in old.credits.copy().items()
            },
            {law: Ageing(lines.warmest, law, was.sums_before(warm)) for law, was in old.pots.copy().items()},
            {key: was for key, was in old.times.copy().items() if last_instant(key[0], was) < since},
            {key: ends for key, ends in old.pot_lives.copy().items() if ends + 1 < since},
        )

    def temperature_at(self, at: float) -> float:
        """The zone's temperature at an instant, in °C, by the coldest thermometer that speaks."""
        return self._known.lines.coldest.temperature_at(at)

    def last_readings(self) -> dict[Hashable, Reading]:
        """The last reading of each thermometer that has ever spoken, seconds since 1970 and °C."""
        lines = self._known.lines.by_sensor.items()
        return {sensor: line.last_reading for sensor, line in lines if line.last_reading is not None}

    def credit(self, sheet: Sheet, credit_cap: float = 1.0) -> Ageing:
        """The zone's running sums of cure credit by a sheet. Raises `CureError` for a cap outside 1 to 2."""
        if not 1.0 <= credit_cap <= MOST_CREDIT:
            raise CureError(f"The credit cap must lie between 1 and {MOST_CREDIT:g}.")
        return _credit(self._known, sheet, credit_cap)

    def times(self, sheet: Sheet, closed_at: float, credit_cap: float = 1.0) -> CureTimes:
        """When a cure closed at an instant reaches the sheet's times (see `cure_times`).

        Raises `CureError` for a cap outside 1 to 2.
        """
        known = self._known
        key = (sheet, closed_at, credit_cap)
        times = known.times.get(key)
        if times is None:
            if not 1.0 <= credit_cap <= MOST_CREDIT:
                raise CureError(f"The credit cap must lie between 1 and {MOST_CREDIT:g}.")
            times = cure_times(_credit(known, sheet, credit_cap), sheet, check_instant(closed_at))
            _keep(known.times, key, times)
        return times

    def pot_life_ends(self, sheet: Sheet, mixed_at: float) -> float:
        """When a mix may no longer be used (see `pot_life_ends`)."""
        known = self._known
        ends = known.pot_lives.get((sheet, mixed_at))
        if ends is None:
            law = pot_life_law(sheet.reference_c, sheet.doubling)
            ageing = _ageing(known.pots, known.lines.warmest, law)
            ends = pot_life_ends(ageing, sheet, check_instant(mixed_at))
            _keep(known.pot_lives, (sheet, mixed_at), ends)
        return ends


def _credit(known: _Known, sheet: Sheet, credit_cap: float) -> Ageing:
    law = credit_law(sheet.reference_c, sheet.doubling, sheet.coldest, credit_cap)
    return _ageing(known.credits, known.lines.coldest, law)


def _ageing(kept: dict[RateLaw, Ageing], line: Line, law: RateLaw) -> Ageing:
    ageing = kept.get(law)
    if ageing is None:
        ageing = kept[law] = Ageing(line, law)
    return ageing


def _keep(answers: dict[Key, Answer], key: Key, answer: Answer) -> None:
    """Remember an answer. A shop has some hundreds open; those of years ago need not fill the memory."""
    if len(answers) >= MOST_KEPT:
        answers.clear()
    answers[key] = answer


def last_instant(sheet: Sheet, times: CureTimes) -> float:
    """An instant after all that these times rest on; infinite where one that is meant never comes."""
    if times.full_at is None or (sheet.recoat_until_minutes is not None and times.recoat_until is None):
        return inf
    return max(times.full_at, times.recoat_from or 0.0, times.recoat_until or 0.0) + 1


def check_instant(at: float) -> float:
    """The instant itself. Raises `CureError` for one that is not finite."""
    if not isfinite(at):
        raise CureError("A cure begins at a finite instant.")
    return at
