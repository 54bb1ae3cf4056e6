"""The cure clock against published Arrhenius examples, against quadrature, and at every boundary."""

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from shop.craft.cure import (
    GAS_CONSTANT,
    CureError,
    RateLaw,
    Sheet,
    ZoneClock,
    activation_energy,
    cure_law,
    pot_life_law,
)
from shop.craft.warmth import TemperatureLine
from tests.craft.figures import figure, figures

HOUR = 3600.0
T0 = 1_700_000_000.0


def arrhenius(reference_c: float, ea_over_r: float) -> RateLaw:
    """The bare law, without a coldest temperature or a cap."""
    return RateLaw(reference_c, ea_over_r, low_c=-273.0, low_rate=0.0)


def clock_at(celsius: float) -> ZoneClock:
    """A zone that nobody reads, taken to be at one temperature."""
    return ZoneClock(TemperatureLine(assumed_c=celsius, gap_seconds=HOUR))


def sheet(**changes: Any) -> Sheet:
    figures_: dict[str, Any] = {
        "reference_c": 20.0, "pot_life_minutes": 30.0, "set_minutes": 600.0, "full_cure_minutes": 1440.0,
        "recoat_from_minutes": 720.0, "recoat_until_minutes": 2160.0,
    }  # fmt: skip
    return Sheet(**(figures_ | changes))


@pytest.mark.parametrize("case", figures("cure-factor"), ids=lambda case: case["id"])
def test_age_conversion_factors_of_astm_c1074(case: dict[str, Any]) -> None:
    law = arrhenius(case["inputs"]["reference_C"], case["inputs"]["Q_K"])
    wanted = case["expected"]["age_conversion_factor"]
    assert law.rate(case["inputs"]["temperature_C"]) == pytest.approx(wanted, rel=1e-6)


def concrete_code(celsius: float) -> float:
    """EN 1992-1-1 (B.10) and fib Model Code 2010: exp(13.65 − 4000/(273 + T)), by our own law.

    The codes write 273 for the kelvin's offset, so the temperature is given 0.15 lower, and their
    reference is where the exponent vanishes.
    """
    return arrhenius(4000 / 13.65 - 273.15, 4000.0).rate(celsius - 0.15)


def test_temperature_adjusted_age_of_the_model_code() -> None:
    case = figure("cure-mc2010-series")
    inputs = case["inputs"]
    age = sum(days * concrete_code(c) for c, days in zip(inputs["T_C"], inputs["dt_days"], strict=True))
    assert age == pytest.approx(case["expected"]["adjusted_age_days"], abs=1e-4)
    at_20 = figure("cure-ec2-factor-20C")["expected"]["factor"]
    assert concrete_code(20) == pytest.approx(at_20, rel=1e-7)


def test_acceleration_factor_of_the_reliability_handbooks() -> None:
    case = figure("cure-arrhenius-af-60-100")
    inputs = case["inputs"]
    law = arrhenius(inputs["T_use_C"], inputs["Ea_eV"] / inputs["kB_eV_per_K"])
    wanted = case["expected"]["acceleration_factor"]
    assert law.rate(inputs["T_acc_C"]) == pytest.approx(wanted, rel=1e-7)


def test_the_energy_of_a_doubling_by_ten_degrees() -> None:
    case = figure("cure-q10-2-as-Ea-20-30")
    wanted = case["expected"]["Ea_kJ_per_mol"] * 1000
    assert activation_energy(20, 10) == pytest.approx(wanted, rel=1e-7)
    assert cure_law(20, 10, -50, 2.0).arrhenius(30) == pytest.approx(2.0, rel=1e-12)


@pytest.mark.parametrize("case", figures("cure-Ea"), ids=lambda case: case["id"])
def test_published_energies_of_amine_cured_epoxies(case: dict[str, Any]) -> None:
    ea_over_r = case["inputs"]["Ea_kJ_per_mol"] * 1000 / GAS_CONSTANT
    law = arrhenius(case["inputs"]["T_low_C"], ea_over_r)
    wanted = case["expected"]["Q10_20_30"]
    assert law.rate(case["inputs"]["T_high_C"]) == pytest.approx(wanted, rel=1e-6)


@pytest.mark.parametrize("case", figures("cure-time-needed"), ids=lambda case: case["id"])
def test_clock_hours_needed_in_the_cold(case: dict[str, Any]) -> None:
    inputs = case["inputs"]
    law = arrhenius(inputs["reference_C"], inputs["Ea_kJ_per_mol"] * 1000 / GAS_CONSTANT)
    hours = inputs["cure_time_at_ref_h"] / law.rate(inputs["T_C"])
    assert hours == pytest.approx(case["expected"]["clock_hours"], rel=1e-6)


def test_an_irregular_log_is_integrated_along_its_straight_lines() -> None:
    case = figure("cure-irregular-log")
    law = arrhenius(case["inputs"]["reference_C"], case["inputs"]["Ea_kJ_per_mol"] * 1000 / GAS_CONSTANT)
    log = case["inputs"]["log_h_C"]
    age = sum(law.mean(first, last) * (end - start) for (start, first), (end, last) in pairwise(log))
    assert age == pytest.approx(case["expected"]["exact_linear_interp_h"], rel=1e-6)


def test_rates_are_averaged_never_temperatures() -> None:
    case = figure("cure-mean-temperature-pitfall")
    law = arrhenius(case["inputs"]["reference_C"], case["inputs"]["Q_K"])
    segments = case["inputs"]["segments"]
    right = sum(segment["hours"] * law.rate(segment["T_C"]) for segment in segments)
    wrong = case["expected"]["equivalent_age_h_wrong"]
    short = case["expected"]["underestimate_percent"]
    assert 100 * (1 - wrong / right) == pytest.approx(short, rel=1e-6)


READINGS = st.lists(
    st.tuples(st.integers(0, 60 * 24 * 3), st.floats(-10, 45, allow_nan=False)),
    max_size=25,
    unique_by=lambda pair: pair[0],
)


@settings(max_examples=60, deadline=None)
@given(
    READINGS,
    st.floats(5, 30),
    st.sampled_from([1.0, 1.4, 2.0]),
    st.sampled_from([0.0, 13.0, 18.0]),
    st.floats(0, 24 * 60),
)
def test_the_age_agrees_with_adaptive_quadrature(
    readings: list[tuple[int, float]], assumed: float, cap: float, coldest: float, start: float
) -> None:
    # scipy.integrate.quad (QUADPACK), told of every corner of the line; the design asks for 0.1 %.
    line = TemperatureLine(assumed, HOUR, [(T0 + 60 * minute, celsius) for minute, celsius in readings])
    law = cure_law(24.0, 10.0, coldest, cap)
    clock = ZoneClock(line)
    figures_ = sheet(reference_c=24.0, coldest_c=coldest, doubling_c=10.0)
    closed = T0 + 60 * start
    set_at = clock.times(figures_, closed, cap).set_at
    if set_at is None:
        assert law.rate(assumed) == 0
        return
    corners = sorted({closed, set_at, *(at for at in line.starts if closed < at < set_at)})
    age = sum(
        quad(
            lambda at: law.rate(line.temperature_at(at)), a, b, limit=200, points=_crossings(line, law, a, b)
        )[0]
        for a, b in pairwise(corners)
    )
    assert age == pytest.approx(600 * 60, rel=1e-5)


def _crossings(line: TemperatureLine, law: RateLaw, a: float, b: float) -> list[float] | None:
    """Where a straight piece passes the coldest temperature or the cap; quad must be told of the jump."""
    first, last = line.temperature_at(a), line.temperature_at(b - 1e-6)
    if abs(last - first) < 1e-9:
        return None
    at = [a + (b - a) * (limit - first) / (last - first) for limit in (law.low_c, law.high_c)]
    inside = [x for x in at if a < x < b]
    return inside or None


@settings(max_examples=60, deadline=None)
@given(READINGS, READINGS)
def test_readings_added_one_by_one_answer_like_all_at_once(
    readings: list[tuple[int, float]], later: list[tuple[int, float]]
) -> None:
    pairs = [(T0 + 60 * minute, celsius) for minute, celsius in (*readings, *later)]
    grown = ZoneClock(TemperatureLine(16.0, HOUR))
    for pair in pairs:
        grown.add_readings([pair])
        grown.times(sheet(), T0)
    whole = ZoneClock(TemperatureLine(16.0, HOUR, dict(pairs).items()))
    assert grown.times(sheet(), T0) == whole.times(sheet(), T0)
    assert grown.pot_life_ends(sheet(), T0 + 50) == whole.pot_life_ends(sheet(), T0 + 50)


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
    assert pot_life_law(20, 10).rate(40) > 2


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
    line.add([(T0, 18.0)])
    assert line.temperature_at(T0) == 18.0


def test_a_cold_night_is_not_slept_through() -> None:
    # The sum of the trade, common practice, no source: 12 h at 24 °C are needed; five hours at 21 °C and
    # eight at 14 °C have been had by six in the morning, and it is 20 °C from then on. The rule of thumb
    # (a halving for 10 °C) says 11:12; the Arrhenius form of the same doubling must come near it.
    evening = T0
    steps = [(0, 21.0), (5 * HOUR - 1, 21.0), (5 * HOUR, 14.0), (13 * HOUR - 1, 14.0), (13 * HOUR, 20.0)]
    readings = [(evening + at, celsius) for at, celsius in steps]
    line = TemperatureLine(20.0, 9 * HOUR, readings)
    needs = sheet(reference_c=24.0, set_minutes=720.0, coldest_c=13.0, doubling_c=10.0)
    set_at = ZoneClock(line).times(needs, evening).set_at
    assert set_at is not None
    by_thumb = 18.2 * HOUR
    assert set_at - evening == pytest.approx(by_thumb, rel=0.03)
    assert set_at - evening > 12 * HOUR


def test_a_fast_epoxy_lets_the_next_joint_on_long_before_the_chuck() -> None:
    # Common practice, no source: an epoxy rated five minutes lets the next joint go on after ten minutes;
    # the handle is chucked only after a further six to eight hours.
    fast = sheet(pot_life_minutes=5.0, set_minutes=10.0, full_cure_minutes=10.0 + 7 * 60)
    times = clock_at(20.0).times(fast, T0)
    assert times.set_at == T0 + 600
    assert times.full_at is not None
    assert 6 * HOUR <= times.full_at - times.set_at <= 8 * HOUR


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"full_cure_minutes": 599.0}, "shorter than the set time"),
        ({"set_minutes": 0.0}, "set time must be above 0"),
        ({"pot_life_minutes": float("nan")}, "pot life must be above 0"),
        ({"full_cure_minutes": float("inf")}, "full cure must be above 0"),
        ({"recoat_until_minutes": 700.0}, "ends before it begins"),
        ({"recoat_from_minutes": None}, "ends before it begins"),
        ({"doubling_c": 0.0}, "doubles the rate"),
        ({"coldest_c": 21.0}, "cannot lie above the reference"),
        ({"reference_c": 500.0}, "reference temperature must lie"),
    ],
)
def test_refuses_figures_that_no_adhesive_has(changes: dict[str, Any], says: str) -> None:
    with pytest.raises(CureError, match=says):
        sheet(**changes)


@pytest.mark.parametrize("cap", [0.99, 2.01, float("nan")])
def test_refuses_a_credit_cap_outside_one_to_two(cap: float) -> None:
    with pytest.raises(CureError, match="credit cap"):
        clock_at(20.0).times(sheet(), T0, cap)
