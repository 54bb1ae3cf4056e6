"""Glue for a joint and under a grip, the parts of a mix, and how far off its ratio it may be."""

from math import pi
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.craft.faults import SumFault
from shop.craft.mix import (
    joint_glue,
    least_mix_ml,
    least_part_ml,
    mass_b_per_100_a,
    mix_amounts,
    pool_diameter_nm,
    ratio_error_percent,
    with_factor_ml,
)
from shop.craft.sums.base import Outcome
from shop.craft.sums.mix import SUMS
from shop.craft.sums.reading import read_inputs
from tests.craft.figures import figure

BY_NAME = {calculator.name: calculator for calculator in SUMS}


def work(name: str, given: dict[str, Any]) -> Outcome:
    """What the calculator answers to what is typed."""
    calculator = BY_NAME[name]
    return calculator.work(read_inputs(calculator, given))


# A seat: open for 2-1/2 in, on 1-1/2 in of tape rings (common practice, no source).
SEAT = {
    "bore_start": "0.650 in",
    "bore_end": "0.650 in",
    "rod_start": "0.490 in",
    "rod_end": "0.490 in",
    "length": "2 1/2 in",
    "films": [{"diameter": "0.6425 in", "length": "1 1/2 in", "film": "0.0075 in"}],
}


def test_glue_for_a_seat() -> None:
    answer = work("glue-joint", SEAT)
    assert answer.value("gap_start") == answer.value("gap_end") == 2_032_000
    assert answer.value("open_ml") == pytest.approx(5.87, abs=0.005)
    assert answer.value("film_ml") == pytest.approx(0.37, abs=0.005)
    assert answer.value("holds_ml") == pytest.approx(6.24, abs=0.005)
    assert answer.value("volume_ml") == pytest.approx(8.1, abs=0.05)
    assert "6.241 mL × (1 + 30 %) = 8.113 mL" in answer.working
    assert answer.warnings == ()


def test_glue_for_a_tapered_grip_with_face_and_fillet() -> None:
    known = figure("glue-annulus-tapered-bore")  # closed form
    sizes = {name.removesuffix("_mm"): {"mm": value} for name, value in known["inputs"].items()}
    extra = {"face_outer": "4 cm", "face_inner": "2 cm", "face_film": "1 mm"}
    extra |= {"fillet_diameter": "2 cm", "fillet_leg": "2 mm"}
    answer = work("glue-joint", sizes | extra | {"allowance": 0})
    assert answer.value("open_ml") == pytest.approx(known["expected"]["volume_mL"], rel=1e-7)
    assert answer.value("face_ml") == pytest.approx(0.3 * pi)
    assert answer.value("fillet_ml") == pytest.approx(0.04 * pi)
    expected = known["expected"]["volume_mL"] + 0.34 * pi
    assert answer.value("volume_ml") == pytest.approx(expected)
    assert len(answer.working) == 5


def test_says_where_a_joint_will_be_starved() -> None:
    answer = work("glue-joint", SEAT | {"rod_start": "0.647 in", "rod_end": "0.646 in"})
    (warning,) = answer.warnings
    assert warning.startswith("At the start the gap is 0.0015 in")


def test_glue_under_a_grip() -> None:
    answer = work("grip-film", {"od": "0.543 in", "gap": "0.003 in", "length": "9 in"})
    assert answer.value("film_ml") == pytest.approx(0.75, abs=0.005)  # common practice, no source
    assert answer.value("volume_ml") == pytest.approx(1.5, abs=0.02)
    assert answer.working[1] == "0.7548 mL × 2 for soak and fillets = 1.51 mL"


def test_glue_round_the_shoulder_of_a_grip_comes_on_top() -> None:
    shoulder = {"shoulder_od": "0.865 in", "shoulder_length": "13/32 in"}
    answer = work("grip-film", {"od": "0.5618 in", "length": "9 13/32 in", **shoulder})
    # Worked by hand: pi x 0.5618 x 0.003 x 9.40625 and pi x 0.865 x 0.005 x 0.40625 in3, of 16.387064 mL each
    assert answer.value("film_ml") == pytest.approx(0.81615 + 0.09046, abs=0.0001)
    assert answer.value("volume_ml") == pytest.approx(2 * 0.90661, abs=0.0002)
    assert answer.working[1].startswith("Round the shoulder: π × 21.971 × 0.127 × 10.31875 mm³ = 0.0905 mL")
    assert answer.working[2] == "0.8162 + 0.0905 = 0.9066 mL"


def test_a_mix_of_equal_parts_is_not_of_equal_masses() -> None:
    typed = {"volume": "8.113 mL", "density_a": "1.16", "density_b": "1.00 g/mL"}
    answer = work("mix-amounts", typed)
    assert answer.value("volume_a_ml") == answer.value("volume_b_ml") == pytest.approx(4.1, abs=0.05)
    assert answer.value("mass_a_g") == pytest.approx(4.7, abs=0.05)  # common practice, no source
    assert answer.value("mass_b_g") == pytest.approx(4.1, abs=0.05)
    assert answer.value("pool_a_diameter") == answer.value("pool_b_diameter")
    assert answer.value("least_mix_ml") == 6
    assert answer.warnings == ()


def test_a_mix_without_densities_has_no_masses() -> None:
    answer = work("mix-amounts", {"volume": "8 mL", "density_a": 1.1})
    assert answer.value("mass_a_g") == pytest.approx(4.4)
    assert answer.value("mass_b_g") is None
    assert answer.value("mass_b_per_100_a") is None


def test_a_mix_of_unequal_parts_is_not_two_equal_pools() -> None:
    answer = work("mix-amounts", {"volume": "1 fl oz", "parts_a": "2", "parts_b": "1"})
    whole = answer.value("volume_a_ml") + answer.value("volume_b_ml")
    assert whole == pytest.approx(figure("unit-usfloz-mL")["expected"]["mL"], rel=1e-8)  # NIST HB 44
    assert answer.value("pool_a_diameter") == pytest.approx(2**0.5 * answer.value("pool_b_diameter"))
    (warning,) = answer.warnings
    assert "not of equal size" in warning


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (
            {"volume": "2 mL"},
            ["Each part is only 1 mL", "22.22 % off", "Mix 6 mL instead, A 3 mL and B 3 mL"],
        ),
        (
            {"volume": "6 mL", "parts_a": 2},
            ["The smaller part is only 2 mL", "Mix 9 mL instead, A 6 mL and B 3 mL"],
        ),
        ({"volume": "0.2 mL"}, ["leave one part out altogether"]),
        ({"volume": "9.9 mL", "least_part": "5 mL"}, ["Mix 10 mL instead, A 5 mL and B 5 mL"]),
    ],
)
def test_says_what_to_mix_instead_of_too_little(typed: dict[str, Any], words: list[str]) -> None:
    warning = work("mix-amounts", typed).warnings[0]
    assert [word for word in words if word not in warning] == []


@pytest.mark.parametrize(
    "typed",
    [
        {"volume": "6 mL"},
        {"volume": "9 mL", "parts_a": 2},
        {"volume": "33 mL", "parts_b": "0.1"},
    ],
)
def test_a_mix_of_just_the_least_is_let_be(typed: dict[str, Any]) -> None:
    assert not any("only" in warning for warning in work("mix-amounts", typed).warnings)


@pytest.mark.parametrize(
    ("part_a", "part_b", "percent"),
    [
        ("1 mL", "1 mL", 22.2222),  # 1.1/0.9
        ("3 mL", "3 mL", 6.8966),  # 3.1/2.9
        ("4 mL", "2 mL", 7.8947),  # 4.1/1.9·2/4: the larger over, the smaller short
        ("2 mL", "4 mL", 7.8947),
    ],
)
def test_how_far_off_a_mix_may_be(part_a: str, part_b: str, percent: float) -> None:
    answer = work("mix-error", {"part_a": part_a, "part_b": part_b})
    assert answer.value("error_percent") == pytest.approx(percent, abs=1e-4)
    assert bool(answer.warnings) == (percent > 7)


def test_the_least_mix_for_a_wanted_error() -> None:
    answer = work("mix-error", {"part_a": "1 mL", "part_b": "1 mL", "most_error": "5 %"})
    assert answer.value("least_part_ml") == pytest.approx(4.1)  # 0.1·2.05/0.05
    assert answer.value("least_mix_ml") == pytest.approx(8.2)
    assert "mix at least 4.1 mL of the smaller part, 8.2 mL in all" in answer.warnings[0]


def test_the_mass_ratio_beside_the_volume_ratio() -> None:
    known = figure("mix-2to1-vol-100-47-wt")  # a resin maker's mixing guide
    ratio = mass_b_per_100_a(2, 1, 1.0, known["expected"]["density_ratio_hardener_over_resin"])
    assert ratio == pytest.approx(47, abs=100 / 2 * known["tolerance"]["value"])
    assert mass_b_per_100_a(1, 1, 1.0, 0.83) == pytest.approx(83)


def test_a_pool_by_hand() -> None:
    assert pool_diameter_nm(pi, 10_000_000) == 20_000_000  # π/4·2²·1 cm


PARTS = st.floats(0.05, 20)
SMALL_ERRORS = st.floats(0.01, 0.5)


@settings(max_examples=60)
@given(st.floats(0.1, 500), PARTS, PARTS, st.floats(0.5, 2), st.floats(0.5, 2))
def test_parts_by_volume_and_by_mass_agree(
    volume: float, parts_a: float, parts_b: float, density_a: float, density_b: float
) -> None:
    mix = mix_amounts(volume, parts_a, parts_b, density_a, density_b)
    assert mix.volume_a_ml + mix.volume_b_ml == pytest.approx(volume)
    assert mix.volume_a_ml * parts_b == pytest.approx(mix.volume_b_ml * parts_a)
    assert mix.mass_a_g is not None
    assert mix.mass_b_g is not None
    assert mix.mass_a_g / density_a + mix.mass_b_g / density_b == pytest.approx(volume)
    ratio = mass_b_per_100_a(parts_a, parts_b, density_a, density_b)
    assert 100 * mix.mass_b_g == pytest.approx(ratio * mix.mass_a_g)


@settings(max_examples=60)
@given(PARTS, PARTS, SMALL_ERRORS, st.floats(0.5, 90))
def test_the_least_part_is_off_by_just_what_is_allowed(
    parts_a: float, parts_b: float, error_ml: float, percent: float
) -> None:
    part_ml = least_part_ml(parts_a, parts_b, error_ml, percent)
    whole_ml = least_mix_ml(parts_a, parts_b, part_ml)
    mix = mix_amounts(whole_ml, parts_a, parts_b)
    assert min(mix.volume_a_ml, mix.volume_b_ml) == pytest.approx(part_ml)
    assert ratio_error_percent(mix.volume_a_ml, mix.volume_b_ml, error_ml) == pytest.approx(percent)


@settings(max_examples=60)
@given(st.floats(1, 50), st.floats(1, 50), SMALL_ERRORS, st.floats(-1, 1), st.floats(-1, 1))
def test_no_error_of_measuring_is_worse_than_the_worst(
    part_a: float, part_b: float, error_ml: float, of_a: float, of_b: float
) -> None:
    poured = (part_a + of_a * error_ml) / (part_b + of_b * error_ml) / (part_a / part_b)
    off = max(poured, 1 / poured) - 1
    assert 100 * off <= ratio_error_percent(part_a, part_b, error_ml) + 1e-9


@settings(max_examples=60)
@given(st.floats(0.05, 200), st.integers(200_000, 20_000_000))
def test_a_pool_holds_its_volume(volume_ml: float, depth_nm: int) -> None:
    across_cm, depth_cm = pool_diameter_nm(volume_ml, depth_nm) / 1e7, depth_nm / 1e7
    assert pi / 4 * across_cm**2 * depth_cm == pytest.approx(volume_ml, rel=1e-5)


BAD: list[tuple[str, dict[str, Any], str, str]] = [
    ("glue-joint", SEAT | {"rod_end": "0.7 in"}, "rod_end", "it does not go in"),
    ("glue-joint", SEAT | {"face_outer": "1 in"}, "face_inner", "go together"),
    (
        "glue-joint",
        SEAT | {"face_outer": "1 in", "face_inner": "1.2 in"},
        "face_inner",
        "less than its outside",
    ),
    ("glue-joint", SEAT | {"fillet_leg": "1 mm"}, "fillet_diameter", "go together"),
    ("glue-joint", SEAT | {"allowance": "-5"}, "allowance", "less than nothing"),
    ("glue-joint", SEAT | {"films": [{"diameter": "1 in"}]}, "films.1.length", "missing"),
    ("glue-joint", SEAT | {"bore_end": "0.65"}, "bore_end", "has no unit"),
    ("grip-film", {"od": "0.5 in", "length": "9 in", "factor": "0.9"}, "factor", "less than the gap itself"),
    ("grip-film", {"od": "0.5 in", "length": "9 in", "gap": "0 in"}, "gap", "more than nothing"),
    (
        "grip-film",
        {"od": "0.5 in", "length": "9 in", "shoulder_od": "0.865 in"},
        "shoulder_length",
        "together",
    ),
    ("grip-film", {"od": "0.5 in", "length": "9 in", "shoulder_length": "3/8 in"}, "shoulder_od", "together"),
    ("mix-amounts", {"volume": "8"}, "volume", "with its unit"),
    ("mix-amounts", {"volume": "8 mL", "parts_b": 0}, "parts_b", "more than nothing"),
    ("mix-amounts", {"volume": "8 mL", "density_a": "nan"}, "density_a", "must be a number"),
    ("mix-error", {"part_a": "0.1 mL", "part_b": "3 mL"}, "error", "as much as the smaller part"),
    ("mix-error", {"part_a": "3 mL", "part_b": "3 mL", "most_error": 0}, "most_error", "more than nothing"),
]


@pytest.mark.parametrize(("name", "typed", "field", "sentence"), BAD)
def test_refuses_what_cannot_be(name: str, typed: dict[str, Any], field: str, sentence: str) -> None:
    with pytest.raises(SumFault) as fault:
        work(name, typed)
    assert list(fault.value.errors) == [field]
    assert sentence in fault.value.errors[field]


def test_the_plain_sums_refuse_too() -> None:
    for refused, field in (
        (lambda: joint_glue(1.0, [], 0.0, 0.0, float("nan")), "allowance"),
        (lambda: joint_glue(1.0, [-2.0], 0.0, 0.0, 30), "length"),
        (lambda: with_factor_ml(1.0, float("inf")), "factor"),
        (lambda: mix_amounts(1.0, 1, 1, 0.0), "density_a"),
        (lambda: mix_amounts(float("nan"), 1, 1), "volume"),
        (lambda: pool_diameter_nm(1.0, 0), "pool_depth"),
        (lambda: least_part_ml(1, 1, 0.1, 0), "most_error"),
        (lambda: least_mix_ml(1, 1, -3.0), "least_part"),
    ):
        with pytest.raises(SumFault) as fault:
            refused()
        assert list(fault.value.errors) == [field]
