"""The bent blank against closed forms, published tables and scipy's boundary-value solver."""

from itertools import pairwise
from math import asin, degrees, hypot, pi, radians, sin, sqrt
from random import Random
from typing import Any

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ellipe, ellipeinc, ellipk, ellipkinc

from shop.craft.faults import SumFault
from shop.craft.flex.beam import Stiffness, bend, newtons_of
from shop.craft.flex.section import section_of
from shop.craft.flex.shape import Shape
from shop.craft.flex.shooting import Trace, aim, bends_of, settle
from tests.craft.figures import figure, figures
from tests.craft.flex_blanks import MM, Power, Steps, blank, by_solve_bvp, uniform

FINE = 1e-10
BUTT = Steps((0.0, 1000.0), (1.0e6,))


def parts(shape: Shape) -> dict[str, float]:
    """A shape in the words of the check figures: in parts of the free length, and radians."""
    return {
        "w_over_L": shape.y_mm[-1] / shape.free_mm,
        "u_over_L": 1.0 - shape.x_mm[-1] / shape.free_mm,
        "theta_tip_rad": shape.angle_rad[-1],
    }


def holds(shape: Shape, check: dict[str, Any]) -> None:
    expected = {name: check["expected"][name] for name in parts(shape) if name in check["expected"]}
    assert expected
    for name, value in expected.items():
        assert parts(shape)[name] == pytest.approx(value, abs=check["tolerance"]["value"]), name


# Bisshopp & Drucker, Q. Appl. Math. 3 (1945); Mattiasson, Int. J. Numer. Methods Eng. 17 (1981), Table 1;
# a ten-digit shooting table in a public frame solver's tests. Each id says which.
UNIFORM = [
    check
    for check in figures("elastica-")
    if set(check["inputs"]) >= {"PL2_over_EI"}
    and not check["id"].startswith(("elastica-inclined", "elastica-small"))
]


@pytest.mark.parametrize("check", UNIFORM, ids=lambda check: check["id"])
def test_a_uniform_rod_bends_as_published(check: dict[str, Any]) -> None:
    load = check["inputs"]["PL2_over_EI"]
    holds(bend(BUTT, load, within=FINE), check)
    if check["tolerance"]["value"] >= 1e-6:
        holds(bend(BUTT, load), check)


@pytest.mark.parametrize("check", figures("elastica-taper-"), ids=lambda check: check["id"])
def test_a_tapered_rod_bends_as_computed_elsewhere(check: dict[str, Any]) -> None:
    # Numeric references of another solver: EI as the fourth or the third power of the diameter.
    given = check["inputs"]
    rod = Power(given["d_butt_over_d_tip"], given["EI_power_of_diameter"])
    holds(bend(rod, given["PL2_over_EI_butt"] / 1e6, within=1e-7), check)
    rough = parts(bend(rod, given["PL2_over_EI_butt"] / 1e6))
    for name in ("w_over_L", "u_over_L"):
        assert rough[name] == pytest.approx(check["expected"][name], abs=1e-6)


@pytest.mark.parametrize("check", figures("elastica-inclined-"), ids=lambda check: check["id"])
def test_a_butt_that_points_up(check: dict[str, Any]) -> None:
    # Numeric references of another solver.
    given, expected = check["inputs"], check["expected"]
    shape = bend(BUTT, given["PL2_over_EI"], butt_angle_deg=given["butt_angle_deg_above_horizontal"])
    assert shape.y_mm[-1] / 1000 == pytest.approx(expected["drop_y_over_L_down_positive"], abs=1e-6)
    assert 1 - shape.x_mm[-1] / 1000 == pytest.approx(expected["one_minus_x_over_L"], abs=1e-6)
    assert shape.angle_rad[-1] == pytest.approx(expected["tip_angle_rad_down_positive"], abs=1e-6)
    raised = 1000 * sin(radians(given["butt_angle_deg_above_horizontal"]))
    assert shape.tip_drop_mm == pytest.approx(shape.y_mm[-1] + raised)


def test_a_rod_with_its_own_size() -> None:
    # Closed form by elliptic integrals: 40 GPa, 6 mm, 1.2 m, 2 N.
    expected = figure("elastica-dimensional-uniform-rod")["expected"]
    shape = bend(uniform(1200.0), 2.0)
    assert shape.tip_drop_mm / 1000 == pytest.approx(expected["tip_drop_m"], rel=2e-6)
    assert shape.pull_in_mm / 1000 == pytest.approx(expected["tip_pull_in_m"], rel=2e-6)
    assert shape.tip_angle_deg == pytest.approx(expected["tip_angle_deg"], rel=2e-6)


def test_under_a_small_load_it_bends_as_the_linear_theory_says() -> None:
    # Closed form: w goes to PL³/3EI.
    check = figure("elastica-small-load-limit")
    shape = bend(BUTT, check["inputs"]["PL2_over_EI"])
    assert shape.tip_drop_mm / 1000 == pytest.approx(check["expected"]["w_over_L"], rel=2e-6)


# Closed form by unit-load integration, beside a uniform cantilever of the butt's section.
@pytest.mark.parametrize("check", [c for c in figures("taper-small-") if "deflection_ratio" in c["expected"]],
                         ids=lambda check: check["id"])  # fmt: skip
def test_a_taper_under_a_small_load(check: dict[str, Any]) -> None:
    given = check["inputs"]
    power = 4 if "solid" in given["section"] else 3
    ratio = given.get("d_butt_over_d_tip") or given["D_butt_over_D_tip"]
    load = 1e-4 / check["expected"]["slope_ratio"]
    shape = bend(Power(ratio, power), load / 1e6, within=FINE)
    assert shape.tip_drop_mm / 1000 * 3 / load == pytest.approx(
        check["expected"]["deflection_ratio"], rel=1e-7
    )
    assert shape.angle_rad[-1] * 2 / load == pytest.approx(check["expected"]["slope_ratio"], rel=1e-7)


def test_a_taper_of_its_own_size_under_a_small_load() -> None:
    # Closed form 64PL³/(3πE·d_b³·d_t), with a load so small that the theory holds.
    check = figure("taper-small-solid-dimensional")
    rod = section_of([(0, 10 * MM), (2000 * MM, 2 * MM)], 40.0)
    shape = bend(rod, check["inputs"]["P_N"] * 1e-5, within=FINE)
    assert shape.tip_drop_mm * 1e2 == pytest.approx(check["expected"]["tip_deflection_m"], rel=1e-7)
    assert shape.angle_rad[-1] * 1e5 == pytest.approx(check["expected"]["tip_slope_rad"], rel=1e-7)


def test_a_stiffness_that_jumps() -> None:
    # Closed form P[(L³ − L₂³)/3EI₁ + L₂³/3EI₂], with a load so small that the theory holds.
    check = figure("stepped-cantilever")
    rod = Steps((0.0, 1000.0, 2000.0), (40e6, 5e6))
    shape = bend(rod, 1e-5, within=1e-12)
    assert shape.tip_drop_mm * 100 == pytest.approx(check["expected"]["tip_deflection_m"], rel=1e-9)


def elliptic(load: float) -> tuple[float, float, float]:
    """Bisshopp & Drucker's solution by scipy's elliptic integrals, for PL²/EI: drop, pull-in, tip angle."""
    low, high = sqrt(0.5), 1.0 - 1e-15
    for _ in range(200):
        k = 0.5 * (low + high)
        start = asin(1.0 / (k * sqrt(2.0)))
        if ellipk(k * k) - ellipkinc(start, k * k) < sqrt(load):
            low = k
        else:
            high = k
    root = sqrt(load)
    drop = 1.0 - 2.0 / root * (ellipe(k * k) - ellipeinc(start, k * k))
    tip = asin(2.0 * k * k - 1.0)
    return float(drop), float(1.0 - sqrt(2.0 * sin(tip) / load)), tip


@pytest.mark.parametrize("load", [0.05, 0.4, 1.0, 2.5, 6.0, 12.0, 30.0, 80.0])
def test_a_uniform_rod_against_elliptic_integrals(load: float) -> None:
    drop, pull_in, tip = elliptic(load)
    shape = bend(BUTT, load)
    assert shape.tip_drop_mm / 1000 == pytest.approx(drop, abs=1e-6)
    assert shape.pull_in_mm / 1000 == pytest.approx(pull_in, abs=1e-6)
    assert shape.angle_rad[-1] == pytest.approx(tip, abs=1e-5)
    exact = bend(BUTT, load, within=1e-11)
    assert exact.tip_drop_mm / 1000 == pytest.approx(drop, abs=2e-9)


def run_of(load: float, count: int) -> Trace:
    """BUTT in so many even steps, by shooting alone."""
    length, clamp = 1000.0 / count, pi / 2
    bent = length / 2e6
    steps = [(length, bent, bent, bent)] * count
    aimed = aim(steps, load, clamp, bends_of(steps).guess(load, clamp), 1e-6)
    return settle(steps, load, clamp, aimed, 1e-13)[1]


@pytest.mark.parametrize("load", [1.0, 6.0, 30.0])
def test_halving_the_steps_leaves_a_sixteenth_of_what_it_is_off(load: float) -> None:
    # A method of fourth order, against elliptic integrals.
    drop, pull_in, tip = elliptic(load)
    off = [
        (
            trace.downs_mm[-1] / 1000 - drop,
            trace.moments[-1] / load / 1000 - 1 + pull_in,
            trace.deltas[0] - pi / 2 + tip,
        )
        for trace in (run_of(load, 20), run_of(load, 40))
    ]
    for rough, fine in zip(*off, strict=True):
        assert rough / fine == pytest.approx(16.0, rel=0.15)


def test_a_mesh_that_is_kept_is_its_own_blanks() -> None:
    # Blanks, clamps and loads in turns, so that each finds the meshes of all the others.
    cases = [
        (rod, load, clamp)
        for rod in (blank(), blank().scaled(2.0))
        for load in (2.0, 2.1)
        for clamp in (0.0, 9.0)
    ]
    first, again = ([bend(*case).y_mm for case in cases] for _ in range(2))
    assert first == again
    assert len(set(first)) == len(cases)
    soft, stiff = bend(blank(), 2.0), bend(blank().scaled(1.05), 2.1)
    assert stiff.y_mm == pytest.approx(soft.y_mm, rel=1e-6, abs=1e-3)


def random_case(seed: int) -> tuple[Any, float, float, float]:
    chance = Random(seed)
    length, butt, tip = chance.uniform(1200, 4000), chance.uniform(6, 18), chance.uniform(1.2, 3)
    count = chance.randint(2, 12)
    stations = [
        (round(length * n / (count - 1) * MM),
         round((butt + (tip - butt) * n / (count - 1)) * chance.uniform(0.96, 1.04) * MM))
        for n in range(count)
    ]  # fmt: skip
    walls = (round(butt * 0.08 * MM), round(tip * 0.3 * MM)) if seed % 2 else (None, None)
    section = section_of(stations, chance.uniform(20, 120), *walls)
    clamp = chance.choice((0.0, 0.1 * length))
    load = section.stiffness_at(clamp) / (length - clamp) ** 2 * chance.choice((0.1, 0.5, 1.5, 4.0))
    return section, load, clamp, chance.choice((0.0, 20.0, -30.0))


@pytest.mark.parametrize("seed", range(12))
def test_a_tapered_blank_against_a_boundary_value_solver(seed: int) -> None:
    section, load, clamp, butt_angle = random_case(seed)
    shape = bend(section, load, clamp, butt_angle)
    angle, level, down = by_solve_bvp(section, load, clamp, butt_angle)(shape.from_butt_mm)
    free = shape.free_mm
    assert abs(numpy.array(shape.x_mm) / free - level).max() < 1e-6
    assert abs(numpy.array(shape.y_mm) / free - down).max() < 1e-6
    assert abs(numpy.array(shape.angle_rad) - angle).max() < 1e-4


@pytest.mark.parametrize("load_n", [0.01, 1.0, 4.0, 30.0, 300.0])
def test_what_it_says_of_its_error_holds(load_n: float) -> None:
    rough, exact = bend(blank(), load_n), bend(blank(), load_n, within=1e-11)
    off = hypot(rough.x_mm[-1] - exact.x_mm[-1], rough.y_mm[-1] - exact.y_mm[-1])
    assert off <= rough.error_mm + 2e-7 * rough.free_mm
    assert rough.error_mm <= 3e-6 * rough.free_mm


def test_places_between_points_lie_on_the_blank() -> None:
    shape, exact = bend(blank(), 3.0), bend(blank(), 3.0, points=5000, within=1e-10)
    for along in numpy.linspace(0, 2000, 77):
        x, y, angle = shape.at(float(along))
        wanted = exact.at(float(along))
        assert (x, y) == pytest.approx(wanted[:2], abs=0.01)
        assert angle == pytest.approx(wanted[2], abs=2e-4)
    assert shape.at(2000.0)[:2] == pytest.approx((shape.x_mm[-1], shape.y_mm[-1]))
    assert shape.where_angle(shape.at(1234.5)[2]) == pytest.approx(1234.5)


def test_before_the_clamp_it_is_straight_and_off_it_at_a_right_angle() -> None:
    shape = bend(blank(), 3.0, clamp_mm=400.0, butt_angle_deg=30.0)
    x, y, angle = shape.at(100.0)
    assert (x, y, degrees(angle)) == pytest.approx((-300 * sqrt(0.75), 150.0, -30.0))
    above = shape.at(100.0, 10.0)
    assert above[:2] == pytest.approx((x - 5.0, y - 10 * sqrt(0.75)))
    with pytest.raises(SumFault, match=r"2000\.1 mm from the butt is not on the blank"):
        shape.at(2000.1)


def test_a_hung_mass_pulls_with_standard_gravity() -> None:
    assert newtons_of(1000.0) == 9.80665


LOADS = st.floats(-3, 3).map(lambda power: 10.0**power)


@settings(max_examples=40, deadline=None)
@given(LOADS, st.floats(1.05, 3.0))
def test_a_stiffer_blank_bends_less_and_a_heavier_load_bends_more(load_n: float, times: float) -> None:
    drop = bend(blank(), load_n, points=2).tip_drop_mm
    assert bend(blank().scaled(times), load_n, points=2).tip_drop_mm < drop
    assert bend(blank(), load_n * times, points=2).tip_drop_mm > drop
    assert bend(blank().scaled(times), load_n * times, points=2).tip_drop_mm == pytest.approx(drop, rel=2e-5)


@settings(max_examples=40, deadline=None)
@given(LOADS, st.floats(0.0, 1500.0), st.floats(-60.0, 60.0))
def test_no_bend_makes_the_blank_longer(load_n: float, clamp_mm: float, butt_angle_deg: float) -> None:
    shape = bend(blank(), load_n, clamp_mm, butt_angle_deg, points=800)
    places = zip(shape.x_mm, shape.y_mm, shape.angle_rad, strict=True)
    arcs = [
        hypot(x_2 - x_1, y_2 - y_1) * (1.0 + (turn_2 - turn_1) ** 2 / 24.0)
        for (x_1, y_1, turn_1), (x_2, y_2, turn_2) in pairwise(places)
    ]
    assert sum(arcs) == pytest.approx(2000.0 - clamp_mm, rel=2e-6)
    assert shape.from_butt_mm[0] == clamp_mm
    assert shape.from_butt_mm[-1] == 2000.0
    assert degrees(shape.angle_rad[0]) == pytest.approx(-butt_angle_deg, abs=2e-5)
    assert shape.tip_angle_deg < 90.0 + 1e-9
    assert len(shape.x_mm) >= 800


@pytest.mark.parametrize(
    ("load_n", "clamp_mm", "butt_angle_deg", "field", "says"),
    [
        (0.0, 0.0, 0.0, "load", "A load of 0 N bends no blank"),
        (float("nan"), 0.0, 0.0, "load", "A load of nan N bends no blank"),
        (float("inf"), 0.0, 0.0, "load", "bends no blank"),
        (9e5, 0.0, 0.0, "load", "The load is too great for this blank"),
        (1.0, 2000.0, 0.0, "clamp_from_butt", "2000.0 mm from the butt, but the blank is 2000.0 mm long"),
        (1.0, -1.0, 0.0, "clamp_from_butt", "must be held short of its tip"),
        (1.0, 0.0, 90.0, "butt_angle", "A butt 90° from level is too steep"),
    ],
)
def test_what_cannot_be_bent(
    load_n: float, clamp_mm: float, butt_angle_deg: float, field: str, says: str
) -> None:
    rod: Stiffness = blank()
    with pytest.raises(SumFault, match=says) as fault:
        bend(rod, load_n, clamp_mm, butt_angle_deg)
    assert list(fault.value.errors) == [field]


@pytest.mark.parametrize(
    ("od_mm", "wall_mm", "wanted"),
    [(10.0, None, 40e3 * pi / 64 * 1e4), (10.0, 1.0, 40e3 * pi / 64 * (1e4 - 8.0**4))],
)
def test_stiffness_of_a_section(od_mm: float, wall_mm: float | None, wanted: float) -> None:
    wall = None if wall_mm is None else round(wall_mm * MM)
    section = section_of([(0, round(od_mm * MM)), (500 * MM, round(od_mm * MM))], 40.0, wall, wall)
    assert section.stiffness_at(250.0) == pytest.approx(wanted)
    assert blank().od_at(450.0) == pytest.approx(10.3)
    assert blank().stiffness_at(450.0) == pytest.approx(40e3 * pi / 64 * (10.3**4 - (10.3 - 1.82) ** 4))


@pytest.mark.parametrize(
    ("stations", "walls", "modulus", "field", "says"),
    [
        ([(0, 5 * MM)], (None, None), 40.0, "stations", "at least two stations"),
        ([(0, 5 * MM), (0, 4 * MM)], (None, None), 40.0, "stations.2.from_butt", "past the one before it"),
        ([(MM, 5 * MM), (9 * MM, 4 * MM)], (None, None), 40.0, "stations.1.from_butt", "at the butt"),
        ([(0, 5 * MM), (9 * MM, 0)], (None, None), 40.0, "stations.2.od", "must be more than nothing"),
        ([(0, 5 * MM), (9 * MM, 2 * MM)], (MM, MM), 40.0, "wall_tip", "less than half of its diameter"),
        ([(0, 2 * MM), (9 * MM, 2 * MM)], (MM, MM // 2), 40.0, "wall_butt", "less than half of its diameter"),
        ([(0, 5 * MM), (9 * MM, 4 * MM)], (MM, None), 40.0, "wall_tip", "at the butt is given alone"),
        ([(0, 5 * MM), (9 * MM, 4 * MM)], (None, MM), 40.0, "wall_butt", "at the tip is given alone"),
        ([(0, 5 * MM), (9 * MM, 4 * MM)], (None, None), 0.0, "modulus_gpa", "A modulus of 0 GPa"),
    ],
)
def test_what_is_no_section(
    stations: Any, walls: tuple[int | None, int | None], modulus: float, field: str, says: str
) -> None:
    with pytest.raises(SumFault, match=says) as fault:
        section_of(stations, modulus, *walls)
    assert list(fault.value.errors) == [field]
