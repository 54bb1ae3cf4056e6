"""Finish for the coats of a rod, and brushing beside the pot life."""

from math import pi
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.craft.faults import SumFault
from shop.craft.finish import area_mm2, brush_time, coat_ml, void_depth_nm
from shop.craft.sums.base import Outcome
from shop.craft.sums.finish import SUMS
from shop.craft.sums.reading import read_inputs

BY_NAME = {calculator.name: calculator for calculator in SUMS}
WRAPS = {"od": "0.262 in", "length": "13 1/2 in"}


def work(name: str, given: dict[str, Any]) -> Outcome:
    """What the calculator answers to what is typed."""
    calculator = BY_NAME[name]
    return calculator.work(read_inputs(calculator, given))


def test_finish_for_two_coats() -> None:
    answer = work("finish-volume", WRAPS)
    assert answer.value("area_cm2") / 6.4516 == pytest.approx(11.1, abs=0.05)  # common practice, no source
    assert answer.value("void_depth") / 25_400 == pytest.approx(1.3, abs=0.05)  # thousandths
    assert answer.value("first_ml") == pytest.approx(1.3, abs=0.05)
    assert answer.value("later_ml") == pytest.approx(1.5, abs=0.05)
    assert answer.value("first_mix_ml") == pytest.approx(answer.value("first_ml") + 1)
    assert answer.value("total_ml") == pytest.approx(1.327 + 1.457 + 2, abs=0.001)
    assert "71.69 cm² (11.11 in²)" in answer.working[0]


def test_each_later_coat_takes_a_mix_of_its_own() -> None:
    two, three = (work("finish-volume", WRAPS | {"coats": coats}) for coats in (2, 3))
    assert three.value("total_ml") - two.value("total_ml") == pytest.approx(two.value("later_mix_ml"))


def test_one_coat_has_no_later_one() -> None:
    answer = work("finish-volume", WRAPS | {"coats": 1, "cup": "0 mL"})
    assert answer.value("later_ml") is None
    assert answer.value("later_mix_ml") is None
    assert answer.value("total_ml") == answer.value("first_ml")
    assert len(answer.working) == 3


def test_the_hollows_are_what_a_round_leaves_of_its_square() -> None:
    assert void_depth_nm(152_400) == 32_705  # 0.006 in × (1 − π/4)
    assert void_depth_nm(1_000_000_000) == 214_601_837


@settings(max_examples=60)
@given(
    st.integers(2_000_000, 30_000_000),
    st.integers(1, 500_000_000),
    st.integers(1, 500_000_000),
    st.integers(1_000, 1_000_000),
    st.integers(0, 200_000),
)
def test_coats_add_up_along_the_blank_and_in_depth(
    od_nm: int, one_nm: int, other_nm: int, film_nm: int, void_nm: int
) -> None:
    whole = coat_ml(od_nm, one_nm + other_nm, film_nm, void_nm)
    parts = coat_ml(od_nm, one_nm, film_nm, void_nm) + coat_ml(od_nm, other_nm, film_nm, void_nm)
    assert parts == pytest.approx(whole)
    assert coat_ml(od_nm, one_nm, film_nm + void_nm) == pytest.approx(
        coat_ml(od_nm, one_nm, film_nm, void_nm)
    )
    assert whole == pytest.approx(area_mm2(od_nm, one_nm + other_nm) * (film_nm + void_nm) / 1e9)


def test_area_by_hand() -> None:
    assert area_mm2(10_000_000, 20_000_000) == pytest.approx(200 * pi)


@pytest.mark.parametrize(
    ("pot_life", "share", "fit", "mixes"),
    [
        ("31", 69.677, 18, 1),
        ("30 min", 72, 17, 2),  # 18 × 1.2 = 21.6 min beside 21
        ("10", 216, 5, 4),
    ],
)
def test_brushing_beside_pot_life(pot_life: str, share: float, fit: int, mixes: int) -> None:
    answer = work("brush-time", {"wraps": 18, "minutes_each": "1.2", "pot_life": pot_life})
    assert answer.value("minutes") == pytest.approx(21.6)  # common practice, no source: 22 min
    assert answer.value("share_percent") == pytest.approx(share, abs=0.001)
    assert (answer.value("wraps_that_fit"), answer.value("mixes")) == (fit, mixes)
    assert bool(answer.warnings) == (mixes > 1)


@pytest.mark.parametrize(
    ("each", "life", "fit"), [(0.7, 10.0, 10), (0.1, 1.0, 7), (1.05, 30.0, 20), (0.7001, 10.0, 9)]
)
def test_the_last_wrap_that_just_fits_is_counted(each: float, life: float, fit: int) -> None:
    assert brush_time(fit, each, life).wraps_that_fit == fit
    assert brush_time(fit, each, life).mixes == 1
    assert brush_time(fit + 1, each, life).mixes == 2


def test_not_even_one_wrap_fits() -> None:
    answer = work("brush-time", {"wraps": 2, "minutes_each": 8, "pot_life": 10})
    assert (answer.value("wraps_that_fit"), answer.value("mixes")) == (0, None)
    assert answer.warnings[0].startswith("Not even one wrap fits into 70 %")


def test_the_warning_says_how_many_wraps_fit() -> None:
    answer = work("brush-time", {"wraps": 18, "pot_life": 30})
    assert "brush at most 17 wraps from one mix, 2 mixes for 18 wraps" in answer.warnings[0]


BAD: list[tuple[str, dict[str, Any], str, str]] = [
    ("finish-volume", WRAPS | {"od": "0 in"}, "od", "more than nothing"),
    ("finish-volume", WRAPS | {"first_film": "6 in"}, "first_film", "at most"),
    ("finish-volume", WRAPS | {"coats": "1.5"}, "coats", "whole number"),
    ("finish-volume", WRAPS | {"length": "400"}, "length", "has no unit"),
    ("brush-time", {"wraps": 0, "pot_life": 30}, "wraps", "more than nothing"),
    ("brush-time", {"wraps": 18}, "pot_life", "missing"),
    ("brush-time", {"wraps": 18, "pot_life": 30, "most_share": 101}, "most_share", "at most 100"),
]


@pytest.mark.parametrize(("name", "typed", "field", "sentence"), BAD)
def test_refuses_what_cannot_be(name: str, typed: dict[str, Any], field: str, sentence: str) -> None:
    with pytest.raises(SumFault) as fault:
        work(name, typed)
    assert list(fault.value.errors) == [field]
    assert sentence in fault.value.errors[field]


def test_the_plain_sums_refuse_too() -> None:
    for refused, field in (
        (lambda: coat_ml(1, 1, 0), "film"),
        (lambda: coat_ml(1, 1, 1, -1), "thread"),
        (lambda: area_mm2(1, 0), "length"),
        (lambda: void_depth_nm(0), "thread"),
        (lambda: brush_time(1, 1.0, float("nan")), "pot_life"),
        (lambda: brush_time(1, 1.0, 30.0, 101.0), "most_share"),
    ):
        with pytest.raises(SumFault) as fault:
            refused()
        assert list(fault.value.errors) == [field]
