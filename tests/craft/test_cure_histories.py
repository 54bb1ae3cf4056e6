"""Whole histories against brute force: readings late, missing, put right, out of order, of several sensors,
and rods that are carried about; in whatever order the readings come in.
"""

from itertools import pairwise
from math import inf
from typing import NamedTuple

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.craft.carried import Stay, carried_times
from shop.craft.cure import CureTimes, Sheet, ZoneClock
from shop.craft.warmth import TemperatureLine
from tests.craft.brute_force import STEPS, Entry, History, Law, credit, pot_used

MINUTE, HOUR = 60.0, 3600.0
T0 = 1_700_000_000.0
ASSUMED = {1: 16.0, 2: 11.0}
LAW = Law(reference_c=24.0, doubling_c=10.0, coldest_c=13.0, cap=1.0)
SHEET = Sheet(
    24.0, 45.0, 420.0, 900.0, recoat_from_minutes=300.0, recoat_until_minutes=1200.0, coldest_c=13.0,
    doubling_c=10.0, turn_minutes=150.0,
)  # fmt: skip
# The brute force misses a jump of the rate by at most half a step, and a history has a dozen or two of them.
NEAR_SECONDS = 20 * HOUR / STEPS / 2

CELSIUS = st.floats(4, 34).map(lambda celsius: round(celsius, 2))
ENTRY = st.tuples(
    st.sampled_from([1, 2]),
    st.sampled_from([None, 1, 2]),
    st.integers(-12, 24 * 6).map(lambda tens: T0 + tens * 10 * MINUTE),
    CELSIUS,
)
RUN = st.tuples(
    st.sampled_from([1, 2]), st.sampled_from([None, 1, 2]), st.integers(0, 60), st.lists(CELSIUS, max_size=24)
).map(lambda run: [(run[0], run[1], T0 + (run[2] + n * 3) * 10 * MINUTE, c) for n, c in enumerate(run[3])])
ENTRIES = st.tuples(st.lists(RUN, max_size=3), st.lists(ENTRY, max_size=12)).map(
    lambda both: [entry for run in both[0] for entry in run] + both[1]
)
MOVES = st.lists(st.integers(1, 24 * 60), max_size=3, unique=True).map(sorted)


class Shop(NamedTuple):
    """The clocks of two zones, and everything that was entered."""

    clocks: dict[int, ZoneClock]
    history: History


def shop_of(entries: list[Entry] = []) -> Shop:  # noqa: B006
    clocks = {zone: ZoneClock(TemperatureLine(assumed, HOUR)) for zone, assumed in ASSUMED.items()}
    shop = Shop(clocks, History(ASSUMED, HOUR))
    for entry in entries:
        enter(shop, entry)
    return shop


def enter(shop: Shop, entry: Entry) -> None:
    zone, sensor, at, celsius = entry
    shop.clocks[zone].take_in({sensor: [(at, celsius)]})
    shop.history.entries.append(entry)


def stays_of(minutes: list[int]) -> list[tuple[float, int]]:
    """Closed in the first zone, then carried to and fro."""
    return [(T0, 1), *((T0 + minute * MINUTE, 2 - n % 2) for n, minute in enumerate(minutes))]


def times_of(shop: Shop, stays: list[tuple[float, int]]) -> CureTimes:
    return carried_times([Stay(since, shop.clocks[zone]) for since, zone in stays], SHEET, T0)


def assert_right(shop: Shop, stays: list[tuple[float, int]], times: CureTimes) -> None:
    """Every instant is the one at which brute force counts the sheet's minutes; a stall never gets there."""
    last = max([T0, *(at for zone in ASSUMED for at in shop.history.corners(zone)), *(at for at, _ in stays)])
    for at, minutes in (
        (times.set_at, SHEET.set_minutes), (times.full_at, SHEET.full_cure_minutes),
        (times.recoat_from, SHEET.recoat_from_minutes), (times.recoat_until, SHEET.recoat_until_minutes),
        (times.turned_at, SHEET.turn_minutes),
    ):  # fmt: skip
        assert minutes is not None
        if at is None:
            assert ASSUMED[stays[-1][1]] < LAW.coldest_c
            assert credit(shop.history, LAW, stays, T0, last) < minutes * MINUTE + NEAR_SECONDS
        else:
            had = credit(shop.history, LAW, stays, T0, at)
            assert had == pytest.approx(minutes * MINUTE, abs=NEAR_SECONDS)
            assert at - T0 >= minutes * MINUTE / LAW.cap - 0.001


@settings(max_examples=300, deadline=None)
@given(ENTRIES, MOVES)
def test_every_answer_is_that_of_brute_force(entries: list[Entry], moves: list[int]) -> None:
    shop, stays = shop_of(entries), stays_of(moves)
    assert_right(shop, stays, times_of(shop, stays))


@settings(max_examples=200, deadline=None)
@given(ENTRIES, MOVES, st.integers(0, 300))
def test_every_answer_on_the_way_goes_by_what_is_known_by_then(
    entries: list[Entry], moves: list[int], some: int
) -> None:
    shop, stays = shop_of(), stays_of(moves)
    for number, entry in enumerate(entries):
        enter(shop, entry)
        times = times_of(shop, stays)
        shop.clocks[1].times(SHEET, T0)  # asked for by others, and kept
        if number % 20 == some % 20:
            assert_right(shop, stays, times)


@settings(max_examples=2000, deadline=None)
@given(st.data(), ENTRIES, MOVES)
def test_the_order_of_arrival_does_not_matter(
    data: st.DataObject, entries: list[Entry], moves: list[int]
) -> None:
    stays = stays_of(moves)
    shuffled = data.draw(st.permutations(entries))
    # Only where one reading puts another right does the order say which of them counts.
    ranks: dict[tuple[int, int | None, float], list[Entry]] = {}
    for entry in reversed(entries):
        ranks.setdefault(entry[:3], []).append(entry)
    arriving = [ranks[entry[:3]].pop() for entry in shuffled]
    one, other = shop_of(entries), shop_of(arriving)
    for zone in ASSUMED:
        for line in ("line", "warm_line"):
            first, second = getattr(one.clocks[zone], line), getattr(other.clocks[zone], line)
            assert (first.starts, first.first_c, first.last_c) == (
                second.starts,
                second.first_c,
                second.last_c,
            )
    assert times_of(one, stays) == times_of(other, stays)


@settings(max_examples=200, deadline=None)
@given(ENTRIES, st.integers(-60, 600))
def test_pot_life_goes_by_the_warmest(entries: list[Entry], minute: int) -> None:
    shop, mixed = shop_of(entries), T0 + minute * MINUTE
    ends = shop.clocks[1].pot_life_ends(SHEET, mixed)
    assert ends - mixed <= SHEET.pot_life_minutes * MINUTE + 0.001
    used = pot_used(shop.history, LAW, 1, mixed, ends)
    assert used == pytest.approx(SHEET.pot_life_minutes * MINUTE, rel=1e-4, abs=1)


@settings(max_examples=200, deadline=None)
@given(ENTRIES, ENTRY, MOVES)
def test_a_further_sensor_never_makes_a_wait_shorter(
    entries: list[Entry], entry: Entry, moves: list[int]
) -> None:
    """Where another speaks already: alone, it may well say that the zone is warmer than was assumed."""
    zone, _, at, celsius = entry
    shop, stays = shop_of(entries), stays_of(moves)
    spoken = shop.clocks[zone].line
    if not all(spoken.speaks_at(at + part * HOUR) for part in (0, 0.25, 0.5, 0.75, 0.999)):
        return
    before = times_of(shop, stays)
    enter(shop, (zone, 3, at, celsius))
    after = times_of(shop, stays)
    for name in ("set_at", "full_at", "recoat_from", "turned_at"):
        assert (getattr(after, name) or inf) >= (getattr(before, name) or inf) - 0.001


def test_a_week_of_readings_by_two_sensors_within_a_thousandth() -> None:
    entries: list[Entry] = []
    for five in range(12 * 24 * 7):
        at = T0 + five * 5 * MINUTE
        entries.append((1, 1, at, 17 + 6 * ((five * 37) % 288) / 288))
        if five % 50 > 20:  # a sensor that is silent now and then
            entries.append((1, 2, at + 100, 16 + 7 * ((five * 53) % 288) / 288))
    shop = shop_of(entries)
    sheet = Sheet(24.0, 45.0, 3000.0, 5000.0, coldest_c=13.0, doubling_c=10.0)
    times = shop.clocks[1].times(sheet, T0)
    assert times.full_at is not None
    had = credit(shop.history, LAW, [(T0, 1)], T0, times.full_at)
    assert had == pytest.approx(5000.0 * MINUTE, rel=1e-4)
    assert all(first < second for first, second in pairwise(shop.clocks[1].line.starts))
