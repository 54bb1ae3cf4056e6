"""Several thermometers in one zone: who counts at an instant, and what a further reading changes."""

import pytest

from shop.craft.cure import Sheet, ZoneClock
from shop.craft.sensors import with_readings, zone_lines
from shop.craft.warmth import TemperatureLine

MINUTE, HOUR = 60.0, 3600.0
T0 = 1_700_000_000.0
ASSUMED = 16.0


def empty() -> TemperatureLine:
    return TemperatureLine(ASSUMED, HOUR)


def clock_of(**sensors: list[tuple[float, float]]) -> ZoneClock:
    """A clock with each sensor's readings as minutes after T0 and °C."""
    clock = ZoneClock(empty())
    for name, readings in sensors.items():
        clock.take_in({name: [(T0 + minute * MINUTE, celsius) for minute, celsius in readings]})
    return clock


@pytest.mark.parametrize(
    ("minute", "coldest", "warmest"),
    [
        (-1, ASSUMED, ASSUMED),  # nobody speaks yet
        (0, 20.0, 20.0),  # the first alone
        (29, 20.0, 20.0),
        (30, 18.0, 20.0),  # the second speaks too: the coldest and the warmest of the two
        (45, 20.0, 20.0),  # they cross
        (60, 20.0, 22.0),
        (119, 20.0, 22.0),  # lone readings speak for an hour
        (120, ASSUMED, ASSUMED),
        (200, 15.0, 15.0),  # the second alone: colder than assumed or not, it speaks
        (260, ASSUMED, ASSUMED),
    ],
)
def test_the_coldest_and_the_warmest_that_speak(minute: float, coldest: float, warmest: float) -> None:
    clock = clock_of(first=[(0, 20), (60, 20)], second=[(30, 18), (60, 22), (200, 15)])
    at = T0 + minute * MINUTE
    assert clock.line.temperature_at(at) == pytest.approx(coldest)
    assert clock.warm_line.temperature_at(at) == pytest.approx(warmest)
    assert clock.temperature_at(at) == clock.line.temperature_at(at)


def test_one_that_falls_silent_gives_way_at_that_very_instant() -> None:
    clock = clock_of(cold=[(0, 10)], warm=[(0, 20), (50, 20), (100, 20)])
    just_before, at = T0 + HOUR - 0.001, T0 + HOUR
    assert (clock.temperature_at(just_before), clock.temperature_at(at)) == (10.0, 20.0)


def test_one_thermometer_alone_is_the_line_itself() -> None:
    readings = [(T0, 20.0), (T0 + HOUR, 24.0)]
    alone = with_readings(zone_lines(empty()), {7: readings}).lines
    assert alone.coldest is alone.warmest is alone.by_sensor[7]
    whole = TemperatureLine(ASSUMED, HOUR, readings)
    assert (alone.coldest.starts, alone.coldest.first_c) == (whole.starts, whole.first_c)


def test_readings_by_hand_are_a_thermometer_of_their_own() -> None:
    clock = ZoneClock(empty())
    clock.take_in({None: [(T0, 21.0)], 3: [(T0, 19.0)]})
    assert clock.temperature_at(T0) == 19.0
    assert clock.last_readings() == {None: (T0, 21.0), 3: (T0, 19.0)}


def test_a_zone_says_when_each_thermometer_last_spoke() -> None:
    clock = clock_of(first=[(0, 20), (60, 20)], second=[(30, 18)])
    assert clock.last_readings() == {"first": (T0 + HOUR, 20.0), "second": (T0 + 30 * MINUTE, 18.0)}
    assert clock.line.last_reading == (T0 + HOUR, 20.0)
    assert ZoneClock(empty()).last_readings() == {}
    assert ZoneClock(empty()).line.last_reading is None


def test_three_that_cross_in_one_stretch() -> None:
    lines = zone_lines(empty())
    for sensor, (first, last) in enumerate([(10.0, 30.0), (16.0, 16.0), (30.0, 10.0)]):
        lines = with_readings(lines, {sensor: [(T0, first), (T0 + HOUR, last)]}).lines
    for part, coldest, warmest in [(0, 10, 30), (0.3, 16, 24), (0.5, 16, 20), (0.7, 16, 24), (1, 10, 30)]:
        at = T0 + part * HOUR
        assert lines.coldest.temperature_at(at) == pytest.approx(coldest)
        assert lines.warmest.temperature_at(at) == pytest.approx(warmest)


def test_a_reading_changes_nothing_further_off_than_the_gap() -> None:
    lines = zone_lines(TemperatureLine(ASSUMED, HOUR, [(T0 + n * 600, 20.0 + n % 3) for n in range(1000)]))
    lines = with_readings(lines, {9: [(T0 + n * 600 + 5, 21.0) for n in range(999)]}).lines
    last = T0 + 998 * 600 + 5
    grown = with_readings(lines, {9: [(last + 600, 18.0)]})
    assert grown.since == last
    assert grown.unchanged_coldest >= len(lines.coldest.starts) - 8
    assert (
        lines.coldest.starts[: grown.unchanged_coldest]
        == grown.lines.coldest.starts[: grown.unchanged_coldest]
    )
    late = with_readings(lines, {9: [(T0 + 500 * 600 + 65, 12.0)]})
    assert late.since == T0 + 500 * 600 + 5
    for at in (late.since - 1, late.since + 2 * HOUR):
        assert late.lines.coldest.temperature_at(at) == lines.coldest.temperature_at(at)


def test_no_readings_change_nothing() -> None:
    clock = clock_of(first=[(0, 20)], second=[(10, 19)])
    line = clock.line
    clock.take_in({"first": [], "third": []})
    assert clock.line is line
    alone = clock_of(first=[(0, 20)])
    times = alone.times(Sheet(20.0, 30.0, 600.0, 1440.0), T0)
    alone.take_in({})  # as when a zone is given another name
    assert alone.times(Sheet(20.0, 30.0, 600.0, 1440.0), T0) == times


def test_refuses_a_reading_that_is_not_finite() -> None:
    with pytest.raises(ValueError, match="a finite temperature"):
        clock_of(first=[(0, float("nan"))])
