"""The cure clock: what a sheet asks for, as instants, at every boundary."""

from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.craft.cure import CureError, Sheet, ZoneClock
from shop.craft.warmth import TemperatureLine
from tests.craft.brute_force import rate

HOUR = 3600.0
T0 = 1_700_000_000.0


def clock_at(celsius: float) -> ZoneClock:
    """A zone that nobody reads, taken to be at one temperature."""
    return ZoneClock(TemperatureLine(assumed_c=celsius, gap_seconds=HOUR))


def sheet(**changes: Any) -> Sheet:
    figures_: dict[str, Any] = {
        "reference_c": 20.0, "pot_life_minutes": 30.0, "set_minutes": 600.0, "full_cure_minutes": 1440.0,
        "recoat_from_minutes": 720.0, "recoat_until_minutes": 2160.0,
    }  # fmt: skip
    return Sheet(**(figures_ | changes))


READINGS = st.lists(
    st.tuples(st.integers(0, 60 * 24 * 3), st.floats(-10, 45, allow_nan=False)),
    max_size=25,
    unique_by=lambda pair: pair[0],
)


@settings(max_examples=60, deadline=None)
@given(READINGS, READINGS)
def test_readings_added_one_by_one_answer_like_all_at_once(
    readings: list[tuple[int, float]], later: list[tuple[int, float]]
) -> None:
    pairs = [(T0 + 60 * minute, celsius) for minute, celsius in (*readings, *later)]
    grown = ZoneClock(TemperatureLine(16.0, HOUR))
    for pair in pairs:
        grown.take_in({None: [pair]})
        for closed in (T0, T0 + 3 * HOUR):
            grown.times(sheet(), closed)
            grown.pot_life_ends(sheet(), closed + 50)
    whole = ZoneClock(TemperatureLine(16.0, HOUR, dict(pairs).items()))
    for closed in (T0, T0 + 3 * HOUR):
        assert grown.times(sheet(), closed) == whole.times(sheet(), closed)
        assert grown.pot_life_ends(sheet(), closed + 50) == whole.pot_life_ends(sheet(), closed + 50)


def test_at_the_reference_temperature_the_sheet_is_kept_to_the_millisecond() -> None:
    times = clock_at(20.0).times(sheet(), T0)
    hours = [(at - T0) / HOUR for at in (times.set_at, times.full_at, times.recoat_from) if at is not None]
    assert hours == [10, 24, 12]
    assert times.recoat_until == T0 + 36 * HOUR


def test_warmth_never_makes_a_wait_shorter_than_the_sheet_unless_an_owner_says_so() -> None:
    warm = clock_at(30.0)
    assert warm.times(sheet(), T0).set_at == T0 + 10 * HOUR
    assert warm.times(sheet(), T0, 1.5).set_at == pytest.approx(T0 + 10 * HOUR / 1.5, abs=0.002)
    assert warm.times(sheet(), T0, 2.0).set_at == pytest.approx(T0 + 5 * HOUR, abs=0.002)


@pytest.mark.parametrize(("celsius", "stalls"), [(13.0, False), (12.999, True), (15.0, False), (-5.0, True)])
def test_below_the_coldest_temperature_nothing_counts(celsius: float, stalls: bool) -> None:
    times = clock_at(celsius).times(sheet(coldest_c=13.0), T0)
    assert (times.set_at is None) is stalls
    assert (times.full_at is None) is stalls


def test_where_the_sheet_is_silent_the_coldest_is_thirteen_and_ten_degrees_double() -> None:
    assert (sheet().coldest, sheet().doubling) == (13.0, 10.0)
    assert clock_at(12.9).times(sheet(), T0).set_at is None


def test_pot_life_is_shortened_by_warmth_and_never_made_longer_by_cold() -> None:
    assert clock_at(20.0).pot_life_ends(sheet(), T0) == T0 + 1800
    assert clock_at(30.0).pot_life_ends(sheet(), T0) == pytest.approx(T0 + 900, abs=0.002)
    assert clock_at(5.0).pot_life_ends(sheet(), T0) == T0 + 1800


def test_a_fast_epoxy_lets_the_next_joint_on_long_before_the_chuck() -> None:
    # Common practice, no source: an epoxy rated five minutes lets the next joint go on after ten minutes;
    # the handle is chucked only after a further six to eight hours.
    fast = sheet(pot_life_minutes=5.0, set_minutes=10.0, full_cure_minutes=10.0 + 7 * 60)
    times = clock_at(20.0).times(fast, T0)
    assert times.set_at == T0 + 600
    assert times.full_at is not None
    assert 6 * HOUR <= times.full_at - times.set_at <= 8 * HOUR


@pytest.mark.parametrize(
    ("celsius", "hours"), [(20.0, 36.0), (30.0, 36.0), (15.0, 36 / rate(15.0, 20.0, 10.0)), (12.9, None)]
)
def test_the_recoat_window_shuts_by_the_same_age_that_opens_it(celsius: float, hours: float | None) -> None:
    until = clock_at(celsius).times(sheet(), T0).recoat_until
    assert (until and (until - T0) / HOUR) == (hours and pytest.approx(hours, rel=1e-7))


def test_a_sheet_without_a_recoat_window_gives_none() -> None:
    times = clock_at(20.0).times(sheet(recoat_from_minutes=None, recoat_until_minutes=None), T0)
    assert (times.recoat_from, times.recoat_until) == (None, None)
    assert times.set_at == T0 + 10 * HOUR


@pytest.mark.parametrize(
    ("celsius", "hours"), [(20.0, 3.0), (30.0, 3.0), (15.0, 3 / rate(15.0, 20.0, 10.0)), (12.9, None)]
)
def test_a_coat_is_kept_turning_by_the_same_age(celsius: float, hours: float | None) -> None:
    turned = clock_at(celsius).times(sheet(turn_minutes=180.0), T0).turned_at
    assert (turned and (turned - T0) / HOUR) == (hours and pytest.approx(hours, rel=1e-7))
    assert clock_at(celsius).times(sheet(), T0).turned_at is None


def test_openings_are_rounded_up_and_endings_down() -> None:
    # A third of a minute more than a whole millisecond can say.
    odd_minutes = 100 / 3 + 1e-5
    odd = sheet(set_minutes=odd_minutes, pot_life_minutes=odd_minutes, turn_minutes=odd_minutes)
    clock = clock_at(20.0)
    assert clock.times(odd, T0).set_at == clock.times(odd, T0).turned_at == T0 + 2000.001
    assert clock.pot_life_ends(odd, T0) == T0 + 2000.0


def test_what_is_settled_stays_and_what_is_open_moves_when_readings_come() -> None:
    clock = ZoneClock(TemperatureLine(13.0, HOUR))
    short = sheet(
        set_minutes=10.0, full_cure_minutes=20.0, recoat_from_minutes=None, recoat_until_minutes=None
    )
    clock.take_in({None: [(T0 + 60 * minute, 20.0) for minute in range(60)]})
    settled, opened = clock.times(short, T0), clock.times(sheet(), T0)
    clock.take_in({None: [(T0 + HOUR, 20.0), (T0 + 2 * HOUR, 20.0)]})
    assert clock.times(short, T0) == settled
    later = clock.times(sheet(), T0).set_at
    assert later is not None
    assert opened.set_at is not None
    assert later < opened.set_at
    clock.take_in({None: [(T0 + 30, 15.0)]})  # found late, in the midst of what was settled
    moved = clock.times(short, T0).set_at
    assert moved is not None
    assert settled.set_at is not None
    assert moved > settled.set_at


def test_a_wait_of_centuries_is_a_stall() -> None:
    slow = sheet(reference_c=60.0, doubling_c=1.0, coldest_c=-20.0)
    assert clock_at(-20.0).times(slow, T0).full_at is None
    assert clock_at(60.0).times(slow, T0).full_at == T0 + 24 * HOUR


def test_threads_may_ask_while_one_adds_readings() -> None:
    clock, closed = ZoneClock(TemperatureLine(16.0, HOUR)), [T0 + 600 * number for number in range(40)]

    def ask() -> int:
        return sum(clock.times(sheet(), at).set_at is not None for _ in range(20) for at in closed)

    with ThreadPoolExecutor(2) as pool:
        asked = [pool.submit(ask) for _ in range(2)]
        for minute in range(300):
            clock.take_in({None: [(T0 + 60 * minute, 14.0 + minute % 5)]})
        assert [answer.result() for answer in asked] == [800, 800]
    whole = ZoneClock(TemperatureLine(16.0, HOUR, [(T0 + 60 * m, 14.0 + m % 5) for m in range(300)]))
    assert [clock.times(sheet(), at) for at in closed] == [whole.times(sheet(), at) for at in closed]


def test_refuses_to_begin_at_no_instant() -> None:
    with pytest.raises(CureError, match="finite instant"):
        clock_at(20.0).times(sheet(), float("nan"))
    with pytest.raises(CureError, match="finite instant"):
        clock_at(20.0).pot_life_ends(sheet(), float("inf"))


@pytest.mark.parametrize(
    ("figure", "value", "says"),
    [
        ("full_cure_minutes", 599.0, "shorter than the set time"),
        ("set_minutes", 0.0, "set time must be above 0"),
        ("pot_life_minutes", float("nan"), "pot life must be above 0"),
        ("full_cure_minutes", float("inf"), "full cure must be above 0"),
        ("recoat_from_minutes", 0.0, "start of the recoat window must be above 0"),
        ("recoat_until_minutes", 719.99, "ends before it begins"),
        ("recoat_until_minutes", 720.0, "ends when it begins"),
        ("doubling_c", 0.0, "doubles the rate"),
        ("doubling_c", float("nan"), "doubles the rate"),
        ("coldest_c", 21.0, "cannot lie above the reference"),
        ("coldest_c", float("nan"), "coldest temperature"),
        ("reference_c", float("nan"), "reference temperature must lie"),
        ("reference_c", 500.0, "reference temperature must lie"),
        ("turn_minutes", 0.0, "turning time must be above 0"),
        ("turn_minutes", float("nan"), "turning time must be above 0"),
        ("turn_minutes", 1440.1, "kept turning longer than until its full cure"),
    ],
)
def test_refuses_figures_that_no_adhesive_has(figure: str, value: float, says: str) -> None:
    with pytest.raises(CureError, match=says) as refused:
        sheet(**{figure: value})
    assert refused.value.figure == figure


def test_a_window_has_a_beginning_before_its_end_and_may_be_short() -> None:
    with pytest.raises(CureError, match="no beginning") as refused:
        sheet(recoat_from_minutes=None)
    assert refused.value.figure == "recoat_until_minutes"
    times = clock_at(20.0).times(sheet(recoat_until_minutes=720.01), T0)
    assert times.recoat_from is not None
    assert times.recoat_until is not None
    assert times.recoat_from < times.recoat_until


@pytest.mark.parametrize("cap", [0.99, 2.01, float("nan")])
def test_refuses_a_credit_cap_outside_one_to_two(cap: float) -> None:
    with pytest.raises(CureError, match="credit cap"):
        clock_at(20.0).times(sheet(), T0, cap)
