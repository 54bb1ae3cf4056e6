"""The rows of Setting: each soft cure on the ruler of stretches, and the same as a row of a table.

A row is kept by all that it was made from, so it is drawn and rendered once a minute however often the page
is asked for. Which cures there are, and in which order, is `shop.rules.soft`'s.
"""

from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from typing import NamedTuple
from zoneinfo import ZoneInfo

from markupsafe import Markup

from shop.rules.facts import CureFact
from shop.rules.hours import Hours
from shop.rules.soft import SoftCure, WindowState, shuts_unattended, window_state
from shop.web.ruler import (
    RulerBar,
    RulerBracket,
    RulerCure,
    bars_of,
    bracket_of,
    hardening_words,
    state_of_cure,
)
from shop.web.stretches import (
    StretchHead,
    StretchScale,
    StretchTick,
    heads_of,
    stretches_at,
    ticks_of,
)
from shop.web.templating import ENVIRONMENT
from shop.web.wording import day, not_before, when

ROW = ENVIRONMENT.get_template("fragments/setting_row.html")
TABLE_ROW = ENVIRONMENT.get_template("fragments/setting_table_row.html")
NO_TIME = "–"


@dataclass(frozen=True, eq=False)
class Frame:
    """What is the same for every row of a page: the minute, the scale, the shop's zone and hours.

    Two frames are never equal, so a frame is quick to look up; `frame_at` gives the same one again for the
    same things.
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


@lru_cache(maxsize=64)
def frame_at(minute: datetime, last: datetime | None, zone: ZoneInfo, hours: Hours) -> Frame:
    """The frame of a minute, for cures of which the last instant that matters is `last`."""
    scale = stretches_at(minute, last, zone)
    today = minute.astimezone(zone).date()
    return Frame(
        minute, zone, hours, scale, heads_of(scale), ticks_of(scale, zone), scale.per_cent(minute),
        when(minute, minute, zone), day(today, today),
    )  # fmt: skip


class SettingRow(NamedTuple):
    """A soft cure in finished words, with its bars; `window` is empty where no coat is to go onto it."""

    number: str
    cure_id: int
    place: str
    state: str
    word: str
    window: str
    times: str
    bars: tuple[RulerBar, ...]
    recoat: RulerBracket | None
    turning: tuple[float, float] | None


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


@lru_cache(maxsize=4096)
def render_row(soft: SoftCure, frame: Frame) -> Markup:
    """A soft cure as a row of the ruler, as HTML."""
    cure, window = _for_ruler(soft), window_words(soft, frame)
    state, word = _state(soft, cure, frame.now)
    is_near = soft.takes_a_coat or soft.is_suspect
    said = (
        turning_words(soft.cure, frame), *hardening_words(cure, frame.now, frame.zone),
        "" if is_near else window, soft.cure.adhesive,
    )  # fmt: skip
    row = SettingRow(
        soft.number, soft.cure.id, soft.cure.place, state, word, window if is_near else "",
        " · ".join(filter(None, said)), tuple(bars_of(cure, frame.scale)), bracket_of(cure, frame.scale),
        _turning(soft.cure, frame),
    )  # fmt: skip
    return Markup(ROW.render(row=row))


@lru_cache(maxsize=4096)
def render_table_row(soft: SoftCure, frame: Frame) -> Markup:
    """A soft cure as a row of the table, as HTML."""
    cure, now, zone = soft.cure, frame.now, frame.zone
    state, word = _state(soft, _for_ruler(soft), now)

    def waited_for(instant: datetime | None, none: str) -> str:
        return none if instant is None or cure.tacky else not_before(instant, now, zone)

    no_time = NO_TIME if cure.tacky else "too cold, no time"
    no_window = no_time if cure.has_recoat_window else NO_TIME
    until = NO_TIME if cure.recoat_until is None or cure.tacky else when(cure.recoat_until, now, zone)
    row = TableRow(
        soft.number, cure.id, cure.place, cure.adhesive, cure.lies_in, when(cure.closed_at, now, zone), state,
        word, turning_words(cure, frame), waited_for(cure.set_at, no_time), waited_for(cure.full_at, no_time),
        waited_for(cure.recoat_from, no_window), until, window_words(soft, frame) or NO_TIME,
    )  # fmt: skip
    return Markup(TABLE_ROW.render(row=row))


def _for_ruler(soft: SoftCure) -> RulerCure:
    cure = soft.cure
    return RulerCure(
        f"{soft.number} {cure.place}", f"/cures/{cure.id}", cure.closed_at, cure.set_at, cure.full_at,
        cure.recoat_from, cure.recoat_until, cure.full_at is None, cure.tacky,
    )  # fmt: skip


def _state(soft: SoftCure, cure: RulerCure, now: datetime) -> tuple[str, str]:
    return ("held", "suspect") if soft.is_suspect and not cure.tacky else state_of_cure(cure, now)


def turning_words(cure: CureFact, frame: Frame) -> str:
    """Until when a wet coat must be kept turning; empty where it need not, or not any more."""
    if cure.turned_at is None or cure.turned_at <= frame.now:
        return ""
    return f"turn until {not_before(cure.turned_at, frame.now, frame.zone)}"


def _turning(cure: CureFact, frame: Frame) -> tuple[float, float] | None:
    if cure.turned_at is None or cure.turned_at <= frame.now:
        return None
    return frame.scale.per_cent(cure.closed_at), frame.scale.per_cent(cure.turned_at)


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
