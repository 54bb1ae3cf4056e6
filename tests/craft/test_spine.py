"""Sides of mark and guides, mean directions against an outside library, spiral layouts, and their sums."""

from collections.abc import Callable
from fractions import Fraction
from itertools import product
from math import inf, nan
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import circmean

from shop.craft.faults import SumFault
from shop.craft.spine import (
    USUAL_RULES,
    GuidesGo,
    Hand,
    Side,
    check_spine,
    even_angles,
    mean_direction,
    question,
    rule_for,
    spiral_angles,
)
from shop.craft.sums.base import Outcome, Sum
from shop.craft.sums.reading import read_inputs
from shop.craft.sums.spine import SPINE, SPINE_READINGS, SPIRAL

TOP, BELOW = Side.TOP, Side.UNDERNEATH


def worked(calculator: Sum, given: dict[str, Any]) -> Outcome:
    return calculator.work(read_inputs(calculator, given))


@pytest.mark.parametrize(
    ("kind", "guides", "reel"),
    # Common practice, no source.
    [
        ("casting", "on the mark", "top"),
        ("boat", "on the mark", "top"),
        ("spinning", "opposite the mark", "underneath"),
        ("fly", "opposite the mark", "underneath"),
        ("surf", "opposite the mark", "underneath"),
    ],
)
def test_the_usual_rule_of_a_kind(kind: str, guides: str, reel: str) -> None:
    rule = rule_for(kind)
    assert (rule.guides, rule.reel_side) == (guides, reel)
    assert rule.trigger_side == (BELOW if reel == "top" else None)
    # A loaded rod bends down, so the outside of the bend, where the mark is, is on top by every usual rule.
    assert rule.mark_side is TOP


def test_only_the_fly_rod_is_noted_as_disputed() -> None:
    assert [kind for kind, rule in USUAL_RULES.items() if rule.note] == ["fly"]
    assert rule_for("fly", GuidesGo.ON_MARK).note == ""


def test_a_reel_on_the_other_side_brings_its_rule() -> None:
    rule = rule_for("surf", reel_side=TOP)
    assert (rule.guides, rule.reel_side, rule.mark_side) == (GuidesGo.ON_MARK, TOP, TOP)
    assert rule_for("surf", GuidesGo.OPPOSITE, TOP).mark_side is BELOW


@pytest.mark.parametrize(
    ("kind", "rule", "mark", "guides", "passes", "words"),
    [
        ("casting", None, TOP, TOP, True, "the guides are on the mark"),
        ("casting", None, BELOW, TOP, False, "Turn the blank half way round under seat and guides"),
        ("casting", None, TOP, BELOW, False, "Move the guides half way round the blank"),
        ("casting", None, BELOW, BELOW, False, "Turn the blank half way round in the seat"),
        ("spinning", None, TOP, BELOW, True, "the guides are opposite the mark"),
        ("spinning", None, BELOW, BELOW, False, "Turn the blank half way round under seat and guides"),
        ("spinning", None, TOP, TOP, False, "Move the guides half way round the blank"),
        ("spinning", None, BELOW, TOP, False, "Turn the blank half way round in the seat"),
        ("fly", GuidesGo.ON_MARK, BELOW, BELOW, True, "the guides are on the mark"),
        ("fly", GuidesGo.ON_MARK, TOP, BELOW, False, "the mark underneath"),
        ("boat", GuidesGo.IGNORED, None, TOP, True, "keep the reason with the rod"),
        ("boat", GuidesGo.IGNORED, BELOW, BELOW, False, "Move the guides half way round the blank"),
    ],
)
def test_two_plain_facts_decide(
    kind: str, rule: GuidesGo | None, mark: Side | None, guides: Side, passes: bool, words: str
) -> None:
    check = check_spine(rule_for(kind, rule), mark, guides)
    assert check.passes is passes
    assert words in check.says


@pytest.mark.parametrize(("kind", "rule", "mark", "guides"), list(product(USUAL_RULES, GuidesGo, Side, Side)))
def test_doing_what_is_said_makes_it_right(kind: str, rule: GuidesGo, mark: Side, guides: Side) -> None:
    check = check_spine(rule_for(kind, rule), mark, guides)
    if not check.passes:
        # What turns: the blank under its guides moves the mark alone, the guides on it move alone, or both.
        mark = mark if "Move the guides" in check.says else mark.other
        guides = guides if "under seat and guides" in check.says else guides.other
    assert check_spine(rule_for(kind, rule), mark, guides).passes


def test_the_question_is_plain() -> None:
    assert question(rule_for("spinning")).startswith("The reel hangs below: is the mark on top or underneath")
    assert question(rule_for("boat")).startswith("The reel sits on top: is the mark")
    assert question(rule_for("boat", GuidesGo.IGNORED)) == (
        "The reel sits on top: are the guides on top or underneath?"
    )


@pytest.mark.parametrize(
    ("angles", "mean", "spread", "agree"),
    [
        ([355, 5, 0], 0, 10, True),
        ([355, 5.001, 0], 0.000333, 10.001, False),
        ([10, 20, 30], 20, 20, False),
        ([-4, 356, 716], 356, 0, True),
        ([88, 92, 90, 93], 90.75, 5, True),
        ([179, 181, 180], 180, 2, True),
        # The widest gap is between 90° and 270°, however the readings are ordered.
        ([90, 350, 270, 10], 0, 180, False),
    ],
)
def test_mean_direction(angles: list[float], mean: float, spread: float, agree: bool) -> None:
    found = mean_direction(angles)
    assert found.mean_deg == pytest.approx(mean, abs=2e-4)
    assert (found.spread_deg, found.agree) == (spread, agree)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 359), st.lists(st.integers(-600, 600), min_size=3, max_size=8), st.integers(-3, 3))
def test_the_mean_is_that_of_an_outside_library(centre: int, tenths: list[int], turns: int) -> None:
    angles = [centre + tenth / 10 + 360 * turns for tenth in tenths]
    found = mean_direction(angles)
    outside = float(circmean([angle % 360 for angle in angles], high=360))
    assert min(abs(found.mean_deg - outside), 360 - abs(found.mean_deg - outside)) < 1e-5
    assert found.spread_deg == pytest.approx((max(tenths) - min(tenths)) / 10, abs=1e-6)
    assert found.agree is (max(tenths) - min(tenths) <= 100)


def test_a_spiral_turns_step_by_step() -> None:
    # Common practice, no source: 0°, then 60°, 120°, and the rest at 180°.
    laid = spiral_angles(6, even_angles(2), Hand.LEFT)
    assert [(guide.guide, float(guide.angle_deg), guide.side) for guide in laid] == [
        (1, 0, "top"), (2, 60, "left"), (3, 120, "left"),
        (4, 180, "underneath"), (5, 180, "underneath"), (6, 180, "underneath"),
    ]  # fmt: skip
    assert [guide.clockwise_deg for guide in laid] == [0, 300, 240, 180, 180, 180]
    right = spiral_angles(6, even_angles(2), Hand.RIGHT)
    assert [guide.clockwise_deg for guide in right] == [guide.angle_deg for guide in laid]


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 8), st.integers(2, 8), st.sampled_from(list(Hand)))
def test_a_spiral_begins_on_top_and_never_turns_back(steps: int, more: int, hand: Hand) -> None:
    laid = spiral_angles(steps + more, even_angles(steps), hand)
    angles = [guide.angle_deg for guide in laid]
    assert len(laid) == steps + more
    assert (angles[0], angles[-1]) == (Fraction(0), Fraction(180))
    assert angles == sorted(angles)
    assert {guide.side for guide in laid[1 : 1 + steps]} <= {str(hand)}
    assert angles.count(Fraction(180)) == more - 1


REFUSED: list[tuple[Callable[[], object], str, str]] = [
    (lambda: rule_for("ice"), "rod_kind", "There is no rule for “ice” rods"),
    (lambda: check_spine(rule_for("fly"), None, BELOW), "side_of_mark", "The mark's side is missing"),
    (lambda: mean_direction([10, 12]), "readings", "at least 3 times; there are 2"),
    (lambda: mean_direction([0, 120, 240]), "readings", "all round the blank"),
    (lambda: mean_direction([1, nan, 2]), "readings.2.angle", "Reading 2 is not an angle"),
    (lambda: mean_direction([1, 2, inf]), "readings.3.angle", "Reading 3 is not an angle"),
    (lambda: mean_direction([1, 2, 3], 0), "agree_within", "more than 0°"),
    (lambda: mean_direction([1, 2, 3], 180), "agree_within", "less than 180°"),
    (lambda: even_angles(-1), "transition_count", "fewer than no guides"),
    (lambda: spiral_angles(3, even_angles(2), Hand.LEFT), "count", "which makes 4"),
    (lambda: spiral_angles(9, [Fraction(90), Fraction(60)], Hand.LEFT), "angles.2.angle", "60°"),
    (lambda: spiral_angles(9, [Fraction(0)], Hand.LEFT), "angles.1.angle", "more than the one before"),
    (lambda: spiral_angles(9, [Fraction(180)], Hand.LEFT), "angles.1.angle", "less than 180°"),
]


@pytest.mark.parametrize(("work", "name", "words"), REFUSED)
def test_what_cannot_be_is_refused(work: Callable[[], object], name: str, words: str) -> None:
    with pytest.raises(SumFault) as caught:
        work()
    assert set(caught.value.errors) == {name}
    assert words in caught.value.errors[name]


def test_the_spine_calculator_passes() -> None:
    facts = {"rod_kind": "casting", "side_of_mark": "top", "side_of_guides": "top", "wind": "left"}
    outcome = worked(SPINE, facts)
    assert outcome.value("passes") is True
    assert (outcome.value("trigger_side"), outcome.value("handle_side")) == ("underneath", "left")
    assert outcome.value("mark_side") == "top"
    assert outcome.working == (
        "The reel of this casting rod is on top, so the guides belong on top.",
        "The guides go on the mark, so the mark belongs on top.",
    )
    assert outcome.warnings == ()


def test_the_spine_calculator_says_what_to_do() -> None:
    facts = {"rod_kind": "fly", "side_of_mark": "underneath", "side_of_guides": "underneath"}
    outcome = worked(SPINE, facts)
    assert outcome.value("passes") is False
    assert outcome.value("trigger_side") is None
    assert outcome.warnings == (USUAL_RULES["fly"].note, outcome.value("says"))
    own = worked(SPINE, {**facts, "rule": "on the mark"})
    assert own.value("passes") is True
    assert own.warnings == ()


def test_the_spine_may_be_ignored() -> None:
    outcome = worked(SPINE, {"rod_kind": "boat", "rule": "ignored", "side_of_guides": "top"})
    assert outcome.value("passes") is True
    assert outcome.value("mark_side") is None
    assert "either side" in outcome.working[1]
    on_top = worked(
        SPINE, {"rod_kind": "surf", "reel_side": "top", "side_of_mark": "top", "side_of_guides": "top"}
    )
    assert on_top.value("passes") is True


def test_the_readings_calculator() -> None:
    outcome = worked(SPINE_READINGS, {"readings": [{"angle": "355°"}, {"angle": "-1 deg"}, {"angle": "3°"}]})
    assert outcome.value("mean") == pytest.approx(359, abs=0.01)
    assert (outcome.value("spread"), outcome.value("agree")) == (8, True)
    assert outcome.working[1] == "360° − widest gap between neighbours = 8°, at most 10° is wanted"
    strict = worked(
        SPINE_READINGS,
        {"readings": [{"angle": "355°"}, {"angle": "0°"}, {"angle": "3°"}], "agree_within": "5°"},
    )
    assert strict.warnings == ("The readings lie 8° apart, more than 5°; find the spine again.",)


def test_the_spiral_calculator() -> None:
    outcome = worked(SPIRAL, {"count": "5", "side": "right"})
    assert outcome.value("guides") == (
        ("1", 0.0, "top", 0.0, 5.0),
        ("2", 60.0, "right", 60.0, 5.0),
        ("3", 120.0, "right", 120.0, 5.0),
        ("4", 180.0, "underneath", 180.0, 5.0),
        ("5", 180.0, "underneath", 180.0, 5.0),
        ("tip-top", 180.0, "underneath", 180.0, 5.0),
    )
    assert "60°, 120°, in even steps of 180° ÷ 3 = 60°" in outcome.working[0]
    assert outcome.warnings == ()


def test_the_spiral_calculator_takes_stated_angles() -> None:
    outcome = worked(
        SPIRAL, {"count": "6", "side": "left", "angles": [{"angle": "45.5°"}, {"angle": "150°"}]}
    )
    assert [row[1:4] for row in outcome.value("guides")[1:3]] == [(45.5, "left", 314.5), (150, "left", 210)]
    assert outcome.warnings == (
        "From 45.5° to 150° is a step of 104.5°: look along the line there, it may lie on the blank.",
    )
    straight = worked(SPIRAL, {"count": "6", "side": "left", "transition_count": "0"})
    assert "none on the way round" in straight.working[0]
    assert "step of 180°" in straight.warnings[0]


@pytest.mark.parametrize(
    ("calculator", "given", "name", "words"),
    [
        (SPINE, {"rod_kind": "repair", "side_of_guides": "top"}, "rod_kind", "must be one of casting"),
        (SPINE, {"rod_kind": "fly", "side_of_guides": "top"}, "side_of_mark", "The reel hangs below"),
        (SPINE, {"rod_kind": "fly", "side_of_mark": "top"}, "side_of_guides", "missing"),
        (SPINE_READINGS, {"readings": [{"angle": "355°"}]}, "readings", "there are 1"),
        (SPINE_READINGS, {"readings": [{"angle": "nan"}] * 3}, "readings.1.angle", "nan"),
        (SPINE_READINGS, {"readings": []}, "readings", "missing"),
        (SPIRAL, {"count": "3", "side": "left"}, "count", "too few"),
        (SPIRAL, {"count": "8", "side": "up"}, "side", "must be one of left, right"),
        (SPIRAL, {"count": "8", "side": "left", "angles": [{"angle": "200°"}]}, "angles.1.angle", "200°"),
    ],
)
def test_the_calculators_refuse(calculator: Sum, given: dict[str, Any], name: str, words: str) -> None:
    with pytest.raises(SumFault) as caught:
        worked(calculator, given)
    assert name in caught.value.errors
    assert words in caught.value.errors[name]
