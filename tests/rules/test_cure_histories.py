"""No hold opens early, whatever comes in late, is missing or is put right: random histories against `decide`.

One to three cups of several products go into one place; each is touched, ended as failed or put right as it
comes. What is known at an instant is what has come in by then; the true line of that is integrated by brute
force, for every cup by itself.
"""

from datetime import UTC, datetime
from typing import NamedTuple

from hypothesis import given, settings
from hypothesis import strategies as st

from shop.craft.carried import Stay, carried_times
from shop.craft.cure import Sheet, ZoneClock
from shop.craft.warmth import TemperatureLine
from shop.rules.decide import decide
from shop.rules.facts import CureFact, Facts
from shop.rules.holds import ClearedBy
from shop.rules.puddles import PuddleState, Touch, is_in_doubt
from shop.rules.sequences import Hold, HoldKind, Sequence, Stage
from tests.craft.brute_force import Entry, History, credit
from tests.craft.test_cure_histories import (
    ASSUMED,
    ENTRIES,
    HOUR,
    LAW,
    MINUTE,
    MOVES,
    NEAR_SECONDS,
    SHEET,
    T0,
    stays_of,
)

PLACE = "guide wraps"
QUICK = Sheet(
    24.0, 10.0, 60.0, 240.0, recoat_from_minutes=45.0, recoat_until_minutes=150.0, coldest_c=13.0,
    doubling_c=10.0, turn_minutes=20.0,
)  # fmt: skip
# Sets soon and is hard late, so that a coat on it may be hard before it is.
LATE = Sheet(
    24.0, 20.0, 120.0, 1500.0, recoat_from_minutes=200.0, recoat_until_minutes=400.0, coldest_c=13.0,
    doubling_c=10.0, turn_minutes=60.0,
)  # fmt: skip
NEXT = Stage(
    "next",
    holds=(
        Hold(HoldKind.SET, places=(PLACE,)), Hold(HoldKind.FULL_CURE, places=(PLACE,)),
        Hold(HoldKind.RECOAT, place=PLACE),
    ),
)  # fmt: skip
SEQUENCE = Sequence("short", "casting", (NEXT,))


class Cup(NamedTuple):
    """A cup closed at the place; every figure but its sheet is in minutes since the beginning.

    From `right_from` on it is known to have been closed at `right_at` instead, from `failed_from` on it
    counts no more. `touches` are when its puddle was touched, and whether it was tacky.
    """

    sheet: Sheet
    closed_at: int
    right_from: int | None
    right_at: int
    failed_from: int | None
    touches: list[tuple[int, bool]]

    def known_at(self, minute: int) -> float | None:
        """When it is known to have been closed, in seconds; none while it is not known, or counts no more."""
        at = self.closed_at
        if self.right_from is not None and self.right_from <= minute:
            at = self.right_at
        if minute < max(at, self.closed_at) or (self.failed_from is not None and self.failed_from <= minute):
            return None
        return T0 + at * MINUTE

    def last_touch(self, minute: int) -> tuple[int, bool] | None:
        return max((touch for touch in self.touches if touch[0] <= minute), default=None)


MINUTES = st.integers(0, 36 * 60)
SELDOM = st.one_of(st.none(), st.none(), MINUTES)
CUPS = st.builds(
    Cup, st.sampled_from((SHEET, QUICK, LATE)), st.one_of(st.integers(0, 90), st.integers(0, 20 * 60)),
    SELDOM, st.integers(0, 20 * 60), SELDOM,
    st.one_of(st.just([]), st.lists(st.tuples(MINUTES, st.booleans()), max_size=3)),
)  # fmt: skip


def instant(seconds: float | None) -> datetime | None:
    return None if seconds is None else datetime.fromtimestamp(seconds, UTC)


def surely(seconds: float) -> datetime:
    return datetime.fromtimestamp(seconds, UTC)


def stays_since(stays: list[tuple[float, int]], closed: float) -> list[tuple[float, int]]:
    """Where a cup lay from its closing on."""
    begun = [zone for since, zone in stays if since <= closed]
    return [(closed, begun[-1]), *(stay for stay in stays if stay[0] > closed)]


class Known(NamedTuple):
    """A cup that counts, as it is known at an instant: what the rules are told, and where it lay."""

    sheet: Sheet
    fact: CureFact
    stays: list[tuple[float, int]]
    closed: float
    is_tacky: bool

    def had(self, history: History, until: float) -> float:
        """Its credit in seconds, by brute force."""
        return credit(history, LAW, self.stays, self.closed, until)


def known_cup(
    number: int,
    cup: Cup,
    closed: float,
    clocks: dict[int, ZoneClock],
    stays: list[tuple[float, int]],
    minute: int,
) -> Known:
    lay = stays_since(stays, closed)
    times = carried_times([Stay(since, clocks[zone]) for since, zone in lay], cup.sheet, closed)
    soonest, last = closed + cup.sheet.set_minutes * MINUTE, cup.last_touch(minute)
    touch = None
    if last is not None:
        state = PuddleState.TACKY if last[1] else PuddleState.FIRM
        touch = Touch(state, surely(T0 + last[0] * MINUTE))
    fact = CureFact(
        id=number, place=PLACE, adhesive=f"Cup {number}", closed_at=surely(closed),
        set_at=instant(times.set_at), full_at=instant(times.full_at), recoat_from=instant(times.recoat_from),
        recoat_until=instant(times.recoat_until), has_recoat_window=True, pot_life_ends_at=surely(closed),
        tacky=is_in_doubt([instant(times.set_at)], touch, [surely(soonest)]),
    )  # fmt: skip
    is_tacky = last is not None and last[1] and T0 + last[0] * MINUTE >= soonest
    return Known(cup.sheet, fact, lay, closed, is_tacky)


def assert_none_open_early(known: list[Known], history: History, now: float) -> None:
    """Against every cup that counts: open means that brute force agrees, shut that something is not there."""
    facts = Facts(cures=tuple(cup.fact for cup in known))
    shut = decide(SEQUENCE, facts, "next", surely(now)).holds
    last = max(known, key=lambda cup: (cup.closed, cup.fact.id), default=None)
    for kind in (HoldKind.SET, HoldKind.FULL_CURE, HoldKind.RECOAT):
        # A window that has shut asks for the prep check, which is not about its opening.
        holds = [h for h in shut if h.kind is kind and not h.check]
        if last is None:
            assert [hold.cleared_by for hold in holds] == [ClearedBy.WORK]
            continue
        asked = [(cup, needed_seconds(cup.sheet, kind)) for cup in known]
        if holds:
            doubted = any(cup.fact.tacky for cup in known)
            assert doubted or any(cup.had(history, now) <= needed + NEAR_SECONDS for cup, needed in asked)
            continue
        assert not any(cup.is_tacky for cup in known)
        for cup, needed in asked:
            sets = needed_seconds(cup.sheet, HoldKind.SET)
            is_one_coat = cup is last or cup.had(history, last.closed) < sets - NEAR_SECONDS
            if kind is not HoldKind.RECOAT or is_one_coat:
                assert cup.had(history, now) >= needed - NEAR_SECONDS
                assert now - cup.closed >= needed / LAW.cap


def needed_seconds(sheet: Sheet, kind: HoldKind) -> float:
    minutes = {
        HoldKind.SET: sheet.set_minutes, HoldKind.FULL_CURE: sheet.full_cure_minutes,
        HoldKind.RECOAT: sheet.recoat_from_minutes or 0.0,
    }  # fmt: skip
    return minutes[kind] * MINUTE


@settings(max_examples=200, deadline=None)
@given(
    ENTRIES,
    MOVES,
    st.lists(CUPS, min_size=1, max_size=3),
    st.lists(st.integers(1, 48 * 60), min_size=1, max_size=6).map(sorted),
    st.lists(st.integers(0, 60), min_size=8, max_size=8),
)
def test_no_hold_opens_early_by_what_is_known(
    entries: list[Entry], moves: list[int], cups: list[Cup], minutes: list[int], late: list[int]
) -> None:
    clocks = {zone: ZoneClock(TemperatureLine(assumed, HOUR)) for zone, assumed in ASSUMED.items()}
    history = History(ASSUMED, HOUR)
    waiting = [(entry[2] + late[n % 8] * 30 * MINUTE, entry) for n, entry in enumerate(entries)]
    for minute in minutes:
        now = T0 + minute * MINUTE
        arrived = [entry for arrives, entry in waiting if arrives <= now]
        waiting = [(arrives, entry) for arrives, entry in waiting if arrives > now]
        for zone, sensor, at, celsius in arrived:
            clocks[zone].take_in({sensor: [(at, celsius)]})
        history.entries += arrived
        stays = [stay for stay in stays_of(moves) if stay[0] <= now]
        counting = ((number, cup, cup.known_at(minute)) for number, cup in enumerate(cups, 1))
        known = [
            known_cup(number, cup, closed, clocks, stays, minute)
            for number, cup, closed in counting
            if closed is not None
        ]
        assert_none_open_early(known, history, now)
