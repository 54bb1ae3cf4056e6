"""Stiffness from a sag, the stiffness number, and the calculators as a builder fills them in."""

from math import degrees
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.craft.faults import SumFault
from shop.craft.flex.beam import bend, newtons_of
from shop.craft.flex.fitting import fitted_to, load_for_sag, third_length_load
from shop.craft.sums import flex, flex_line
from shop.craft.sums.base import Outcome, Sum
from shop.craft.sums.reading import read_inputs
from tests.craft.figures import figure
from tests.craft.flex_blanks import MM, STATIONS_MM, Power, Steps, blank, uniform

SUMS = {calculator.name: calculator for calculator in (*flex.SUMS, *flex_line.SUMS)}
BLANK: dict[str, Any] = {
    "stations": [{"from_butt": f"{at} mm", "od": f"{od} mm"} for at, od in STATIONS_MM],
    "wall_butt": "1 mm",
    "wall_tip": "0.6 mm",
}
GUIDES: dict[str, Any] = {
    "guides": [
        {"from_tip": f"{at} mm", "height": f"{height} mm"}
        for at, height in ((80, 5), (175, 5), (290, 5), (430, 6), (600, 8), (800, 10), (1100, 14), (1450, 20))
    ]
}


def worked(name: str, **given: Any) -> Outcome:
    calculator = SUMS[name]
    return calculator.work(read_inputs(calculator, {**BLANK, **given}))


@pytest.mark.parametrize("load", [1.5, 3, 7, 10])
def test_the_load_that_sags_a_uniform_rod_so_far(load: float) -> None:
    # Closed form, Bisshopp & Drucker: the drop of a rod of EI = 1e6 N·mm², 1 m long, under so many newtons.
    drop = figure(f"elastica-{load:g}")["expected"]["w_over_L"] * 1000
    assert load_for_sag(Steps((0.0, 1000.0), (1e6,)), drop).load_n == pytest.approx(load, rel=1e-5)


@settings(max_examples=30, deadline=None)
@given(st.floats(0.001, 0.9), st.floats(10.0, 3000.0), st.floats(0.0, 800.0))
def test_a_fitted_blank_sags_as_it_was_measured(part: float, load_g: float, clamp_mm: float) -> None:
    sag = part * (2000.0 - clamp_mm)
    fitted = fitted_to(blank(), load_g, sag, clamp_mm)
    shape = bend(fitted.blank, newtons_of(load_g), clamp_mm)
    assert shape.tip_drop_mm == pytest.approx(sag, rel=1e-5)
    assert fitted.blank.modulus_gpa == pytest.approx(40.0 * fitted.times)


def test_the_stiffness_number() -> None:
    # Common practice, no source: 84 in clamped level sags 28 in, the tip at about 68°.
    rod = Power(5.0, 4)
    third = third_length_load(rod)
    assert third.shape.tip_drop_mm == pytest.approx(1000.0 / 3.0, rel=1e-6)
    # A tapered blank shows a steeper tip than a uniform rod, which sags 0.33343 of its length at 29.34°
    # (closed form, elliptic integrals).
    assert 60.0 < third.shape.tip_angle_deg < 76.0
    expected = figure("elastica-dimensional-uniform-rod")["expected"]["tip_angle_deg"]
    assert third_length_load(uniform()).shape.tip_angle_deg == pytest.approx(expected, abs=0.02)
    twice = third_length_load(blank().scaled(2.0))
    assert twice.load_g == pytest.approx(2.0 * third_length_load(blank()).load_g, rel=1e-6)


@pytest.mark.parametrize(
    ("load_g", "sag_mm", "clamp_mm", "field", "says"),
    [
        (200.0, 2000.0, 0.0, "test_sag", "at most 95% of the free length of 2000.0 mm"),
        (200.0, 0.0, 0.0, "test_sag", "more than nothing"),
        (200.0, 1000.0, 1000.0, "test_sag", "free length of 1000.0 mm"),
        (0.0, 200.0, 0.0, "test_load", "must be more than nothing"),
        (200.0, 200.0, 2000.0, "clamp_from_butt", "which is not on the blank"),
    ],
)
def test_a_sag_that_cannot_be(load_g: float, sag_mm: float, clamp_mm: float, field: str, says: str) -> None:
    with pytest.raises(SumFault, match=says) as fault:
        fitted_to(blank(), load_g, sag_mm, clamp_mm)
    assert list(fault.value.errors) == [field]


def test_flex_of_a_rod_with_a_closed_form() -> None:
    # Closed form by elliptic integrals: 40 GPa, solid 6 mm, 1.2 m, 2 N, which is 203.943 g hung.
    expected = figure("elastica-dimensional-uniform-rod")["expected"]
    stations = [{"from_butt": "0 in", "od": "6 mm"}, {"from_butt": "1200 mm", "od": "6 mm"}]
    outcome = worked("flex", stations=stations, wall_butt="", wall_tip="", load="203.943242595 g")
    assert outcome.value("tip_drop") / MM == pytest.approx(expected["tip_drop_m"] * 1000, rel=2e-6)
    assert outcome.value("pull_in") / MM == pytest.approx(expected["tip_pull_in_m"] * 1000, rel=2e-6)
    assert outcome.value("tip_angle") == pytest.approx(expected["tip_angle_deg"], rel=2e-6)
    rows = outcome.value("shape")
    assert len(rows) == 41
    assert rows[0] == (0, 0, 0, 0.0)
    assert rows[-1][0] == 1200 * MM
    assert rows[-1][2] == outcome.value("tip_drop")
    assert rows[-1][3] == outcome.value("tip_angle")
    assert any("203.9 g ÷ 1000 × 9.80665 m/s² = 2 N" in line for line in outcome.working)
    assert any("40 GPa × π/64 × ((0.2362 in (6 mm))⁴) = 2.545 N·m²" in line for line in outcome.working)
    assert any("eye protection" in warning for warning in outcome.warnings)


def test_flex_with_a_measured_sag_instead_of_a_modulus() -> None:
    outcome = worked("flex", load="250 g", test_load="250 g", test_sag="700 mm", modulus_gpa="25")
    assert outcome.value("tip_drop") / MM == pytest.approx(700.0, abs=0.01)
    # What was assumed does not matter then.
    again = worked("flex", load="250 g", test_load="250 g", test_sag="700 mm")
    assert again.value("tip_angle") == pytest.approx(outcome.value("tip_angle"), abs=1e-3)


def test_static_test_shows_three_shapes() -> None:
    outcome = worked("static-test", light="100 g", middle="250 g", heavy="900 g", butt_angle="30°")
    drops = [outcome.value(f"{stage}_tip_drop") for stage in ("light", "middle", "heavy")]
    assert drops == sorted(drops)
    for stage in ("light", "middle", "heavy"):
        rows = outcome.value(stage)
        assert len(rows) == 21
        assert rows[0][3] == pytest.approx(-30.0, abs=1e-4)
        assert rows[-1][3] == outcome.value(f"{stage}_tip_angle")
    assert outcome.value("heavy_tip_angle") > 80.0


def test_line_path_says_where_it_touches_and_turns_too_far() -> None:
    outcome = worked("line-path", load="400 g", **GUIDES)
    assert len(outcome.value("turns")) == 8
    assert len(outcome.value("gaps")) == 9
    assert outcome.value("most_turn") == max(row[2] for row in outcome.value("turns"))
    assert outcome.value("least_gap") == min(row[2] for row in outcome.value("gaps"))
    assert [row[1] for row in outcome.value("turns")][:2] == [80 * MM, 175 * MM]
    low = [{**row, "height": "1 mm"} for row in GUIDES["guides"]]
    touching = worked("line-path", load="400 g", guides=low)
    assert any(warning.startswith("The line touches the blank between") for warning in touching.warnings)
    few = [GUIDES["guides"][n] for n in (0, 5, 7)]
    wide = worked("line-path", load="900 g", guides=few, side="below")
    assert any("more than 15°" in warning for warning in wide.warnings)
    assert not any("touches" in warning for warning in wide.warnings)


def test_even_layout_keeps_the_ends_and_is_more_even() -> None:
    outcome = worked("even-layout", load="250 g", **GUIDES)
    rows = outcome.value("positions")
    assert (rows[0][1], rows[-1][1]) == (80 * MM, 1450 * MM)
    assert all(from_tip + from_butt == 2000 * MM for _, from_tip, from_butt, _, _ in rows)
    assert outcome.value("spread_after") < outcome.value("spread_before")
    after = [{"from_tip": f"{row[1] / MM} mm", "height": g["height"]}
             for row, g in zip(rows, GUIDES["guides"], strict=True)]  # fmt: skip
    path = worked("line-path", load="250 g", guides=after)
    assert [row[2] for row in path.value("turns")] == pytest.approx([row[4] for row in rows], abs=1e-6)
    settled = worked("even-layout", load="250 g", guides=after)
    assert settled.value("spread_after") <= outcome.value("spread_after") + 1e-9


def test_stiffness_number_beside_a_measured_one() -> None:
    outcome = worked("stiffness-number", clamp_from_butt="200 mm")
    assert outcome.value("sag") == 600 * MM
    load = outcome.value("load")
    near = worked("stiffness-number", clamp_from_butt="200 mm", measured_load=f"{load * 1.02:.3f} g")
    assert near.value("difference") == pytest.approx(2.0, abs=0.01)
    assert len(near.warnings) == len(outcome.warnings)
    far = worked("stiffness-number", clamp_from_butt="200 mm", measured_load=f"{load * 0.9:.3f} g")
    assert far.value("difference") == pytest.approx(-10.0, abs=0.01)
    assert "10 % less than the model's" in far.warnings[0]


def test_fit_stiffness_gives_back_the_modulus() -> None:
    shape = bend(blank(), newtons_of(300.0), 100.0, within=1e-9)
    typed = {"clamp_from_butt": "100 mm", "test_load": "300 g", "test_sag": f"{shape.tip_drop_mm:.6f} mm"}
    outcome = worked("fit-stiffness", modulus_gpa="80", **typed)
    assert outcome.value("modulus_gpa") == pytest.approx(40.0, rel=1e-5)
    assert outcome.value("times") == pytest.approx(0.5, rel=1e-5)
    assert outcome.value("butt_stiffness") == pytest.approx(blank().stiffness_at(0.0) / 1e6, rel=1e-5)
    assert outcome.value("tip_angle") == pytest.approx(degrees(shape.angle_rad[-1]), rel=1e-4)


@pytest.mark.parametrize(
    ("name", "given", "field", "says"),
    [
        ("flex", {"load": "500 g", "most_load": "400 g"}, "load", "more than the 400 g"),
        ("flex", {"load": "500 g", "test_load": "200 g"}, "test_sag", "given alone"),
        ("flex", {"load": "500 g", "test_sag": "200 mm"}, "test_load", "given alone"),
        ("flex", {"load": "500 g", "test_load": "2 g", "test_sag": "2 m"}, "test_sag", "at most 95%"),
        ("flex", {"load": "500 g", "clamp_from_butt": "2 m"}, "clamp_from_butt", "short of its tip"),
        ("flex", {"load": "500 g", "butt_angle": "86°"}, "butt_angle", "at most 85°"),
        ("flex", {"load": "500 g", "wall_butt": "7 mm"}, "wall_butt", "less than half of its diameter"),
        ("flex", {"load": "500"}, "load", "a mass is asked for"),
        ("flex", {"load": "100 kg", "modulus_gpa": "1e-6"}, "load", "too great"),
        (
            "static-test",
            {"light": "300 g", "middle": "200 g", "heavy": "900 g"},
            "middle",
            "not more than the 300 g",
        ),
        (
            "static-test",
            {"light": "300 g", "middle": "400 g", "heavy": "900 g", "most_load": "800 g"},
            "heavy",
            "more than the 800 g",
        ),
        ("line-path", {"load": "300 g", "guides": []}, "guides", "missing"),
        ("line-path", {"load": "300 g", **GUIDES, "side": "left"}, "side", "must be one of top, below"),
        ("line-path", {"load": "300 g", **GUIDES, "reel_from_butt": "3 m"}, "reel_from_butt", "only 78"),
        (
            "line-path",
            {"load": "300 g", "guides": [{"from_tip": "3 m", "height": "5 mm"}]},
            "guides.1.from_tip",
            "past the butt",
        ),
        ("even-layout", {"load": "300 g", "guides": GUIDES["guides"][:2]}, "guides", "2 guides leave none"),
        ("fit-stiffness", {"test_load": "200 g"}, "test_sag", "missing"),
        ("fit-stiffness", {"test_load": "200 g", "test_sag": "2 m"}, "test_sag", "at most 95%"),
        ("stiffness-number", {"clamp_from_butt": "2 m"}, "clamp_from_butt", "not on the blank"),
    ],
)
def test_what_a_builder_is_told(name: str, given: dict[str, Any], field: str, says: str) -> None:
    with pytest.raises(SumFault, match=says) as fault:
        worked(name, **given)
    assert field in fault.value.errors


@pytest.mark.parametrize("calculator", SUMS.values(), ids=lambda calculator: calculator.name)
def test_every_calculator_warns_of_a_loaded_blank(calculator: Sum) -> None:
    loads = {
        "light": "100 g",
        "middle": "200 g",
        "heavy": "300 g",
        "test_load": "200 g",
        "test_sag": "500 mm",
    }
    asked = {item.name for item in calculator.inputs}
    given = {**BLANK, **GUIDES, **loads, "load": "200 g"}
    outcome = calculator.work(
        read_inputs(calculator, {name: value for name, value in given.items() if name in asked})
    )
    assert set(flex.CARE) <= set(outcome.warnings)
    assert outcome.working
