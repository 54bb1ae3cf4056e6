"""The geometry of the ruler of time: each cure hatched until set, light until fully cured, solid after.

Pure functions hand the templates finished numbers (per cent of the ruler's length) and finished words, so
that a template does no arithmetic. Which cures are shown is the page's business, their times are `craft`'s,
the patterns are the style sheet's.
"""

from collections.abc import Callable, Iterable, Iterator
from datetime import datetime, timedelta
from typing import NamedTuple, Protocol, TypeVar
from zoneinfo import ZoneInfo

from shop.web.ticks import falls_on, local_steps
from shop.web.wording import DAYS, not_before, when

# Each step divides the next, so that the ticks kept on a narrow screen are some of those on a wide one.
_STEP_HOURS = (1, 3, 6, 12, 24, 48, 96, 192, 384)
_LABEL_WIDTH = 72
_NARROW_LABELS = 5
# A label starts at its tick, so the last stretch of the ruler has no room for one.
_LAST_LABEL = 93.0
_LAST_NARROW_LABEL = 80.0
_NOW_TURNS = 70.0

# An aware datetime, or microseconds since 1970 where many are placed at once.
Instant = TypeVar("Instant", datetime, int)
# The same where it is only read.
Told = TypeVar("Told", datetime, int, covariant=True)
# What is drawn, when it begins and when it ends; none is the end of the ruler.
Stretch = tuple[str, Instant | None, Instant | None]
# As `RulerBar`: hundreds of bars are placed at once, and plain tuples are made in a tenth of the time.
Bar = tuple[str, float, float]


class RulerCure(NamedTuple):
    """One cure as the ruler needs it: aware datetimes, None where there is no such time.

    `tacky` says that its puddle was found tacky when it should have set: no computed time counts then.
    """

    label: str
    href: str
    closed_at: datetime
    set_at: datetime | None
    full_at: datetime | None
    recoat_from: datetime | None
    recoat_until: datetime | None
    stalled: bool
    tacky: bool = False


class Hardens(Protocol[Told]):
    """What `RulerCure` says of how a cure hardens; also of one whose instants are not datetimes."""

    @property
    def closed_at(self) -> Told:
        """When it was closed."""

    @property
    def set_at(self) -> Told | None:
        """When it is set."""

    @property
    def full_at(self) -> Told | None:
        """When it is fully cured."""

    @property
    def stalled(self) -> bool:
        """Whether no time makes it hard."""

    @property
    def tacky(self) -> bool:
        """Whether no computed time counts."""


class RulerTick(NamedTuple):
    """A day or hour mark at `at` per cent; `room` says how wide a screen must be to show it and its label."""

    at: float
    label: str
    kind: str
    room: str
    label_room: str


class RulerBar(NamedTuple):
    """A stretch from `x`, `width` wide, both per cent; `kind` is hatched, light, solid or stalled."""

    kind: str
    x: float
    width: float


class RulerBracket(NamedTuple):
    """The recoat window from `x` to `end` per cent; an end that lies outside the ruler is not closed."""

    x: float
    end: float
    opens: bool
    closes: bool


class RulerRow(NamedTuple):
    """One cure drawn: `state` is setting, set, full, stalled or held; `word` says it, `text` the times."""

    label: str
    href: str
    state: str
    word: str
    text: str
    bars: tuple[RulerBar, ...]
    recoat: RulerBracket | None
    now_at: float | None


class RulerDrawing(NamedTuple):
    """A ruler: ticks, the place of now (None outside) with the side its words stand on, a row per cure."""

    ticks: tuple[RulerTick, ...]
    now_at: float | None
    now_text: str
    now_side: str
    rows: tuple[RulerRow, ...]


def draw_ruler(
    rows: Iterable[RulerCure],
    start: datetime,
    end: datetime,
    now: datetime,
    zone: ZoneInfo,
    width: int = 960,
) -> RulerDrawing:
    """Draw cures on a ruler from `start` to `end` (aware), with ticks at the shop's own hours.

    `width` in pixels decides only how many ticks have room. Raises ValueError unless start is before end.
    """
    scale = _Even(start, end)
    if end <= start:
        raise ValueError("A ruler of time ends after it starts.")
    now_at = _place(scale, now)
    return RulerDrawing(
        ticks=tuple(_ticks(scale, zone, width)),
        now_at=now_at,
        now_text=f"now {when(now, now, zone)}",
        now_side="before" if now_at is not None and now_at > _NOW_TURNS else "after",
        rows=tuple(_row(cure, scale, now, zone) for cure in rows),
    )


def draw_mini_ruler(
    cure: RulerCure, start: datetime, end: datetime, now: datetime, zone: ZoneInfo
) -> RulerRow:
    """Draw one cure alone, for a thin bar beside the words; bars with the same ends compare by eye."""
    if end <= start:
        raise ValueError("A ruler of time ends after it starts.")
    return _row(cure, _Even(start, end), now, zone)


class Scale(Protocol[Instant]):
    """Where an instant lies on a ruler, in per cent; beyond an end it lies at that end."""

    @property
    def start(self) -> Instant:
        """The instant at the left end."""

    @property
    def end(self) -> Instant:
        """The instant at the right end."""

    def per_cent(self, instant: Instant, /) -> float:
        """The place of an instant."""


def hundredths(per_cent: float) -> float:
    """A place to two digits, in a third of the time that `round` takes to look for the nearest decimal."""
    return round(per_cent * 100) / 100


class _Even(NamedTuple):
    """The scale of a ruler on which an hour is as long as any other."""

    start: datetime
    end: datetime

    def per_cent(self, instant: datetime) -> float:
        """The place of an instant; one beyond an end is put at that end."""
        share = (instant - self.start) / (self.end - self.start)
        return hundredths(100 * min(1.0, max(0.0, share)))


def _place(scale: Scale[datetime], instant: datetime) -> float | None:
    """The place of an instant, or None when it lies outside."""
    return scale.per_cent(instant) if scale.start <= instant <= scale.end else None


def _ticks(scale: Scale[datetime], zone: ZoneInfo, width: int) -> Iterator[RulerTick]:
    hours = (scale.end - scale.start) / timedelta(hours=1)
    fine = _step(hours, max(1, width // _LABEL_WIDTH))
    coarse = max(fine, _step(hours, _NARROW_LABELS))
    day_said = False
    for instant in local_steps(scale.start, scale.end, zone, fine * 60):
        local = instant.astimezone(zone)
        at_midnight = local.hour == 0
        label = f"{local:%H:%M}"
        if at_midnight or not day_said:
            day = f"{DAYS[local.weekday()]} {local.day}"
            label = day if at_midnight else f"{day}, {label}"
            day_said = True
        at, narrow = scale.per_cent(instant), falls_on(local, coarse * 60)
        yield RulerTick(
            at=at,
            label=label if at <= _LAST_LABEL else "",
            kind="day" if at_midnight else "hour",
            room="any" if narrow else "wide",
            label_room="any" if narrow and at <= _LAST_NARROW_LABEL else "wide",
        )


def _step(hours: float, labels: int) -> int:
    """The shortest step, in hours, that gives no more than so many labels."""
    return next((step for step in _STEP_HOURS if hours / step <= labels), _STEP_HOURS[-1])


def _row(cure: RulerCure, scale: Scale[datetime], now: datetime, zone: ZoneInfo) -> RulerRow:
    state, word = state_of_cure(cure, now)
    return RulerRow(
        label=cure.label,
        href=cure.href,
        state=state,
        word=word,
        text=_words(cure, now, zone),
        bars=tuple(bars_of(cure, scale)),
        recoat=bracket_of(cure, scale),
        now_at=_place(scale, now),
    )


def state_of_cure(cure: Hardens[Instant], now: Instant) -> tuple[str, str]:
    """The state of a cure, which is its mark, and the word for it."""
    if cure.tacky:
        return "held", "tacky"
    if cure.full_at is not None and cure.full_at <= now:
        return "full", "full cure"
    if cure.stalled:
        return "stalled", "stalled"
    if cure.set_at is not None and cure.set_at <= now:
        return "set", "set"
    return "setting", "setting"


def _words(cure: RulerCure, now: datetime, zone: ZoneInfo) -> str:
    said = hardening_words(cure, now, lambda instant: not_before(instant, now, zone))
    if cure.recoat_from is not None and not cure.tacky:
        until = f" to {when(cure.recoat_until, now, zone)}" if cure.recoat_until is not None else ""
        said.append(f"recoat {not_before(cure.recoat_from, now, zone)}{until}")
    return " · ".join(said) if said else "no times known"


def hardening_words(cure: Hardens[Instant], now: Instant, say: Callable[[Instant], str]) -> list[str]:
    """When a cure sets and is fully cured, or why there is no telling; `say` words an instant to wait for."""
    if cure.tacky:
        return ["puddle found tacky: leave alone until it is firm"]
    said = []
    if cure.set_at is not None:
        said.append(f"{'set' if cure.set_at <= now else 'sets'} {say(cure.set_at)}")
    if cure.full_at is not None:
        said.append(f"full {say(cure.full_at)}")
    if cure.stalled and cure.full_at is None:
        said.append("too cold, no time")
    return said


def bars_of(cure: RulerCure, scale: Scale[datetime]) -> Iterator[RulerBar]:
    """Hatched to set, light to full cure, solid to the end; what is stalled or tacky stays open-ended."""
    return map(RulerBar._make, place_bars(stretches_of(cure), scale))


def stretches_of(cure: Hardens[Instant]) -> tuple[Stretch[Instant], ...]:
    """What `bars_of` draws, on whatever scale: each from its beginning to its end."""
    closed_at, set_at, full_at = cure.closed_at, cure.set_at, cure.full_at
    if cure.tacky:
        return (("hatched", closed_at, None),)
    if cure.stalled and full_at is None:
        stalled_from = set_at or closed_at
        return (("hatched", closed_at, stalled_from), ("stalled", stalled_from, None))
    set_at = set_at or full_at
    hatched, light = ("hatched", closed_at, set_at), ("light", set_at, full_at)
    return (hatched, light, ("solid", full_at, None))


def place_bars(stretches: Iterable[Stretch[Instant]], scale: Scale[Instant]) -> list[Bar]:
    """The stretches as they lie on a scale, those without any length left out."""
    start, last, place = scale.start, scale.end, scale.per_cent
    bars = []
    for kind, begins, ends in stretches:
        begins, ends = last if begins is None else begins, last if ends is None else ends
        if begins >= last or ends <= start:
            continue
        x, end = place(begins), place(ends)
        if end > x:
            # A stretch that goes on beyond the ruler is drawn past its edge, so that it shows no end there.
            x = x - 1 if begins < start else x
            end = end + 1 if ends >= last else end
            bars.append((kind, x, hundredths(end - x)))
    return bars


def bracket_of(cure: RulerCure, scale: Scale[datetime]) -> RulerBracket | None:
    """The recoat window as it lies on the ruler, or none where it lies outside."""
    return place_bracket(cure.recoat_from, cure.recoat_until, scale)


def place_bracket(
    begins: Instant | None, until: Instant | None, scale: Scale[Instant]
) -> RulerBracket | None:  # fmt: skip
    """A recoat window as it lies on a scale, or none where there is none or it lies outside."""
    if begins is None or begins >= scale.end:
        return None
    ends = scale.end if until is None else until
    if ends <= scale.start:
        return None
    closes = until is not None and ends <= scale.end
    return RulerBracket(scale.per_cent(begins), scale.per_cent(ends), begins >= scale.start, closes)
