"""Cures carried from zone to zone: age goes on where it was, by the warmth of the zone it lies in."""

import pytest

from shop.craft.ageing import Ageing, credit_law
from shop.craft.carried import CarriedAgeing, Stay, carried_times
from shop.craft.cure import CureError, Sheet, ZoneClock
from shop.craft.warmth import TemperatureLine
from tests.craft.brute_force import rate

HOUR = 3600.0
T0 = 1_700_000_000.0
SHEET = Sheet(20.0, 30.0, 600.0, 1440.0, recoat_from_minutes=720.0, recoat_until_minutes=2160.0)


def zone(celsius: float) -> ZoneClock:
    return ZoneClock(TemperatureLine(celsius, HOUR))


def hours_to_set(*stays: tuple[float, float]) -> float | None:
    """Hours from closing to set, for stays of hours after closing and °C."""
    found = carried_times([Stay(T0 + hour * HOUR, zone(celsius)) for hour, celsius in stays], SHEET, T0)
    return None if found.set_at is None else (found.set_at - T0) / HOUR


SLOW = rate(15.0, 20.0, 10.0)


@pytest.mark.parametrize(
    ("stays", "hours"),
    [
        ([(0, 20)], 10),
        ([(0, 15)], 10 / SLOW),
        ([(0, 15), (4, 20)], 14 - 4 * SLOW),  # into the warm cabinet after four hours
        ([(0, 20), (4, 15)], 4 + 6 / SLOW),
        ([(0, 20), (2, 15), (6, 20)], 6 + 8 - 4 * SLOW),  # out and back
        ([(0, 20), (10, 8)], 10),  # set at the very instant at which it is carried into the cold
        ([(0, 20), (9.999, 8)], None),
        ([(0, 20), (2, 8), (50, 20)], 58),
        ([(0, 20), (2, 15), (2, 20)], 10),  # carried on at once
    ],
)
def test_age_goes_on_where_it_was(stays: list[tuple[float, float]], hours: float | None) -> None:
    found = hours_to_set(*stays)
    assert found == (None if hours is None else pytest.approx(hours, rel=1e-7))


def test_a_move_before_the_closing_says_where_it_begins() -> None:
    stays = [Stay(T0 - 5 * HOUR, zone(8.0)), Stay(T0 - HOUR, zone(20.0))]
    assert carried_times(stays, SHEET, T0).set_at == T0 + 10 * HOUR


def test_one_stay_is_the_zones_own_answer() -> None:
    clock = zone(17.0)
    assert carried_times([Stay(T0, clock)], SHEET, T0) is clock.times(SHEET, T0)


def test_a_window_shuts_by_the_age_had_in_both_zones() -> None:
    times = carried_times([Stay(T0, zone(20.0)), Stay(T0 + 6 * HOUR, zone(15.0))], SHEET, T0)
    assert times.recoat_until == pytest.approx(T0 + (6 + 30 / SLOW) * HOUR, abs=0.01)
    assert times.full_at == pytest.approx(T0 + (6 + 18 / SLOW) * HOUR, abs=0.01)


def test_age_is_the_sum_of_what_was_had_in_each_zone() -> None:
    law = credit_law(20.0, 10.0, 13.0, 1.0)
    lines = [
        TemperatureLine(16.0, HOUR, [(T0 + n * 600, 14.0 + (n * k) % 9) for n in range(60)])
        for k in (3, 5, 7)
    ]
    zones = [Ageing(line, law) for line in lines]
    carried = CarriedAgeing([(T0, zones[0]), (T0 + 3 * HOUR, zones[1]), (T0 + 5 * HOUR, zones[2])])
    parts = [(0, 0, 3), (1, 3, 5), (2, 5, 8)]
    whole = sum(zones[k].age_at(T0 + b * HOUR) - zones[k].age_at(T0 + a * HOUR) for k, a, b in parts)
    had = carried.age_at(T0 + 8 * HOUR) - carried.age_at(T0)
    assert had == pytest.approx(whole, rel=1e-12)
    reached = carried.reached(T0, carried.age_at(T0) + whole)
    assert reached == pytest.approx(T0 + 8 * HOUR, abs=1e-3)


def test_refuses_no_stay_no_instant_and_no_cap() -> None:
    with pytest.raises(ValueError, match="one zone after another"):
        CarriedAgeing([])
    with pytest.raises(ValueError, match="in the order of their instants"):
        hours_to_set((0, 8), (-1, 20))
    here = [Stay(T0, zone(20.0)), Stay(T0 + HOUR, zone(15.0))]
    with pytest.raises(CureError, match="finite instant"):
        carried_times(here, SHEET, float("nan"))
    with pytest.raises(CureError, match="credit cap"):
        carried_times(here, SHEET, T0, 2.5)
