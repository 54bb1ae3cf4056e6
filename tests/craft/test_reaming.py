"""Reaming: the bores wanted, where a straight bore stops, the steps and the halves that open it."""

from collections.abc import Callable
from fractions import Fraction
from math import ceil, log2

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.craft.faults import SumFault
from shop.craft.fit.reaming import Bores, Stop, bores, halving, pilot_steps, where_it_stops
from shop.craft.lengths import NM_PER_INCH, parse_length
from shop.craft.taper import od_at


def inch(text: str) -> int:
    return parse_length(f"{text} in")


# Common practice, no source: a taper of 0.010 in an inch.
BLANK = ((inch("0"), inch("0.593")), (inch("12"), inch("0.473")))
HUNDREDTH = Fraction(1, 100)


def test_the_bores_of_a_rear_grip() -> None:
    # Common practice, no source: 9 in from 1/2 in, 0.003 in a side.
    found = bores(BLANK, inch("1/2"), inch("9"), inch("0.003"))
    assert found == Bores(inch("0.594"), inch("0.504"))


@pytest.mark.parametrize(
    ("bore", "mark", "clearance", "stop"),
    [
        # Worked by hand from the taper above.
        ("0.533", "0", "0", Stop(inch("6"), inch("6"))),
        ("0.533", "1/2", "0", Stop(inch("6"), inch("5 1/2"))),
        ("0.533", "0", "0.005", Stop(inch("7"), inch("7"))),
        ("0.473", "0", "0", Stop(inch("12"), inch("12"))),
        # At and beyond its mark it is not short.
        ("0.533", "6", "0", Stop(inch("6"), 0)),
        ("0.533", "8", "0", Stop(inch("6"), 0)),
        ("0.593", "1", "0", Stop(0, 0)),
        ("0.594", "1", "0", Stop(None, 0)),
    ],
)
def test_where_a_straight_bore_stops(bore: str, mark: str, clearance: str, stop: Stop) -> None:
    assert where_it_stops(BLANK, inch(bore), inch(mark), inch(clearance)) == stop


def test_a_grip_stops_at_the_first_place_that_is_thick_enough() -> None:
    # A swelling near the tip holds the grip, though the blank below it is thinner.
    swollen = ((0, 900), (100, 500), (200, 700), (300, 400))
    assert where_it_stops(swollen, 550, 0) == Stop(250, 250)
    # On an even length it stops where that begins.
    even = ((0, 900), (100, 600), (200, 600), (300, 400))
    assert where_it_stops(even, 600, 0) == Stop(200, 200)


@given(st.integers(inch("0.4731"), inch("0.593")), st.integers(0, inch("12")))
@settings(max_examples=60)
def test_the_blank_is_as_thick_as_the_bore_where_it_stops(bore: int, mark: int) -> None:
    found = where_it_stops(BLANK, bore, mark)
    assert found.stops_at_nm is not None
    assert abs(od_at(BLANK, found.stops_at_nm) - bore) <= 1
    assert found.short_nm == max(0, found.stops_at_nm - mark)


def test_the_steps_from_a_drilled_bore() -> None:
    # Common practice, no source: 5/16 in opened to 3/8 in on a pilot.
    steps = pilot_steps(inch("5/16"), inch("3/8"), inch("1/64"))
    assert steps == tuple(inch(size) for size in ("21/64", "11/32", "23/64", "3/8"))
    assert pilot_steps(10, 25, 10) == (20, 25)
    assert pilot_steps(10, 20, 10) == (20,)
    assert pilot_steps(10, 20, 500) == (20,)
    assert pilot_steps(10, 10, 5) == ()
    assert len(pilot_steps(1000, 1060, 1)) == 60


def test_reaming_by_halves() -> None:
    # Common practice, no source: 6 in short, to 1/8 in, at 0.010 in an inch.
    passes = halving(inch("6"), inch("1/8"), HUNDREDTH)
    left = [inch(size) for size in ("3", "1 1/2", "3/4", "3/8", "3/16", "3/32")]
    assert [one.short_after_nm for one in passes] == left
    assert [one.travel_nm for one in passes] == left
    assert [one.short_before_nm for one in passes] == [inch("6"), *left[:-1]]
    growth = [float(one.bore_growth_nm / NM_PER_INCH) for one in passes]
    assert growth == [0.030, 0.015, 0.0075, 0.00375, 0.001875, 0.0009375]


@pytest.mark.parametrize(
    ("short", "limit", "count"), [(8, 1, 3), (9, 1, 4), (8, 8, 0), (7, 8, 0), (0, 8, 0), (2, 1, 1), (3, 2, 1)]
)
def test_the_number_of_passes(short: int, limit: int, count: int) -> None:
    assert len(halving(short, limit, HUNDREDTH)) == count
    if short > limit:
        assert count == ceil(log2(short / limit))


@given(st.integers(1, 10**12), st.integers(1, 10**9), st.fractions(Fraction(1, 10_000), Fraction(1, 10)))
@settings(max_examples=60)
def test_halving_never_overshoots_and_ends_within_the_limit(short: int, limit: int, taper: Fraction) -> None:
    passes = halving(short, limit, taper)
    left = passes[-1].short_after_nm if passes else Fraction(short)
    travel = sum((one.travel_nm for one in passes), Fraction(0))
    assert 0 < left <= limit
    assert travel < short
    assert travel + left == short
    assert sum((one.bore_growth_nm for one in passes), Fraction(0)) == travel * taper
    assert all(one.short_before_nm > limit for one in passes)


@pytest.mark.parametrize(
    ("call", "field", "says"),
    [
        (lambda: bores(BLANK, inch("4"), inch("9"), 0), "length", "past the last station"),
        (lambda: bores(BLANK, inch("13"), inch("9"), 0), "butt_end", "past the last station"),
        (lambda: bores(BLANK, 0, 0, 0), "length", "more than nothing"),
        (lambda: bores(BLANK, 0, 5, -1), "clearance", "less than nothing"),
        (lambda: where_it_stops(BLANK, inch("0.472"), 0), "bore", "at the last station"),
        (lambda: where_it_stops(BLANK, inch("0.475"), 0, inch("0.002")), "bore", "at the last station"),
        (lambda: where_it_stops(BLANK, inch("0.533"), inch("12.1")), "mark", "past the last station"),
        (lambda: where_it_stops(BLANK, 0, 0), "bore", "more than nothing"),
        (lambda: where_it_stops(BLANK[:1], 1, 0), "stations", "at least two"),
        (lambda: pilot_steps(inch("0.376"), inch("3/8"), inch("1/64")), "bore", "already wider"),
        (lambda: pilot_steps(10, 20, 0), "step", "more than nothing"),
        (lambda: pilot_steps(1000, 1061, 1), "step", "more than 60"),
        (lambda: halving(6, 1, Fraction(0)), "taper", "open the bore straight"),
        (lambda: halving(6, 1, Fraction(-1, 100)), "taper", "open the bore straight"),
        (lambda: halving(6, 0, HUNDREDTH), "limit", "more than nothing"),
        (lambda: halving(-6, 1, HUNDREDTH), "short", "less than nothing"),
    ],
)
def test_refuses_what_cannot_be_reamed(call: Callable[[], object], field: str, says: str) -> None:
    with pytest.raises(SumFault) as caught:
        call()
    assert list(caught.value.errors) == [field]
    assert says in caught.value.errors[field]
