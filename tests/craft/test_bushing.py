"""Tape bushings and arbors: turns, tape used, rings along a seat, and gaps that cannot be filled."""

from collections.abc import Callable
from itertools import pairwise
from math import pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.craft.faults import SumFault
from shop.craft.fit.bushing import MOST_TAPE_NM, Arbor, Rings, arbor, place_rings, tape_bushing
from shop.craft.lengths import NM_PER_INCH, parse_length


def inch(text: str) -> int:
    return parse_length(f"{text} in")


def test_fifteen_turns() -> None:
    # Common practice, no source: 15.45 turns would fill it.
    found = tape_bushing(inch("0.650"), inch("0.470"), inch("0.0055"), inch("0.005"))
    assert (found.turns, found.finished_od_nm) == (15, inch("0.635"))
    assert found.clearance_left_nm == inch("0.0075")
    assert found.fill_nm == inch("0.085")
    assert found.tape_length_nm / NM_PER_INCH == pytest.approx(26.0, abs=0.05)
    assert found.wants_arbor


def test_eleven_turns() -> None:
    # Common practice, no source.
    assert tape_bushing(inch("0.650"), inch("0.510"), inch("0.0055"), inch("0.005")).turns == 11


def test_turns_that_fill_exactly_are_not_lost_to_rounding() -> None:
    # Worked by hand: 10 × 0.0055 in + 0.005 in a side.
    found = tape_bushing(inch("0.620"), inch("0.500"), inch("0.0055"), inch("0.005"))
    assert (found.turns, found.clearance_left_nm) == (10, inch("0.005"))


def test_an_arbor_is_wanted_only_above_a_sixteenth() -> None:
    exactly = tape_bushing(1000 + 2 * MOST_TAPE_NM, 1000, 100, 0)
    assert (exactly.fill_nm, exactly.wants_arbor) == (MOST_TAPE_NM, False)
    assert tape_bushing(1002 + 2 * MOST_TAPE_NM, 1000, 100, 0).wants_arbor


@pytest.mark.parametrize(("seat", "fill"), [(1000, -20), (1030, -5), (1049, 5)])
def test_there_may_be_no_room_for_a_turn(seat: int, fill: int) -> None:
    found = tape_bushing(seat, 1000, 10, 20)
    assert (found.turns, found.finished_od_nm, found.tape_length_nm) == (0, 1000, 0)
    assert found.fill_nm == fill


SIZES = st.integers(NM_PER_INCH // 8, NM_PER_INCH)


@given(SIZES, SIZES, st.integers(20_000, 400_000), st.integers(0, 300_000))
@settings(max_examples=60)
def test_the_ring_keeps_its_clearance_and_another_turn_would_not(
    od: int, more: int, tape: int, clearance: int
) -> None:
    found = tape_bushing(od + more, od, tape, clearance)
    assert found.finished_od_nm + 2 * clearance <= od + more or found.turns == 0
    assert found.finished_od_nm + 2 * tape + 2 * clearance > od + more
    turn_by_turn = sum(pi * (od + (2 * turn - 1) * tape) for turn in range(1, found.turns + 1))
    assert found.tape_length_nm == pytest.approx(turn_by_turn, rel=1e-9, abs=1)


def test_rings_stand_evenly() -> None:
    # Worked by hand: 4 − 2 × 1/4 − 3 × 3/8 = 2-3/8, two gaps of 1-3/16.
    found = place_rings(inch("4"), inch("3/8"), inch("1/4"), 3)
    assert found == Rings((inch("1/4"), inch("1 13/16"), inch("3 3/8")), inch("1 3/16"))
    assert place_rings(inch("1"), inch("3/8"), inch("1/8"), 1) == Rings((inch("5/16"),), None)
    assert place_rings(100, 80, 10, 1) == Rings((10,), None)


@given(st.integers(10**6, 10**8), st.integers(10**4, 10**6), st.integers(0, 10**5), st.integers(2, 9))
@settings(max_examples=60)
def test_the_ends_and_the_gaps_stay_open(seat: int, width: int, open_end: int, count: int) -> None:
    if seat - 2 * open_end - count * width <= 0:
        with pytest.raises(SumFault):
            place_rings(seat, width, open_end, count)
        return
    found = place_rings(seat, width, open_end, count)
    assert (found.starts_nm[0], found.starts_nm[-1] + width) == (open_end, seat - open_end)
    assert len(found.starts_nm) == count
    assert found.gap_nm is not None
    for before, after in pairwise(found.starts_nm):
        assert abs(after - before - width - found.gap_nm) <= 1


def test_the_arbor() -> None:
    # Common practice, no source.
    found = arbor(inch("0.650"), inch("0.470"), inch("0.005"), inch("0.006"))
    assert found == Arbor(inch("0.640"), inch("0.476"), inch("0.082"))


@pytest.mark.parametrize(
    ("call", "field", "says"),
    [
        (lambda: tape_bushing(999, 1000, 10, 0), "seat_bore", "smaller than the blank"),
        (lambda: tape_bushing(0, 1000, 10, 0), "seat_bore", "more than nothing"),
        (lambda: tape_bushing(1000, 0, 10, 0), "od", "more than nothing"),
        (lambda: tape_bushing(1000, 900, 0, 0), "tape", "more than nothing"),
        (lambda: tape_bushing(1000, 900, 10, -1), "clearance", "less than nothing"),
        (lambda: arbor(999, 1000, 0, 0), "seat_bore", "smaller than the blank"),
        (lambda: arbor(1000, 980, 5, 10), "seat_bore", "no wall is left"),
        (lambda: arbor(1000, 900, -5, 10), "clearance", "less than nothing"),
        (lambda: arbor(1000, 900, 5, -10), "allowance", "less than nothing"),
        (lambda: place_rings(100, 30, 5, 3), "rings", "no gap for the glue"),
        (lambda: place_rings(100, 101, 0, 1), "rings", "no gap for the glue"),
        (lambda: place_rings(100, 30, 5, 4), "rings", "no gap for the glue"),
        (lambda: place_rings(100, 30, 5, 0), "rings", "more than nothing"),
        (lambda: place_rings(0, 30, 5, 2), "seat_length", "more than nothing"),
        (lambda: place_rings(100, 0, 5, 2), "ring_width", "more than nothing"),
        (lambda: place_rings(100, 10, -5, 2), "open_end", "less than nothing"),
    ],
)
def test_refuses_gaps_that_cannot_be_filled(call: Callable[[], object], field: str, says: str) -> None:
    with pytest.raises(SumFault) as caught:
        call()
    assert list(caught.value.errors) == [field]
    assert says in caught.value.errors[field]
