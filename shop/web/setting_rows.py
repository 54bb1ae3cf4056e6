"""The rows of Setting: each soft cure on the ruler of stretches, and the same as a row of a table.

The words of a row change only when something happens to its cure or the day ends, so they are found once
and kept until then; each minute moves the scale, so its bars are placed anew. Which cures there are, and in
which order, is `shop.rules.soft`'s.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from html import escape
from typing import Generic, NamedTuple, TypeVar
from zoneinfo import ZoneInfo

from shop.rules.facts import CureFact
from shop.rules.hours import Hours
from shop.rules.soft import Shutting, SoftCure, WindowState, shuts_unattended, window_state
from shop.web.ruler import (
    Bar,
    RulerBracket,
    Stretch,
    hardening_words,
    place_bars,
    place_bracket,
    state_of_cure,
    stretches_of,
)
from shop.web.sheets import marked
from shop.web.stretches import (
    QuickScale,
    StretchHead,
    StretchScale,
    StretchTick,
    day_begins,
    heads_of,
    microseconds,
    stretches_at,
    ticks_of,
)
from shop.web.wording import QuickWords, day, when

NO_TIME = "–"
IN_DOUBT = "in doubt"
MOST_KEPT = 4096


@dataclass(frozen=True, eq=False)
class Frame:
    """What is the same for every row of a page: the minute, the scale, the shop's zone and hours.

    Two frames are never equal, so a frame is quick to look up; `frame_at` gives the same one again for the
    same things. `at` is the minute and `day_ends` the end of its day in microseconds since 1970. `rows` and
    `table_rows` keep what was found, by the id of the cure, and frames of one zone and hours share them.
    """

    now: datetime
    at: int
    zone: ZoneInfo
    hours: Hours
    scale: StretchScale
    heads: tuple[StretchHead, ...]
    ticks: tuple[StretchTick, ...]
    now_at: float
    clock: str
    today: str
    day_ends: int
    places: QuickScale
    words: QuickWords
    rows: "dict[int, KeptRow[RowWords]]"
    table_rows: "dict[int, KeptRow[TableWords]]"


# Few, for each keeps the words of its minute.
@lru_cache(maxsize=16)
def frame_at(minute: datetime, last: datetime | None, zone: ZoneInfo, hours: Hours) -> Frame:
    """The frame of a minute, for cures of which the last instant that matters is `last`."""
    scale = stretches_at(minute, last, zone)
    today = minute.astimezone(zone).date()
    return Frame(
        minute, microseconds(minute), zone, hours, scale, heads_of(scale), ticks_of(scale, zone),
        scale.per_cent(minute), when(minute, minute, zone), day(today, today),
        microseconds(day_begins(today + timedelta(days=1), zone)), QuickScale(scale),
        QuickWords(minute, zone), *kept_rows(zone, hours),
    )  # fmt: skip


class RowWords(NamedTuple):
    """A soft cure in finished words, as HTML; `window` is empty where no coat is to go onto it."""

    number: str
    cure_id: int
    place: str
    state: str
    word: str
    window: str
    times: str


class TableWords(NamedTuple):
    """A soft cure for those who read tables; every cell in finished words, as HTML."""

    number: str
    cure_id: int
    place: str
    adhesive: str
    zone: str
    closed: str
    state: str
    word: str
    turning: str
    sets: str
    full: str
    recoat_from: str
    recoat_until: str
    window: str


Words = TypeVar("Words", RowWords, TableWords)


class KeptRow(NamedTuple, Generic[Words]):
    """The words of a cure as found at the minute `made_at`: they hold before `until`.

    The rest is to be placed; a table has none. Instants are in microseconds since 1970.
    """

    soft: SoftCure
    made_at: int
    until: int
    words: Words
    stretches: tuple[Stretch[int], ...] = ()
    window: tuple[int | None, int | None] = (None, None)
    turning: tuple[int, int] | None = None


@lru_cache(maxsize=4)
def kept_rows(
    _zone: ZoneInfo, _hours: Hours
) -> tuple[dict[int, KeptRow[RowWords]], dict[int, KeptRow[TableWords]]]:  # fmt: skip
    """What was found for a zone and hours: rows of the ruler, and rows of the table."""
    return {}, {}


class DrawnRow(NamedTuple):
    """A row of the ruler for its template: the words, and numbers in per cent.

    There is one recoat window at most, and one stretch of turning.
    """

    words: RowWords
    bars: list[Bar]
    windows: tuple[RulerBracket, ...]
    turnings: tuple[tuple[float, float], ...]


class Placed(NamedTuple):
    """The instants of a cure in microseconds since 1970, for the scale and the words of a frame."""

    closed_at: int
    set_at: int | None
    full_at: int | None
    recoat_from: int | None
    recoat_until: int | None
    turned_at: int | None
    stalled: bool
    tacky: bool


def draw_row(soft: SoftCure, frame: Frame) -> DrawnRow:
    """A soft cure as a row of the ruler."""
    row, places = _kept(frame.rows, _row, soft, frame), frame.places
    window, turning = place_bracket(*row.window, places), row.turning
    return DrawnRow(
        row.words,
        place_bars(row.stretches, places),
        () if window is None else (window,),
        () if turning is None else ((places.per_cent(turning[0]), places.per_cent(turning[1])),),
    )


def table_row(soft: SoftCure, frame: Frame) -> TableWords:
    """A soft cure as a row of the table."""
    return _kept(frame.table_rows, _table_row, soft, frame).words


def _kept(
    kept: dict[int, KeptRow[Words]],
    make: Callable[[SoftCure, Frame], KeptRow[Words]],
    soft: SoftCure,
    frame: Frame,
) -> KeptRow[Words]:
    key = soft.cure.id
    row = kept.get(key)
    if row is None or not row.made_at <= frame.at < row.until or row.soft != soft:
        if len(kept) >= MOST_KEPT:
            kept.clear()
        row = kept[key] = make(soft, frame)
    return row


def _row(soft: SoftCure, frame: Frame) -> KeptRow[RowWords]:
    placed, in_doubt, shutting = _placed(soft.cure), _in_doubt(soft), _shutting(soft, frame)
    state, word = _state(soft, placed, frame)
    window = window_words(soft, placed, shutting, frame)
    turning = _turning(placed, frame)
    # What speaks of a coat to come, or of a suspect mix, stands on a line of its own.
    is_near = soft.takes_a_coat or soft.is_suspect
    said = [] if turning is None else [turning_words(turning[1], frame)]
    if placed.tacky or not soft.is_suspect:
        said += hardening_words(placed, frame.at, frame.words.not_before)
    if window and not is_near:
        said.append(window)
    words = RowWords(
        escape(soft.number), soft.cure.id, escape(soft.cure.place), state, word, window if is_near else "",
        " · ".join([*said, escape(marked(soft.cure.adhesive, soft.cure.sheet_mark))]),
    )  # fmt: skip
    # What is in doubt is drawn like what is tacky, and a bracket says that a coat may go on.
    drawn = placed._replace(tacky=True) if in_doubt and not placed.tacky else placed
    may_coat = soft.takes_a_coat and not in_doubt
    bracket = (placed.recoat_from, placed.recoat_until) if may_coat else (None, None)
    until = _holds_until(placed, shutting, frame)
    return KeptRow(soft, frame.at, until, words, stretches_of(drawn), bracket, turning)


def _table_row(soft: SoftCure, frame: Frame) -> KeptRow[TableWords]:
    cure, say = soft.cure, frame.words
    placed, in_doubt, shutting = _placed(cure), _in_doubt(soft), _shutting(soft, frame)
    state, word = _state(soft, placed, frame)
    turning = _turning(placed, frame)

    def waited_for(instant: int | None, none: str) -> str:
        return none if instant is None or in_doubt else say.not_before(instant)

    no_time = IN_DOUBT if in_doubt else "too cold, no time"
    no_window = no_time if cure.has_recoat_window else NO_TIME
    words = TableWords(
        escape(soft.number), cure.id, escape(cure.place),
        escape(marked(cure.adhesive, cure.sheet_mark)), escape(cure.lies_in),
        say.when(placed.closed_at), state, word, "" if turning is None else turning_words(turning[1], frame),
        waited_for(placed.set_at, no_time), waited_for(placed.full_at, no_time),
        waited_for(placed.recoat_from, no_window),
        NO_TIME if placed.recoat_until is None or in_doubt else say.when(placed.recoat_until),
        window_words(soft, placed, shutting, frame) or NO_TIME,
    )  # fmt: skip
    return KeptRow(soft, frame.at, _holds_until(placed, shutting, frame), words)


def _placed(cure: CureFact) -> Placed:
    return Placed(
        microseconds(cure.closed_at), _place(cure.set_at), _place(cure.full_at), _place(cure.recoat_from),
        _place(cure.recoat_until), _place(cure.turned_at), cure.full_at is None, cure.tacky,
    )  # fmt: skip


def _place(instant: datetime | None) -> int | None:
    return None if instant is None else microseconds(instant)


def _shutting(soft: SoftCure, frame: Frame) -> Shutting | None:
    """What to say of a window that is to shut, where a coat is to be laid in it."""
    return shuts_unattended(soft.cure, frame.hours, frame.now, frame.zone) if soft.takes_a_coat else None


def _holds_until(placed: Placed, shutting: Shutting | None, frame: Frame) -> int:
    """When the words of a row may change: with the next instant of the cure, or with the day."""
    last_at = None if shutting is None else _place(shutting.last_at)
    now, until = frame.at, frame.day_ends
    ends = placed.set_at, placed.full_at, placed.turned_at, last_at
    for at in (*ends, placed.recoat_from, placed.recoat_until):
        if at is not None and now <= at < until:
            until = at
    return until


def _in_doubt(soft: SoftCure) -> bool:
    return soft.cure.tacky or soft.is_suspect


def _state(soft: SoftCure, placed: Placed, frame: Frame) -> tuple[str, str]:
    is_suspect = soft.is_suspect and not placed.tacky
    return ("held", "suspect") if is_suspect else state_of_cure(placed, frame.at)


def _turning(placed: Placed, frame: Frame) -> tuple[int, int] | None:
    """From when until when a wet coat must be kept turning; none where it need not, or not any more."""
    turned_at = placed.turned_at
    return None if turned_at is None or turned_at <= frame.at else (placed.closed_at, turned_at)


def turning_words(turned_at: int, frame: Frame) -> str:
    """Until when a wet coat must be kept turning."""
    return f"turn until {frame.words.not_before(turned_at)}"


def window_words(soft: SoftCure, placed: Placed, shutting: Shutting | None, frame: Frame) -> str:
    """How the recoat window of a cure stands, and what is to be known of its end; empty where it has none."""
    state, say = window_state(soft.cure, frame.now), frame.words
    if soft.is_suspect and not placed.tacky:
        return "suspect mix: leave alone until the verdict"
    if placed.tacky or state is WindowState.NONE:
        return ""
    if placed.recoat_from is None:
        return "too cold for the next coat, no time" if soft.takes_a_coat else ""
    begins = say.not_before(placed.recoat_from)
    ends = "" if placed.recoat_until is None else say.when(placed.recoat_until)
    if not soft.takes_a_coat or state is WindowState.OPENS:
        says = f"recoat {begins} to {ends}" if ends else f"recoat from {begins}"
    elif state is WindowState.SHUT:
        return f"recoat shut {ends}: wash, scuff and wipe first"
    else:
        says = f"recoat open until {ends}" if ends else "recoat open"
    return says + (_closed_words(shutting, frame) if soft.takes_a_coat else ", no coat to come")


def _closed_words(shutting: Shutting | None, frame: Frame) -> str:
    if shutting is None:
        return ""
    if shutting.last_at is None:
        return "; nobody is here before then"
    return f"; the shop is closed then, coat by {when(shutting.last_at, frame.now, frame.zone)}"
