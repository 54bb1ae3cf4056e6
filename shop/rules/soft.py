"""Cures that are not hard yet: which they are, in which order to look after them, how their windows stand.

What shuts comes before what waits: a window missed costs a preparing, a wait missed costs nothing. Then
comes what no time frees, which somebody must see to, and then the rest by what comes next. The instants
themselves are `shop.craft.cure`'s; whether a coat may be laid is decided in `shop.rules.decide`.
"""

from collections.abc import Iterable
from datetime import datetime, tzinfo
from enum import StrEnum
from operator import itemgetter
from typing import NamedTuple

from shop.rules.facts import CureFact, Facts
from shop.rules.hours import Hours, is_open, last_open
from shop.rules.joints import shared_joints, told_as_one
from shop.rules.sequences import HoldKind, Sequence


class SoftCure(NamedTuple):
    """A cure of an open build; `takes_a_coat` says that a coat of the sequence is still to go onto it.

    One of several cups in a joint has the times of the whole joint, and is suspect if one of them is.
    `is_topped_up` says that a later cup of it speaks for the joint, so that it is not told twice.
    """

    number: str
    cure: CureFact
    takes_a_coat: bool = False
    is_suspect: bool = False
    is_topped_up: bool = False


class Concern(StrEnum):
    """Why a soft cure is looked at, in the order in which to look."""

    SHUTS = "shuts"
    NO_TIME = "no time"
    WAITS = "waits"


class WindowState(StrEnum):
    """How a recoat window stands; `never` is one that cold keeps from opening."""

    NONE = "none"
    NEVER = "never"
    OPENS = "opens"
    OPEN = "open"
    SHUT = "shut"


class Shutting(NamedTuple):
    """A window that shuts while nobody is in the shop.

    `last_at` is the last instant at which somebody could still lay the coat, none where there is no such
    instant from now on.
    """

    last_at: datetime | None


def is_soft(cure: CureFact, now: datetime) -> bool:
    """Whether a cure counts and is not fully cured; a tacky puddle keeps it soft whatever the sum says."""
    return not cure.failed and (cure.tacky or cure.full_at is None or cure.full_at > now)


def soft_cures(number: str, sequence: Sequence, facts: Facts, now: datetime) -> Iterable[SoftCure]:
    """The cures of one build to look after: the soft, those in doubt, and those whose window is not over.

    A coat goes onto the last cure of its place alone.
    """
    cures, shared = told_as_one(facts.cures), shared_joints(facts.cures)
    top = _top_coats(cures) if any(cure.has_recoat_window for cure in cures) else {}
    places = coats_to_come(sequence, facts) if top else frozenset()
    mixes = {suspect.mix_id for suspect in facts.suspects}
    suspects = {cure.id for cure in cures if cure.mix_id in mixes}
    suspects.update(cup.id for joint in shared if mixes & {cup.mix_id for cup in joint} for cup in joint)
    topped_up = {cup.id for joint in shared for cup in joint[:-1]}
    for cure in cures:
        takes_a_coat = cure.place in places and top.get(cure.place) == cure.id
        soft = SoftCure(number, cure, takes_a_coat, cure.id in suspects, cure.id in topped_up)
        if is_soft(cure, now) or (not cure.failed and _is_looked_after(soft, now)):
            yield soft


def _is_looked_after(soft: SoftCure, now: datetime) -> bool:
    """Whether a cure that is fully cured is still to be looked after.

    A window without an end waits for nobody once it is open, and so keeps nothing here.
    """
    cure = soft.cure
    if soft.is_suspect or not soft.takes_a_coat:
        return soft.is_suspect
    match window_state(cure, now):
        case WindowState.NEVER | WindowState.OPENS:
            return True
        case WindowState.OPEN:
            return cure.recoat_until is not None
        case _:
            return False


def coats_to_come(sequence: Sequence, facts: Facts) -> frozenset[str]:
    """The places for which a stage that is not reached yet holds to a recoat window."""
    return frozenset(
        hold.place
        for stage in sequence.stages
        if stage.name not in facts.reached
        for hold in stage.holds
        if hold.kind is HoldKind.RECOAT
    )


def _top_coats(cures: Iterable[CureFact]) -> dict[str, int]:
    """The id of the last cure at each place, those that failed left out."""
    top: dict[str, CureFact] = {}
    for cure in cures:
        was = top.get(cure.place)
        if not cure.failed and (was is None or (cure.closed_at, cure.id) > (was.closed_at, was.id)):
            top[cure.place] = cure
    return {place: cure.id for place, cure in top.items()}


def window_state(cure: CureFact, now: datetime) -> WindowState:
    """How the recoat window of a cure stands. Both its ends belong to it."""
    if not cure.has_recoat_window:
        return WindowState.NONE
    if cure.recoat_from is None:
        return WindowState.NEVER
    if now < cure.recoat_from:
        return WindowState.OPENS
    if cure.recoat_until is None or now <= cure.recoat_until:
        return WindowState.OPEN
    return WindowState.SHUT


def looked_at(soft: SoftCure, now: datetime) -> tuple[Concern, datetime]:
    """Why a soft cure is looked at, and the instant by which it is: what comes next, or since when it lies.

    Nothing is laid on what is in doubt, so its window does not matter. Where nothing comes
    next, the one that has waited longest comes first.
    """
    cure = soft.cure
    if cure.tacky or soft.is_suspect:
        return Concern.NO_TIME, cure.closed_at
    if soft.takes_a_coat and cure.recoat_until is not None and now <= cure.recoat_until:
        return Concern.SHUTS, cure.recoat_until
    comes_at = None if cure.full_at is None else next_instant(soft, now)
    return (Concern.NO_TIME, cure.closed_at) if comes_at is None else (Concern.WAITS, comes_at)


def next_instant(soft: SoftCure, now: datetime) -> datetime | None:
    """The next instant after now that matters: turned enough, set, hard, its window opening or shutting."""
    cure = soft.cure
    instants = [cure.turned_at, cure.set_at, cure.full_at]
    if soft.takes_a_coat:
        instants += [cure.recoat_from, cure.recoat_until]
    return min([at for at in instants if at is not None and at > now], default=None)


def in_order(cures: Iterable[SoftCure], now: datetime) -> list[tuple[Concern, list[SoftCure]]]:
    """The soft cures by concern, in the order to look after them; a concern of none is left out."""
    found: dict[Concern, list[tuple[datetime, str, int, SoftCure]]] = {concern: [] for concern in Concern}
    for soft in cures:
        concern, at = looked_at(soft, now)
        found[concern].append((at, soft.number, soft.cure.id, soft))
    for members in found.values():
        members.sort(key=itemgetter(0, 1, 2))
    return [(concern, [soft for *_, soft in members]) for concern, members in found.items() if members]


def shuts_unattended(cure: CureFact, hours: Hours, now: datetime, zone: tzinfo) -> Shutting | None:
    """What to say of a window that shuts while the shop is closed; none where it shuts in the open hours.

    A shop that never said its hours is taken to be open.
    """
    until = cure.recoat_until
    if until is None or is_open(hours, until, zone):
        return None
    last = last_open(hours, until, zone)
    opens = max(now, cure.recoat_from or now)
    return Shutting(last if last is not None and last > opens else None)
