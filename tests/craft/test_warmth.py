"""The temperature of a zone at an instant, and lines that grow."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.warmth import TemperatureLine

HOUR = 3600.0
T0 = 1_700_000_000.0


@pytest.mark.parametrize(
    ("minute", "celsius"),
    [
        (-1, 16.0),  # before the first reading: assumed
        (0, 20.0),
        (30, 22.0),  # half way along a straight line
        (60, 24.0),
        (61, 24.0),  # a lone reading speaks for the gap after itself
        (119, 24.0),
        (120, 16.0),  # then the zone is assumed
        (199, 16.0),
        (200, 10.0),
        (259, 10.0),
        (260, 16.0),
    ],
)
def test_the_temperature_of_a_zone_at_an_instant(minute: float, celsius: float) -> None:
    line = TemperatureLine(16.0, HOUR, [(T0, 20.0), (T0 + HOUR, 24.0), (T0 + 200 * 60, 10.0)])
    assert line.temperature_at(T0 + minute * 60) == pytest.approx(celsius)


def test_readings_exactly_the_gap_apart_are_joined_and_a_second_more_are_not() -> None:
    joined = TemperatureLine(0.0, HOUR, [(T0, 10.0), (T0 + HOUR, 20.0)])
    apart = TemperatureLine(0.0, HOUR, [(T0, 10.0), (T0 + HOUR + 1, 20.0)])
    assert joined.temperature_at(T0 + HOUR / 2) == pytest.approx(15.0)
    assert apart.temperature_at(T0 + HOUR / 2) == 10.0


def test_of_two_readings_at_one_instant_the_later_counts() -> None:
    line = TemperatureLine(0.0, HOUR, [(T0, 10.0)])
    later, _ = line.extended([(T0, 18.0)])
    assert (line.temperature_at(T0), later.temperature_at(T0)) == (10.0, 18.0)
    assert TemperatureLine(0.0, HOUR, [(T0, 10.0), (T0, 12.0)]).temperature_at(T0) == 12.0


READINGS = st.lists(st.tuples(st.integers(0, 300).map(lambda minute: T0 + 60 * minute), st.floats(-10, 45)))


@given(READINGS, READINGS)
def test_a_line_that_grew_is_the_line_made_at_once(
    readings: list[tuple[float, float]], later: list[tuple[float, float]]
) -> None:
    short = TemperatureLine(16.0, 1800.0, readings)
    grown, unchanged = short.extended(later)
    whole = TemperatureLine(16.0, 1800.0, [*readings, *later])
    assert (grown.starts, grown.first_c, grown.last_c) == (whole.starts, whole.first_c, whole.last_c)
    assert grown.starts[:unchanged] == short.starts[:unchanged]
    assert grown.last_c[:unchanged] == short.last_c[:unchanged]
    assert short.starts == TemperatureLine(16.0, 1800.0, readings).starts


def test_a_reading_in_order_changes_only_what_followed_the_last_one() -> None:
    line = TemperatureLine(16.0, HOUR, [(T0 + 60 * minute, 20.0) for minute in range(1000)])
    _, unchanged = line.extended([(T0 + 60_000, 20.0)])
    assert unchanged == 999


@pytest.mark.parametrize(
    ("assumed", "gap"), [(float("nan"), HOUR), (16.0, 0.0), (16.0, -1.0), (16.0, float("inf"))]
)
def test_refuses_a_line_that_cannot_be(assumed: float, gap: float) -> None:
    with pytest.raises(ValueError, match="a gap above zero"):
        TemperatureLine(assumed, gap)


@pytest.mark.parametrize("reading", [(float("nan"), 20.0), (T0, float("nan")), (T0, float("inf"))])
def test_refuses_a_reading_that_is_not_finite(reading: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="a finite temperature"):
        TemperatureLine(16.0, HOUR, [reading])
