"""The rows of Setting: each soft cure on the ruler of stretches, and the same as a row of a table.

The words of a row change only when something happens to its cure or the day ends, so they are rendered once
and kept until then; each minute moves the scale, so its bars are placed anew. Which cures there are, and in
which order, is `shop.rules.soft`'s.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from markupsafe import Markup

from shop.rules.facts import CureFact
from shop.rules.hours import Hours
from shop.rules.soft import SoftCure, WindowState, shuts_unattended, window_state
from shop.web.ruler import (
    RulerBar,
    RulerBracket,
    RulerCure,
    Stretch,
    hardening_words,
    place_bars,
    place_bracket,
    state_of_cure,
    stretches_of,
)
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
from shop.web.templating import ENVIRONMENT
from shop.web.wording import day, not_before, when

# Macros: one costs half as much to call as a template to render.
ROW: Any = ENVIRONMENT.get_template("fragments/setting_row.html").module
TABLE_ROW: Any = ENVIRONMENT.get_template("fragments/setting_table_row.html").module
NO_TIME = "–"
IN_DOUBT = "in doubt"
MOST_KEPT = 4096


@dataclass(frozen=True, eq=False)
class Frame:
    """What is the same for every row of a page: the minute, the scale, the shop's zone and hours.

    Two frames are never equal, so a frame is quick to look up; `frame_at` gives the same one again for the
    same things. `rows` and `table_rows` keep what was rendered, and frames of one zone and hours share them.
    """

    now: datetime
    zone: ZoneInfo
    hours: Hours
    scale: StretchScale
    heads: tuple[StretchHead, ...]
    ticks: tuple[StretchTick, ...]
    now_at: float
    clock: str
    today: str
    day_ends: datetime
    places: QuickScale
    rows: "dict[SoftCure, KeptRow]"
    table_rows: "dict[SoftCure, KeptRow]"


@lru_cache(maxsize=64)
def frame_at(minute: datetime, last: datetime | None, zone: ZoneInfo, hours: Hours) -> Frame:
    """The frame of a minute, for cures of which the last instant that matters is `last`."""
    scale = stretches_at(minute, last, zone)
    today = minute.astimezone(zone).date()
    return Frame(
        minute, zone, hours, scale, heads_of(scale), ticks_of(scale, zone), scale.per_cent(minute),
        when(minute, minute, zone), day(today, today), day_begins(today + timedelta(days=1), zone),
        QuickScale(scale), *kept_rows(zone, hours),
    )  # fmt: skip


class KeptRow(NamedTuple):
    """A row as rendered for the minute `made_at`: it holds before `until`. The rest is to be placed.

    `stretches`, `window` and `turning` are in microseconds since 1970; a table has none.
    """

    made_at: datetime
    until: datetime
    html: Markup
    stretches: tuple[Stretch[int], ...] = ()
    window: tuple[int | None, int | None] = (None, None)
    turning: tuple[int, int] | None = None


@lru_cache(maxsize=4)
def kept_rows(
    _zone: ZoneInfo, _hours: Hours
) -> tuple[dict[SoftCure, KeptRow], dict[SoftCure, KeptRow]]:  # fmt: skip
    """What was rendered for a zone and hours: rows of the ruler, and rows of the table."""
    return {}, {}


class DrawnRow(NamedTuple):
    """A row of the ruler for its template: the words as HTML, and numbers in per cent.

    There is one recoat window at most, and one stretch of turning.
    """

    words: Markup
    bars: tuple[RulerBar, ...]
    windows: tuple[RulerBracket, ...]
    turnings: tuple[tuple[float, float], ...]


class SettingRow(NamedTuple):
    """A soft cure in finished words; `window` is empty where no coat is to go onto it."""

    number: str
    cure_id: int
    place: str
    state: str
    word: str
    window: str
    times: str


class TableRow(NamedTuple):
    """A soft cure for those who read tables; every cell in finished words."""

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


def draw_row(soft: SoftCure, frame: Frame) -> DrawnRow:
    """A soft cure as a row of the ruler."""
    row, places = _kept(frame.rows, _render_row, soft, frame), frame.places
    window, turning = place_bracket(*row.window, places), row.turning
    return DrawnRow(
        row.html,
        tuple(place_bars(row.stretches, places)),
        () if window is None else (window,),
        () if turning is None else ((places.per_cent(turning[0]), places.per_cent(turning[1])),),
    )


def render_table_row(soft: SoftCure, frame: Frame) -> Markup:
    """A soft cure as a row of the table, as HTML."""
    return _kept(frame.table_rows, _render_table_row, soft, frame).html


def _kept(
    kept: dict[SoftCure, KeptRow],
    render: Callable[[SoftCure, Frame], KeptRow],
    soft: SoftCure,
    frame: Frame,
) -> KeptRow:
    row = kept.get(soft)
    if row is None or not row.made_at <= frame.now < row.until:
        if len(kept) >= MOST_KEPT:
            kept.clear()
        row = kept[soft] = render(soft, frame)
    return row


def _holds_until(soft: SoftCure, frame: Frame) -> datetime:
    """When the words of a row may change: with the next instant of the cure, or with the day."""
    cure = soft.cure
    shutting = shuts_unattended(cure, frame.hours, frame.now, frame.zone) if soft.takes_a_coat else None
    instants = (
        cure.set_at, cure.full_at, cure.recoat_from, cure.recoat_until, cure.turned_at,
        None if shutting is None else shutting.last_at,
    )  # fmt: skip
    return min([frame.day_ends, *(at for at in instants if at is not None and at >= frame.now)])


def _render_row(soft: SoftCure, frame: Frame) -> KeptRow:
    cure, window = _for_ruler(soft), window_words(soft, frame)
    state, word = _state(soft, cure, frame.now)
    is_near = soft.takes_a_coat or soft.is_suspect
    hardening = [] if soft.is_suspect and not cure.tacky else hardening_words(cure, frame.now, frame.zone)
    said = (turning_words(soft.cure, frame), *hardening, "" if is_near else window, soft.cure.adhesive)
    row = SettingRow(
        soft.number, soft.cure.id, soft.cure.place, state, word, window if is_near else "",
        " · ".join(filter(None, said)),
    )  # fmt: skip
    # What is in doubt is drawn like what is tacky, and a bracket says that a coat may go on.
    drawn = cure._replace(tacky=_in_doubt(soft))
    stretches = tuple((kind, _placed(begins), _placed(ends)) for kind, begins, ends in stretches_of(drawn))
    takes_a_coat = soft.takes_a_coat and not _in_doubt(soft)
    opens, shuts = (_placed(cure.recoat_from), _placed(cure.recoat_until)) if takes_a_coat else (None, None)
    return KeptRow(
        frame.now, _holds_until(soft, frame), Markup(ROW.render(row)), stretches,
        (opens, shuts), _turning(soft.cure, frame),
    )  # fmt: skip


def _placed(instant: datetime | None) -> int | None:
    return None if instant is None else microseconds(instant)


def _render_table_row(soft: SoftCure, frame: Frame) -> KeptRow:
    cure, now, zone = soft.cure, frame.now, frame.zone
    state, word = _state(soft, _for_ruler(soft), now)

    def waited_for(instant: datetime | None, none: str) -> str:
        return none if instant is None or _in_doubt(soft) else not_before(instant, now, zone)

    no_time = IN_DOUBT if _in_doubt(soft) else "too cold, no time"
    no_window = no_time if cure.has_recoat_window else NO_TIME
    until = NO_TIME if cure.recoat_until is None or _in_doubt(soft) else when(cure.recoat_until, now, zone)
    row = TableRow(
        soft.number, cure.id, cure.place, cure.adhesive, cure.lies_in, when(cure.closed_at, now, zone), state,
        word, turning_words(cure, frame), waited_for(cure.set_at, no_time), waited_for(cure.full_at, no_time),
        waited_for(cure.recoat_from, no_window), until, window_words(soft, frame) or NO_TIME,
    )  # fmt: skip
    return KeptRow(now, _holds_until(soft, frame), Markup(TABLE_ROW.render(row)))


def _for_ruler(soft: SoftCure) -> RulerCure:
    cure = soft.cure
    return RulerCure(
        f"{soft.number} {cure.place}", f"/cures/{cure.id}", cure.closed_at, cure.set_at, cure.full_at,
        cure.recoat_from, cure.recoat_until, cure.full_at is None, cure.tacky,
    )  # fmt: skip


def _in_doubt(soft: SoftCure) -> bool:
    return soft.cure.tacky or soft.is_suspect


def _state(soft: SoftCure, cure: RulerCure, now: datetime) -> tuple[str, str]:
    return ("held", "suspect") if soft.is_suspect and not cure.tacky else state_of_cure(cure, now)


def turning_words(cure: CureFact, frame: Frame) -> str:
    """Until when a wet coat must be kept turning; empty where it need not, or not any more."""
    if cure.turned_at is None or cure.turned_at <= frame.now:
        return ""
    return f"turn until {not_before(cure.turned_at, frame.now, frame.zone)}"


def _turning(cure: CureFact, frame: Frame) -> tuple[int, int] | None:
    if cure.turned_at is None or cure.turned_at <= frame.now:
        return None
    return microseconds(cure.closed_at), microseconds(cure.turned_at)


def window_words(soft: SoftCure, frame: Frame) -> str:
    """How the recoat window of a cure stands, and what is to be known of its end; empty where it has none."""
    cure = soft.cure
    state = window_state(cure, frame.now)
    if soft.is_suspect and not cure.tacky:
        return "suspect mix: leave alone until the verdict"
    if cure.tacky or state is WindowState.NONE:
        return ""
    if cure.recoat_from is None:
        return "too cold for the next coat, no time" if soft.takes_a_coat else ""
    begins = not_before(cure.recoat_from, frame.now, frame.zone)
    ends = "" if cure.recoat_until is None else when(cure.recoat_until, frame.now, frame.zone)
    if not soft.takes_a_coat or state is WindowState.OPENS:
        says = f"recoat {begins} to {ends}" if ends else f"recoat from {begins}"
    elif state is WindowState.SHUT:
        return f"recoat shut {ends}: wash, scuff and wipe first"
    else:
        says = f"recoat open until {ends}" if ends else "recoat open"
    return says + (_closed_words(cure, frame) if soft.takes_a_coat else ", no coat to come")


def _closed_words(cure: CureFact, frame: Frame) -> str:
    shutting = shuts_unattended(cure, frame.hours, frame.now, frame.zone)
    if shutting is None:
        return ""
    if shutting.last_at is None:
        return "; nobody is here before then"
    return f"; the shop is closed then, coat by {when(shutting.last_at, frame.now, frame.zone)}"
