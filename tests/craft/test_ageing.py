"""Rates and age: against published Arrhenius examples, closed forms, quadrature, and at every boundary."""

from itertools import pairwise
from math import exp, inf
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from shop.craft.ageing import (
    GAS_CONSTANT,
    Ageing,
    RateLaw,
    activation_energy,
    credit_law,
    pot_life_law,
)
from shop.craft.temperature import ZERO_CELSIUS_K, celsius_of_fahrenheit
from shop.craft.warmth import TemperatureLine
from tests.craft.brute_force import rate
from tests.craft.figures import figure, figures

HOUR = 3600.0
T0 = 1_700_000_000.0


def age_between(ageing: Ageing, start: float, end: float) -> float:
    """Seconds of age gained between two instants."""
    return ageing.age_at(end) - ageing.age_at(start)


def arrhenius(reference_c: float, ea_over_r: float) -> RateLaw:
    """The bare law, without a coldest temperature or a cap."""
    return RateLaw(reference_c, ea_over_r, low_c=-273.0, low_rate=0.0)


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


@pytest.mark.parametrize("case", figures("cure-fhp"), ids=lambda case: case["id"])
def test_factors_of_the_maturity_function_of_1977(case: dict[str, Any]) -> None:
    # Its energy is 33,500 J/mol from 20 °C up, and 1470 more for each degree below.
    celsius = case["inputs"]["T_C"]
    energy = 33_500.0 + 1470.0 * max(0.0, 20.0 - celsius)
    law = arrhenius(case["inputs"]["reference_C"], energy / case["inputs"]["R"])
    assert law.rate(celsius) == pytest.approx(case["expected"]["factor"], rel=1e-6)


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
    assert credit_law(20, 10, -50, 2.0).rate(30) == pytest.approx(2.0, rel=1e-12)


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
    wanted = case["expected"]["exact_linear_interp_h"]
    assert age == pytest.approx(wanted, rel=1e-6)
    line = TemperatureLine(18.0, 24 * HOUR, [(T0 + hours * HOUR, celsius) for hours, celsius in log])
    ageing = Ageing(line, law)
    assert age_between(ageing, T0, T0 + 24 * HOUR) == pytest.approx(wanted * HOUR, rel=1e-6)
    assert ageing.when(T0, wanted * HOUR) == pytest.approx(T0 + 24 * HOUR, abs=0.1)


def test_rates_are_averaged_never_temperatures() -> None:
    case = figure("cure-mean-temperature-pitfall")
    law = arrhenius(case["inputs"]["reference_C"], case["inputs"]["Q_K"])
    segments = case["inputs"]["segments"]
    right = sum(segment["hours"] * law.rate(segment["T_C"]) for segment in segments)
    wrong = case["expected"]["equivalent_age_h_wrong"]
    short = case["expected"]["underestimate_percent"]
    assert 100 * (1 - wrong / right) == pytest.approx(short, rel=1e-6)


@pytest.mark.parametrize("case", figures("cure-arrhenius-af-nist"), ids=lambda case: case["id"])
def test_acceleration_factors_of_the_statistics_handbook(case: dict[str, Any]) -> None:
    # The handbook writes 273.16 for the kelvin's offset, so the temperatures are given 0.01 higher.
    inputs = case["inputs"]
    law = arrhenius(inputs["T1_C"] + 0.01, inputs["dH_eV"] / inputs["k_eV_per_K"])
    wanted = case["expected"]["acceleration_factor"]
    assert law.rate(inputs["T2_C"] + 0.01) == pytest.approx(wanted, abs=case["tolerance"]["value"])


def test_hours_needed_where_the_thermometer_says_fahrenheit() -> None:
    case = figure("cure-70F-at-77F-ref")
    inputs = case["inputs"]
    law = arrhenius(
        celsius_of_fahrenheit(inputs["reference_F"]), inputs["Ea_kJ_per_mol"] * 1000 / GAS_CONSTANT
    )
    hours = inputs["cure_time_at_ref_h"] / law.rate(celsius_of_fahrenheit(inputs["T_F"]))
    assert hours == pytest.approx(case["expected"]["clock_hours"], rel=case["tolerance"]["value"])


@pytest.mark.parametrize(
    ("celsius", "cap", "wanted"),
    [
        (12.999, 1.0, 0.0),  # strictly below the coldest nothing counts
        (13.0, 1.0, rate(13.0, 20.0, 10.0)),  # at it, all of it does
        (19.999, 1.0, rate(19.999, 20.0, 10.0)),
        (20.0, 1.0, 1.0),
        (35.0, 1.0, 1.0),
        (29.999, 2.0, rate(29.999, 20.0, 10.0)),
        (30.0, 2.0, 2.0),
        (45.0, 2.0, 2.0),
    ],
)
def test_credit_at_its_limits(celsius: float, cap: float, wanted: float) -> None:
    assert credit_law(20.0, 10.0, 13.0, cap).rate(celsius) == pytest.approx(wanted, rel=1e-12)


@pytest.mark.parametrize(("celsius", "doubled"), [(20.0, 1.0), (28.0, 2.0)])
def test_the_rate_doubles_by_the_rise_that_the_sheet_says(celsius: float, doubled: float) -> None:
    assert credit_law(20.0, 8.0, -ZERO_CELSIUS_K, inf).rate(celsius) == pytest.approx(doubled, rel=1e-12)


@pytest.mark.parametrize("celsius", [-20.0, 5.0, 19.999, 20.0])
def test_cold_never_makes_pot_life_longer(celsius: float) -> None:
    assert pot_life_law(20.0, 10.0).rate(celsius) == 1.0


@pytest.mark.parametrize("doubling", [1.0, 5.0, 10.0, 40.0])
@pytest.mark.parametrize(
    ("first", "last"), [(-5.0, 35.0), (35.0, -5.0), (19.0, 21.0), (20.0, 20.4), (5.0, 13.5)]
)
@pytest.mark.parametrize(("coldest", "cap"), [(-273.0, inf), (13.0, 1.0), (13.0, 1.7)])
def test_the_mean_rate_of_a_swing_agrees_with_quadrature(
    doubling: float, first: float, last: float, coldest: float, cap: float
) -> None:
    # scipy.integrate.quad (QUADPACK); a swing of 40 °C in one piece is more than any shop sees in an hour.
    law = credit_law(22.0, doubling, coldest, cap)
    low, high = min(first, last), max(first, last)
    edges = [low, *(c for c in (law.low_c, law.high_c) if low < c < high), high]
    whole = sum(quad(law.rate, a, b - 1e-12, epsrel=1e-12, limit=200)[0] for a, b in pairwise(edges))
    assert law.mean(first, last) == pytest.approx(whole / (high - low), rel=1e-8)


def test_a_constant_temperature_has_a_closed_form() -> None:
    # exp(−(Ea/R)(1/T − 1/T_ref)) times the time, by hand: 17 °C, reference 24 °C, 60 kJ/mol.
    ageing = Ageing(TemperatureLine(17.0, HOUR), arrhenius(24.0, 60_000 / GAS_CONSTANT))
    by_hand = exp(-60_000 / GAS_CONSTANT * (1 / 290.15 - 1 / 297.15))
    assert age_between(ageing, T0, T0 + 8 * HOUR) == pytest.approx(8 * HOUR * by_hand, rel=1e-9)
    assert ageing.when(T0, HOUR) == pytest.approx(T0 + HOUR / by_hand, abs=1e-3)


def test_a_line_that_stays_too_cold_gives_no_instant() -> None:
    line = TemperatureLine(9.0, HOUR, [(T0, 20.0)])
    ageing = Ageing(line, credit_law(20.0, 10.0, 13.0, 1.0))
    assert ageing.when(T0, HOUR) == pytest.approx(T0 + HOUR, abs=1e-3)
    assert ageing.when(T0, HOUR + 1) is None
    assert ageing.when(T0 - HOUR, HOUR / 2) == pytest.approx(T0 + HOUR / 2, abs=1e-3)


def test_age_stands_still_while_the_line_is_below_the_coldest() -> None:
    # 20 °C falls to 6 °C and rises again, in an hour each; it is below 13 °C for the hour in the middle.
    line = TemperatureLine(20.0, HOUR, [(T0, 20.0), (T0 + HOUR, 6.0), (T0 + 2 * HOUR, 20.0)])
    ageing = Ageing(line, credit_law(20.0, 10.0, 13.0, 1.0))
    before = age_between(ageing, T0, T0 + HOUR / 2)
    assert age_between(ageing, T0 + HOUR / 2, T0 + 1.5 * HOUR) == pytest.approx(0, abs=1e-6)
    assert ageing.when(T0, before * 0.999999) == pytest.approx(T0 + HOUR / 2, abs=1)
    assert ageing.when(T0, before * 1.000001) == pytest.approx(T0 + 1.5 * HOUR, abs=1)


PIECES = st.lists(
    st.tuples(st.sampled_from([60.0, 600.0, 3600.0, 3601.0, 9000.0]), st.floats(-10, 45)), max_size=25
)


@settings(max_examples=80, deadline=None)
@given(
    PIECES,
    st.floats(13, 30),
    st.sampled_from([(13.0, 1.0), (13.0, 1.4), (0.0, 2.0), (18.0, 2.0)]),
    st.floats(-3600, 72_000),
    st.floats(60, 90_000),
)
def test_an_instant_found_gives_back_the_age_asked_for(
    pieces: list[tuple[float, float]],
    assumed: float,
    limits: tuple[float, float],
    start: float,
    needed: float,
) -> None:
    # scipy.integrate.quad (QUADPACK), told of every corner of the line and every limit that it passes.
    readings, at = [], T0
    for step, celsius in pieces:
        at += step
        readings.append((at, celsius))
    line = TemperatureLine(assumed, HOUR, readings)
    law = credit_law(24.0, 10.0, *limits)
    ageing = Ageing(line, law)
    end = ageing.when(T0 + start, needed)
    if end is None:
        assert assumed < law.low_c
        return
    edges = sorted({T0 + start, end, *(at for at in line.starts if T0 + start < at < end)})
    age = sum(
        quad(
            lambda at: law.rate(line.temperature_at(at)),
            a,
            b - 1e-6,
            limit=200,
            points=_crossings(line, law, a, b),
        )[0]
        for a, b in pairwise(edges)
    )
    assert age == pytest.approx(needed, rel=2e-6, abs=1e-3)
    assert age_between(ageing, T0 + start, end) == pytest.approx(needed, rel=1e-9, abs=1e-5)


def _crossings(line: TemperatureLine, law: RateLaw, a: float, b: float) -> list[float] | None:
    """Where a straight piece passes the coldest temperature or the cap; quad must be told of the jump."""
    first, last = line.temperature_at(a), line.temperature_at(b - 1e-6)
    if abs(last - first) < 1e-9:
        return None
    at = [a + (b - a) * (limit - first) / (last - first) for limit in (law.low_c, law.high_c)]
    return [instant for instant in at if a < instant < b] or None
