"""The moments of which the bench is told: what has set, which window opens or shuts, when a cup is used up.

Pure: cures, cups and checks come in as finished values, every instant is an argument. A moment is computed
anew each time and moves with the temperatures; what is kept is only when somebody has seen it. How it is
shown, sounded and where it leads is the pages' matter.
"""

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta, tzinfo
from enum import StrEnum
from typing import NamedTuple

from shop.rules.hours import Hours, last_open
from shop.rules.soft import SoftCure

# How long before its end a window and a pot life are called first. Common practice, no source.
BEFORE_SHUT = timedelta(minutes=60)
BEFORE_POT_END = timedelta(minutes=5)
# How long a moment is told that nobody has seen, and how far ahead those to come are listed. What came while
# the shop was closed, or in the last hours before, is told longer: see `told_since`.
LOOK_BACK = timedelta(hours=12)
MOST_BACK = timedelta(days=7)
# An open window is told until it has lapsed, but not for ever.
WINDOW_BACK = timedelta(days=28)
LOOK_AHEAD = timedelta(hours=12)
# How long the end of a pot life is told where nobody said what the cup was for.
LEAST_TOLD = timedelta(minutes=10)

# A rod's number and the place on it, or on a turner.
Joint = tuple[str, str]


class Kind(StrEnum):
    """What a moment tells, in the order in which to hear of those that have come."""

    STOPPED = "stopped"  # a turner stands still with wet rods on it
    POT_ENDS = "pot-ends"
    POT_OVER = "pot-over"
    SHUTS = "shuts"
    LOOK = "look"  # somebody is to look whether a turner still turns
    SHUT = "shut"
    OPENS = "opens"
    PUDDLE = "puddle"
    SET = "set"
    FULL = "full"


_RANK = {kind: rank for rank, kind in enumerate(Kind)}
_KEY = re.compile(rf"({'|'.join(Kind)})-[1-9][0-9]{{0,18}}")
_DATED_KEY = re.compile(rf"({_KEY.pattern})@(.{{1,40}})")


class Moment(NamedTuple):
    """Something that happens at an instant, on stated rods and places.

    `number` is the id of the cure, mix, turner or stop that it is of. `says` goes on from the joints. `by`
    is until when there is something to be done, and from `lapses_at` on it is of no use to anybody.
    """

    kind: Kind
    number: int
    at: datetime
    joints: tuple[Joint, ...]
    says: str
    by: datetime | None = None
    lapses_at: datetime | None = None

    @property
    def key(self) -> str:
        """By which it is known that somebody has seen it, also after it has moved."""
        return f"{self.kind}-{self.number}"

    @property
    def sounds(self) -> bool:
        """Whether it is worth a sound: a full cure is good news that waits."""
        return self.kind is not Kind.FULL

    @property
    def who(self) -> str:
        """The rods and places, each pair in full; a cup that nothing is known of is named itself."""
        return ", ".join(f"{rod} {place}" for rod, place in self.joints) or f"Cup {self.number}"

    @property
    def words(self) -> str:
        """The whole of it in one sentence."""
        return f"{self.who}: {self.says}"


class Cup(NamedTuple):
    """A cup and the joints it was mixed for.

    `to_close` are those still open, `closed` those that it closed; `is_planned` says that somebody named
    the places it was for, so that it is known when the last is closed.
    """

    mix_id: int
    adhesive: str
    pot_life_ends_at: datetime
    to_close: tuple[Joint, ...] = ()
    closed: tuple[Joint, ...] = ()
    is_planned: bool = False


def dated_key(text: str) -> tuple[str, datetime] | None:
    """The key of a moment and its instant, from what a page says was seen (`set-17@<ISO instant>`)."""
    found = _DATED_KEY.fullmatch(text)
    at = None if found is None else aware_instant(found[3])
    return None if found is None or at is None else (found[1], at)


def aware_instant(text: str) -> datetime | None:
    """An instant in ISO 8601 with its offset, or none where the text is not one."""
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        return None
    return None if at.tzinfo is None else at


def told_since(hours: Hours, now: datetime, zone: tzinfo) -> datetime:
    """Since when a moment must have come to be told, if nobody has seen it.

    That is `LOOK_BACK` before the last instant at which somebody was there that long ago: on Monday it is
    told what came on Friday evening. At most `MOST_BACK`; `LOOK_BACK` where the shop never said its hours.
    """
    recent = now - LOOK_BACK
    if not hours.are_known:
        return recent
    there = last_open(hours, recent, zone)
    return max(now - MOST_BACK, recent if there is None else there - LOOK_BACK)


def cure_moments(cures: Iterable[SoftCure], hours: Hours, zone: tzinfo) -> Iterator[Moment]:
    """The moments of cures. One in doubt, by its puddle or under suspicion, is never said to be set.

    Of several cups in a joint the last speaks for all of them.
    """
    for soft in cures:
        cure = soft.cure
        if cure.tacky or soft.is_suspect or soft.is_topped_up or cure.failed:
            continue
        joints = ((soft.number, cure.place),)
        if cure.set_at is not None:
            says = "the coat has set" if cure.has_recoat_window else "has set; the next joint may push on it"
            yield Moment(Kind.SET, cure.id, cure.set_at, joints, says)
        if cure.full_at is not None:
            yield Moment(Kind.FULL, cure.id, cure.full_at, joints, "is fully cured")
        if soft.takes_a_coat:
            yield from _window(soft, hours, zone)


def _window(soft: SoftCure, hours: Hours, zone: tzinfo) -> Iterator[Moment]:
    """The moments of a window that a coat is to use."""
    cure, joints = soft.cure, ((soft.number, soft.cure.place),)
    opens, until = cure.recoat_from, cure.recoat_until
    if opens is None:
        return
    last = None if until is None else last_open(hours, until, zone)
    if last is None or last <= opens:
        last = until
    says = "the recoat window is open; the next coat may be laid"
    yield Moment(Kind.OPENS, cure.id, opens, joints, says, by=last, lapses_at=until)
    if until is None or last is None:
        return
    if last == until:
        says = "the recoat window shuts soon; lay the next coat before"
    else:
        says = "the recoat window shuts while the shop is closed; lay the next coat before closing time"
    yield Moment(Kind.SHUTS, cure.id, max(opens, last - BEFORE_SHUT), joints, says, by=last, lapses_at=until)
    says = "the recoat window has shut; wash, scuff and wipe before the next coat"
    yield Moment(Kind.SHUT, cure.id, until, joints, says)


def cup_moments(cups: Iterable[Cup]) -> Iterator[Moment]:
    """The ends of the pot lives of cups in use: one that has closed all that it was for is not."""
    for cup in cups:
        if cup.is_planned and not cup.to_close:
            continue
        joints, ends = cup.to_close or cup.closed, cup.pot_life_ends_at
        says = f"the pot life of {cup.adhesive} ends soon; close what is left"
        yield Moment(Kind.POT_ENDS, cup.mix_id, ends - BEFORE_POT_END, joints, says, by=ends, lapses_at=ends)
        says = f"the pot life of {cup.adhesive} is over; close nothing more with this cup"
        lapses_at = None if cup.to_close else ends + LEAST_TOLD
        yield Moment(Kind.POT_OVER, cup.mix_id, ends, joints, says, lapses_at=lapses_at)


def puddle_moment(mix_id: int, adhesive: str, due_at: datetime, joints: tuple[Joint, ...]) -> Moment:
    """The puddle of a mix is to be touched."""
    return Moment(Kind.PUDDLE, mix_id, due_at, joints, f"touch the puddle of {adhesive}")


def look_moment(turner_id: int, turner: str, due_at: datetime, joints: tuple[Joint, ...]) -> Moment:
    """Somebody is to look whether a turner still turns; the joints are the rods on its places."""
    return Moment(Kind.LOOK, turner_id, due_at, joints, f"look whether {turner} still turns")


def stopped_moment(stop_id: int, turner: str, stopped_at: datetime, joints: tuple[Joint, ...]) -> Moment:
    """A turner stands still; the joints are the rods on its places that are still wet."""
    return Moment(Kind.STOPPED, stop_id, stopped_at, joints, f"{turner} stands still; turn by hand")


def in_order(moments: Iterable[Moment]) -> list[Moment]:
    """Moments by their instants, as `around` takes them."""
    return sorted(moments, key=_instant)


def around(moments: Sequence[Moment], now: datetime) -> Sequence[Moment]:
    """Those of the moments, given by their instants, that an instant can see, before it or after it."""
    first = bisect_left(moments, now - WINDOW_BACK, key=_instant)
    return moments[first : bisect_right(moments, now + LOOK_AHEAD, key=_instant)]


def _instant(moment: Moment) -> datetime:
    return moment.at


def due(
    moments: Iterable[Moment], now: datetime, since: datetime, seen: Mapping[str, datetime]
) -> list[Moment]:
    """The moments that have come and that nobody has seen, the most pressing first.

    `seen` has by key at which instant a moment was when somebody saw it. One that moved to later than that
    is told again. A turner that stands still is told for as long as it does, and an open window until it
    has shut; every other moment if it came at `since` or later (see `told_since`).
    """
    told = [moment for moment in moments if _has_come(moment, now, since) and not _is_seen(moment, seen)]
    return sorted(told, key=lambda moment: (_RANK[moment.kind], moment.at, moment.joints, moment.number))


def _has_come(moment: Moment, now: datetime, since: datetime) -> bool:
    if moment.at > now or (moment.lapses_at is not None and moment.lapses_at <= now):
        return False
    if moment.kind is Kind.OPENS and moment.lapses_at is not None:
        return moment.at >= now - WINDOW_BACK
    return moment.kind is Kind.STOPPED or moment.at >= since


def _is_seen(moment: Moment, seen: Mapping[str, datetime]) -> bool:
    seen_at = seen.get(moment.key)
    return seen_at is not None and seen_at >= moment.at


def coming(moments: Iterable[Moment], now: datetime) -> list[Moment]:
    """The moments of the next hours, in order of time."""
    ahead = [moment for moment in moments if now < moment.at <= now + LOOK_AHEAD]
    return sorted(ahead, key=lambda moment: (moment.at, _RANK[moment.kind], moment.joints, moment.number))
