"""Where a rod balances, and the weight that moves that to where it is wanted."""

from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from shop.craft.balance import Part, balance_nm, counterweight_g, mass_g
from shop.craft.faults import SumFault
from shop.craft.lengths import NM_PER_INCH, nm_of_mm
from shop.craft.sums.balance import SUMS
from shop.craft.sums.base import Outcome
from shop.craft.sums.reading import read_inputs
from tests.craft.figures import figure

BY_NAME = {calculator.name: calculator for calculator in SUMS}
# Common practice, no source: a 7 ft casting rod, inches from the butt.
PARTS = [
    {"part": part, "mass": f"{mass} g", "position": f"{inches} in"}
    for part, mass, inches in (
        ("Blank", 62, "34"),
        ("Grips", 38, "6"),
        ("Seat", 42, "12"),
        ("Guides and wraps", 11, "55"),
        ("Tip-top", 1, "84"),
        ("Cap", 9, "0.3"),
        ("Epoxy", 10, "9"),
    )
]
ROD: dict[str, Any] = {"parts": PARTS}
WITH_REEL: dict[str, Any] = ROD | {"reel_mass": "210 g", "reel_position": "11 1/2 in"}


def work(name: str, given: dict[str, Any]) -> Outcome:
    """What the calculator answers to what is typed."""
    calculator = BY_NAME[name]
    return calculator.work(read_inputs(calculator, given))


def test_where_a_rod_balances_bare_and_with_its_reel() -> None:
    answer = work("balance", WITH_REEL)
    assert answer.value("mass_g") == 173
    assert answer.value("balance") / NM_PER_INCH == pytest.approx(20.9, abs=0.05)
    assert answer.value("mass_with_reel_g") == 383
    assert answer.value("balance_with_reel") / NM_PER_INCH == pytest.approx(15.8, abs=0.05)
    assert [line.split(":")[0] for line in answer.working] == ["Rod", "With the reel"]


def test_a_rod_without_a_reel_says_nothing_of_one() -> None:
    answer = work("balance", ROD)
    assert answer.value("mass_with_reel_g") is None
    assert answer.value("balance_with_reel") is None
    assert len(answer.working) == 1


def test_the_weight_for_a_wanted_balance() -> None:
    answer = work("counterweight", WITH_REEL | {"target": "14 1/2 in"})
    assert answer.value("counterweight_g") == pytest.approx(34.5, abs=0.05)  # common practice, no source
    assert answer.value("balance_now") / NM_PER_INCH == pytest.approx(15.76, abs=0.01)
    assert answer.value("mass_after_g") == pytest.approx(383 + answer.value("counterweight_g"))
    assert answer.working[1].endswith("= 34.51 g at 1/2 in (12.7 mm)")


def test_moments_of_the_outside_figure() -> None:
    known = figure("cg-balance-weight")  # moment equilibrium
    sizes = known["inputs"]
    bare = Part("rod", sizes["mass_g"], nm_of_mm(sizes["balance_mm"]))
    parts = [bare, Part("reel", sizes["reel_g"], nm_of_mm(sizes["reel_position_mm"]))]
    assert balance_nm(parts) / 1e6 == pytest.approx(known["expected"]["combined_balance_mm"], rel=1e-6)
    weight = counterweight_g(
        parts, nm_of_mm(sizes["target_mm"]), nm_of_mm(sizes["counterweight_position_mm"])
    )
    assert weight == pytest.approx(known["expected"]["counterweight_g"], rel=1e-6)


def test_ounces_are_read_exactly() -> None:
    answer = work("balance", {"parts": [{"mass": "16 oz", "position": "1 in"}]})
    kilograms = figure("unit-lb-kg")["expected"]["kg"]  # NIST SP 811
    assert answer.value("mass_g") == pytest.approx(1000 * kilograms, abs=1e-6)


def test_a_cap_may_lie_behind_the_butt_end() -> None:
    parts = [{"mass": "10 g", "position": "-1 in"}, {"mass": "10 g", "position": "3 in"}]
    assert work("balance", {"parts": parts}).value("balance") == NM_PER_INCH


def test_a_weight_behind_the_butt_end_need_weigh_less() -> None:
    answer = work("counterweight", WITH_REEL | {"target": "14 1/2 in", "weight_position": "-1 in"})
    assert answer.value("counterweight_g") == pytest.approx(34.51 * 14 / 15.5, abs=0.01)
    assert "− (-25.4)" in answer.working[1]


def test_a_rod_that_balances_there_already_needs_no_weight() -> None:
    parts = [{"mass": "10 g", "position": "2 in"}, {"mass": "10 g", "position": "4 in"}]
    answer = work("counterweight", {"parts": parts, "target": "3 in"})
    assert answer.value("counterweight_g") == 0
    assert answer.value("mass_after_g") == 20
    assert answer.warnings == ("It balances there already; no weight is needed.",)


@pytest.mark.parametrize(
    ("target", "place", "sentence"),
    [
        ("17 in", "1/2 in", "already balances further back than 17 in"),
        ("14 in", "15 in", "never all the way"),
        ("14 in", "14 in", "however heavy the weight"),
        ("18 in", "17 in", "never all the way"),
        ("14 in", "30 in", "would not bring that back to 14 in"),
    ],
)
def test_refuses_a_balance_that_no_weight_there_can_bring(target: str, place: str, sentence: str) -> None:
    with pytest.raises(SumFault) as fault:
        work("counterweight", WITH_REEL | {"target": target, "weight_position": place})
    assert list(fault.value.errors) == ["target"]
    assert sentence in fault.value.errors["target"]


def test_a_weight_at_the_balance_itself_moves_nothing() -> None:
    parts = [Part("rod", 100.0, 500)]
    for target_nm in (400, 600):
        with pytest.raises(SumFault, match="would not bring"):
            counterweight_g(parts, target_nm, 500)


MILLIMETRES = st.integers(-50, 3_000).map(lambda mm: mm * 1_000_000)
SOME_PARTS = st.lists(
    st.builds(Part, st.just("part"), st.floats(0.5, 500), MILLIMETRES), min_size=1, max_size=8
)


@settings(max_examples=60)
@given(SOME_PARTS, MILLIMETRES, st.floats(0.02, 0.98))
def test_the_weight_really_moves_the_balance_to_the_target(
    parts: list[Part], place_nm: int, share: float
) -> None:
    now_nm = balance_nm(parts)
    target_nm = round(now_nm + share * (place_nm - now_nm))
    assume(abs(place_nm - now_nm) > 1_000)
    weight = counterweight_g(parts, target_nm, place_nm)
    assert weight > 0
    moved_nm = balance_nm([*parts, Part("weight", weight, place_nm)])
    assert moved_nm == pytest.approx(target_nm, abs=2)


@settings(max_examples=60)
@given(SOME_PARTS, MILLIMETRES, MILLIMETRES)
def test_a_weight_is_above_nothing_or_refused(parts: list[Part], target_nm: int, place_nm: int) -> None:
    now_nm = balance_nm(parts)
    between = min(now_nm, place_nm) < target_nm < max(now_nm, place_nm)
    if between or target_nm == now_nm:
        assert counterweight_g(parts, target_nm, place_nm) >= 0
        return
    with pytest.raises(SumFault) as fault:
        counterweight_g(parts, target_nm, place_nm)
    assert list(fault.value.errors) == ["target"]


@settings(max_examples=60)
@given(SOME_PARTS, SOME_PARTS)
def test_what_is_weighed_together_may_be_weighed_apart(one: list[Part], other: list[Part]) -> None:
    apart = [Part("part", mass_g(parts), balance_nm(parts)) for parts in (one, other)]
    assert balance_nm(apart) == pytest.approx(balance_nm([*one, *other]), abs=2)


BAD: list[tuple[str, dict[str, Any], str, str]] = [
    ("balance", {}, "parts", "at least one row"),
    ("balance", {"parts": [{"mass": "0 g", "position": "1 in"}]}, "parts.1.mass", "more than nothing"),
    ("balance", {"parts": [{"mass": "5", "position": "1 in"}]}, "parts.1.mass", "a mass is asked for"),
    ("balance", {"parts": [{"mass": "5 g", "position": "12"}]}, "parts.1.position", "has no unit"),
    ("balance", ROD | {"reel_mass": "210 g"}, "reel_position", "fill in both or neither"),
    ("balance", ROD | {"reel_position": "11 in"}, "reel_mass", "fill in both or neither"),
    ("counterweight", WITH_REEL, "target", "missing"),
    ("counterweight", WITH_REEL | {"target": "9 m"}, "target", "at most"),
]


@pytest.mark.parametrize(("name", "typed", "field", "sentence"), BAD)
def test_refuses_what_cannot_be(name: str, typed: dict[str, Any], field: str, sentence: str) -> None:
    with pytest.raises(SumFault) as fault:
        work(name, typed)
    assert list(fault.value.errors) == [field]
    assert sentence in fault.value.errors[field]


@pytest.mark.parametrize("mass", [0.0, -1.0, float("nan"), float("inf")])
def test_refuses_a_part_that_weighs_nothing(mass: float) -> None:
    with pytest.raises(SumFault) as fault:
        balance_nm([Part("blank", 60.0, 1), Part("cap", mass, 0)])
    assert list(fault.value.errors) == ["parts.2.mass"]


def test_refuses_a_rod_without_parts() -> None:
    with pytest.raises(SumFault, match="no part to weigh"):
        balance_nm([])
