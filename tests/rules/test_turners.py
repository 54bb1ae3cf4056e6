"""Turners: until when a coat turns, which places are free when, when to look, and the order of a stop.

Every time counts in hours from one instant, at which the coats of these tables are closed.
"""

from datetime import timedelta

import pytest

from shop.rules.decide import ClearedBy
from shop.rules.facts import Facts, TurnerFact
from shop.rules.sequences import Hold, HoldKind
from shop.rules.turners import (
    Coat,
    Needs,
    Occupied,
    Places,
    Span,
    Turning,
    Wet,
    faults_of_turner,
    first_free_at,
    hand_order,
    length_words,
    must_turn_by_hand,
    next_look,
    places_free_for,
    places_promised,
    section_words,
    stood_wet_from,
    turning_of,
)
from tests.rules.builders import CLOSED, SECOND, after, shut, stage

MS = timedelta(milliseconds=1)
DRY = Turning()


def wet(until: float, since: float = 0) -> Turning:
    return Turning(after(since), after(until))


NO_END = Turning(CLOSED, None, no_end=True)


def on(place: int, turning: Turning, on_at: float = 0, turner: int = 1, to_inspect: bool = False) -> Occupied:
    return Occupied(turner, place, after(on_at), turning, to_inspect)


@pytest.mark.parametrize(
    ("coats", "turning"),
    [
        ([], DRY),
        ([Coat(CLOSED, after(6))], Turning(CLOSED, after(6))),
        ([Coat(CLOSED, after(5), by_sheet=False)], Turning(CLOSED, after(5), by_sheet=False)),
        # The coat that has to turn for the longest speaks, whichever was laid last.
        ([Coat(CLOSED, after(6)), Coat(after(1), after(4))], Turning(CLOSED, after(6))),
        ([Coat(CLOSED, after(6)), Coat(after(12), after(18))], Turning(after(12), after(18))),
        # One that no time ends is worse than any that ends.
        ([Coat(CLOSED, None), Coat(after(12), after(18))], NO_END),
    ],
)
def test_the_coat_that_turns_for_the_longest_speaks(coats: list[Coat], turning: Turning) -> None:
    assert turning_of(coats) == turning
    assert turning_of(reversed(coats)) == turning


@pytest.mark.parametrize(
    ("turning", "hours", "over"),
    [(DRY, 0, True), (wet(6), 5.999, False), (wet(6), 6, True), (NO_END, 1000, False)],
)
def test_turning_is_over_at_its_instant(turning: Turning, hours: float, over: bool) -> None:
    assert turning.is_over(after(hours)) is over


def test_turning_is_not_over_a_millisecond_early() -> None:
    assert not wet(6).is_over(after(6) - MS)


@pytest.mark.parametrize(
    ("stay", "leaves"),
    [
        (on(1, wet(6)), 6),
        (on(1, wet(6), on_at=5.9), 6),
        # What was dry when it was put on waits for a coat, and nobody knows when it will come off.
        (on(1, wet(6), on_at=6), None),
        (on(1, DRY), None),
        (on(1, NO_END), None),
        (on(1, wet(6), to_inspect=True), None),
    ],
)
def test_when_a_rod_may_leave_its_place(stay: Occupied, leaves: float | None) -> None:
    assert stay.leaves_at == (None if leaves is None else after(leaves))


TWO = (Places(1, 2),)
FOUR = (Places(1, 2), Places(2, 2))


@pytest.mark.parametrize(
    ("stays", "turners", "first", "last", "free"),
    [
        ([], (), 0, 6, 0),
        ([], TWO, 0, 6, 2),
        ([], (Places(1, 2, stands_still=True),), 0, 6, 0),
        ([], (Places(1, 2, stands_still=True), Places(2, 3)), 0, 6, 3),
        # A rod leaves its place at the end of its turning: the span may begin at that very instant.
        ([on(1, wet(6))], TWO, 5.999, 12, 1),
        ([on(1, wet(6))], TWO, 6, 12, 2),
        ([on(1, wet(6)), on(2, wet(8))], TWO, 6, 12, 1),
        ([on(1, wet(6)), on(2, wet(8))], TWO, 8, 14, 2),
        ([on(1, wet(6)), on(2, wet(8))], TWO, 1, 2, 0),
        # One that comes on within the span takes its place for all of it, the last instant included.
        ([on(1, wet(20, since=10), on_at=10)], TWO, 0, 9.999, 2),
        ([on(1, wet(20, since=10), on_at=10)], TWO, 0, 10, 1),
        ([on(1, DRY)], TWO, 100, 106, 1),
        ([on(1, NO_END)], TWO, 100, 106, 1),
        ([on(1, wet(6), to_inspect=True)], TWO, 100, 106, 1),
        # A rod on a turner that stands still takes nothing from the others.
        ([on(1, wet(6), turner=1)], (Places(1, 2, stands_still=True), Places(2, 2)), 0, 6, 2),
        # Two stays one after the other on one place take it once.
        ([on(1, wet(6)), on(1, wet(20, since=7), on_at=7)], TWO, 1, 9, 1),
        ([on(1, wet(6)), on(1, wet(6), turner=2)], FOUR, 1, 9, 2),
    ],
)  # fmt: skip
def test_how_many_places_are_free_for_a_whole_span(
    stays: list[Occupied], turners: tuple[Places, ...], first: float, last: float, free: int
) -> None:
    assert places_free_for(stays, turners, after(first), after(last)) == free


def test_a_span_that_ends_before_it_begins_is_a_mistake() -> None:
    with pytest.raises(ValueError, match="ends after it begins"):
        places_free_for([], TWO, after(1), after(1) - MS)


@pytest.mark.parametrize(
    ("stays", "first", "wanted", "at"),
    [
        ([], 3, 2, 3),
        ([], 3, 3, None),
        ([on(1, wet(6)), on(2, wet(8))], 1, 1, 6),
        ([on(1, wet(6)), on(2, wet(8))], 1, 2, 8),
        ([on(1, wet(6)), on(2, wet(8))], 7, 1, 7),
        ([on(1, wet(6)), on(2, NO_END)], 1, 2, None),
        ([on(1, wet(6)), on(2, DRY)], 1, 1, 6),
        ([on(1, wet(6), to_inspect=True), on(2, DRY)], 1, 1, None),
        # A place is not free yet while another rod comes on to it.
        ([on(1, wet(6)), on(2, wet(20, since=9), on_at=9)], 1, 2, 20),
    ],
)
def test_when_so_many_places_may_be_free(
    stays: list[Occupied], first: float, wanted: int, at: float | None
) -> None:
    found = first_free_at(stays, TWO, after(first), wanted)
    assert found == (None if at is None else after(at))


ROD, OTHER, FOUR_PIECE = Needs(1, 1), Needs(2, 1), Needs(3, 4)


@pytest.mark.parametrize(
    ("needs", "staying", "besides", "count"),
    [
        ([], [], (), 0),
        ([ROD, OTHER], [], (), 2),
        ([ROD, FOUR_PIECE], [], (), 5),
        # Two places of one rod, or two cups for it, take its turner place once.
        ([ROD, ROD], [], (), 1),
        ([Needs(3, 1), FOUR_PIECE], [], (), 4),
        # What is on a place already asks for no other.
        ([ROD], [(1, 0)], (), 0),
        ([ROD], [(2, 0)], (), 1),
        ([FOUR_PIECE], [(3, 1)], (), 3),
        ([FOUR_PIECE], [(3, 1), (3, 2), (3, 1)], (), 2),
        ([FOUR_PIECE], [(3, 0)], (), 0),
        ([FOUR_PIECE], [(3, 1), (3, 0)], (), 0),
        ([FOUR_PIECE], [(3, number) for number in range(1, 6)], (), 0),
        # The rods of the cup that is judged are counted by itself.
        ([ROD, FOUR_PIECE], [], {3}, 1),
        ([ROD, FOUR_PIECE], [(3, 1)], {1, 3}, 0),
    ],
)
def test_how_many_places_are_spoken_for_by_rods_on_no_turner_yet(
    needs: list[Needs], staying: list[tuple[int, int]], besides: set[int], count: int
) -> None:
    assert places_promised(needs, staying, besides) == count
    assert places_promised(reversed(needs), reversed(staying), besides) == count


TWO_HOURS = timedelta(hours=2)


@pytest.mark.parametrize(
    ("rods", "looked", "due"),
    [
        ([], None, None),
        ([], 1, None),
        ([(0, 6)], None, 2),
        # From the last look, or from when the first of the rods came on if that was later.
        ([(0, 6)], 1, 3),
        ([(5, 11)], 1, 7),
        ([(0, 6), (5, 11)], 1, 3),
        # A rod that was dry at the last look asks for nothing more.
        ([(0, 6), (5, 11)], 6, 8),
        ([(0, 6), (7, 13)], 6, 9),
        # Nobody has to look at the instant at which the last of them has turned long enough.
        ([(0, 6)], 4, None),
        ([(0, 6)], 3.999, 5.999),
        ([(0, 6)], 6, None),
        ([(0, None)], 100, 102),
    ],
)
def test_when_to_look_next(
    rods: list[tuple[float, float | None]], looked: float | None, due: float | None
) -> None:
    found = next_look(
        [Wet(after(since), None if until is None else after(until)) for since, until in rods],
        None if looked is None else after(looked),
        TWO_HOURS,
    )
    assert found == (None if due is None else after(due))


Ends = tuple[float, float | None]


def span(ends: Ends) -> Span:
    start, end = ends
    return Span(after(start), None if end is None else after(end))


ALWAYS: Ends = (0, None)


@pytest.mark.parametrize(
    ("coats", "stay", "stop", "since"),
    [
        # A coat that is wet from 0 to 6, on a rod that stays, when its turner stops and nobody knows the end.
        ([(0, 6)], ALWAYS, (5.999, None), 5.999),
        ([(0, 6)], ALWAYS, (6, None), None),
        ([(0, None)], ALWAYS, (100, None), 100),
        ([], ALWAYS, (1, None), None),
        # A rod put on after the stop, which nobody had noticed, has not turned either.
        ([(0, 6)], (3, None), (1, None), 3),
        ([(0, 6)], (6, None), (1, None), None),
        ([(14, 20)], (2, None), (1, None), 14),
        # A stop that has ended: the coat may be written down when all is over, or be laid after it.
        ([(0, 6)], ALWAYS, (2, 3), 2),
        ([(2.5, 8.5)], ALWAYS, (2, 3), 2.5),
        ([(2.999, 9)], ALWAYS, (2, 3), 2.999),
        ([(3, 9)], ALWAYS, (2, 3), None),
        ([(0, 2)], ALWAYS, (2, 3), None),
        # Each coat for itself: the first was wet then, though the second has to turn for longer.
        ([(0, 6), (12, 18)], ALWAYS, (2, 3), 2),
        ([(0, 6), (12, 18)], ALWAYS, (7, 8), None),
        ([(0, 6), (2.5, 9)], ALWAYS, (2, 3), 2),
        # The rod was there for a part of it, or came and went before and after.
        ([(0, 6)], (0, 2.001), (2, 3), 2),
        ([(0, 6)], (0, 2), (2, 3), None),
        ([(0, 6)], (2.999, None), (2, 3), 2.999),
        ([(0, 6)], (3, None), (2, 3), None),
        ([(0, 6)], ALWAYS, (2, 2), None),
    ],
)
def test_which_rods_a_stop_catches_and_from_when(
    coats: list[Ends], stay: Ends, stop: Ends, since: float | None
) -> None:
    laid = [Coat(*span(ends)) for ends in coats]
    found = stood_wet_from(laid, span(stay), span(stop))
    assert found == (None if since is None else after(since))
    assert stood_wet_from(reversed(laid), span(stay), span(stop)) == found


@pytest.mark.parametrize(
    ("stands_still", "is_on_it", "turning", "hours", "by_hand"),
    [
        (True, True, wet(6), 5.999, True),
        (True, True, wet(6), 6, False),
        (True, False, wet(6), 1, False),
        (False, True, wet(6), 1, False),
        (True, True, NO_END, 100, True),
        (True, True, DRY, 1, False),
    ],
)
def test_a_wet_rod_on_a_turner_that_stands_still_is_turned_by_hand(
    stands_still: bool, is_on_it: bool, turning: Turning, hours: float, by_hand: bool
) -> None:
    assert must_turn_by_hand(stands_still, is_on_it, turning, after(hours)) is by_hand


def test_the_wettest_is_turned_first_then_by_place_and_those_turned_last() -> None:
    rods = {
        "stalled": (NO_END, 9, None),
        "fresh": (wet(6), 5, None),
        "as fresh, later place": (wet(6), 6, None),
        "nearly there": (wet(1), 1, None),
        "fresher but turned": (wet(7), 2, CLOSED),
    }
    assert sorted(rods, key=lambda name: hand_order(*rods[name])) == [
        "stalled", "fresh", "as fresh, later place", "nearly there", "fresher but turned",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("name", "places", "minutes", "faulty"),
    [
        ("Rack", 1, 5, set()),
        ("Rack", 60, 1440, set()),
        (" ", 0, 4, {"name", "places", "check_minutes"}),
        ("R" * 60, 61, 1441, {"places", "check_minutes"}),
        ("R" * 61, 6, 120, {"name"}),
    ],
)
def test_what_a_turner_cannot_be(name: str, places: int, minutes: int, faulty: set[str]) -> None:
    assert set(faults_of_turner(name, places, minutes)) == faulty


FULL = "Every place of the turners is taken"


@pytest.mark.parametrize(
    ("turner", "is_on", "reason"),
    [
        (None, False, "No turner is on file."),
        (None, True, ""),
        (TurnerFact(3, 1), False, ""),
        (TurnerFact(3, 0), True, ""),
        (TurnerFact(3, 0), False, f"{FULL}, or stands still."),
        (TurnerFact(3, 0, after(6)), False, f"{FULL}; the next may be free from 2026-03-02 15:00 UTC."),
        (TurnerFact(3, 0, after(1)), False, f"{FULL}; a rod that has turned long enough may come off."),
    ],
)
def test_a_stage_that_needs_a_turner(turner: TurnerFact | None, is_on: bool, reason: str) -> None:
    facts = Facts(turner=turner, is_on_turner=is_on)
    holds = shut(stage(Hold(HoldKind.TURNER)), facts, after(1))
    assert [(hold.kind, hold.reason, hold.cleared_by) for hold in holds] == (
        [(HoldKind.TURNER, reason, ClearedBy.WORK)] if reason else []
    )


def test_a_coat_that_stood_still_holds_every_stage_until_a_person_looks() -> None:
    facts = Facts(inspections=("Rack stood still.", "Spare stood still."))
    holds = shut(stage(), facts, CLOSED)
    assert [(hold.kind, hold.cleared_by, hold.check, hold.clears_at) for hold in holds] == [
        (HoldKind.CHECK, ClearedBy.PERSON, "", None)
    ] * 2
    assert [hold.reason for hold in holds] == [
        "Inspect the coat after the turner's stop: Rack stood still.",
        "Inspect the coat after the turner's stop: Spare stood still.",
    ]
    released = Facts(inspections=facts.inspections, releases=frozenset({("target", HoldKind.CHECK)}))
    assert shut(stage(), released, CLOSED) == ()


def test_pieces_and_lengths_in_words() -> None:
    assert (section_words(0), section_words(3)) == ("the whole rod", "section 3")
    minute = timedelta(minutes=1)
    assert [length_words(length) for length in (minute - SECOND, 59 * minute, 60 * minute, 125 * minute)] == [
        "0 min", "59 min", "1 h 00 min", "2 h 05 min",
    ]  # fmt: skip
