"""The guide calculators as they are filled in at the bench: typed text in, figures and working out."""

from typing import Any

import pytest

from shop.craft.faults import SumFault
from shop.craft.lengths import format_inches, parse_length
from shop.craft.sums.base import Outcome, Sum
from shop.craft.sums.guide_heights import GUIDE_HEIGHTS, SAFE_GAP
from shop.craft.sums.guides import GUIDE_COUNT, GUIDE_SPACING, GUIDES_CLEAR_OF_FERRULES
from shop.craft.sums.reading import read_inputs

FERRULES = [{"from_tip": "27 in"}, {"from_tip": "54 in"}, {"from_tip": "81 in"}]
FLY = {"count": "10", "last": "78 in", "ferrules": FERRULES}
SPINNING = {
    "spool_height": "2.20 in",
    "spool_diameter": "1 3/4 in",
    "guides": [
        {"from_spool": "18 in"},
        {"from_spool": "29 in"},
        {"from_spool": "37 in"},
        {"from_spool": "50 in"},
    ],
}


def inch(text: str) -> int:
    return parse_length(text, "in")


def worked(calculator: Sum, given: dict[str, Any]) -> Outcome:
    return calculator.work(read_inputs(calculator, given))


def column(outcome: Outcome, table: str, number: int) -> list[Any]:
    return [row[number] for row in outcome.value(table)]


def test_guide_count() -> None:
    outcome = worked(
        GUIDE_COUNT, {"length": "7 ft", "rod_kind": "casting", "running": "40 in", "last": "52 in"}
    )
    assert [row[2:4] for row in outcome.value("rules")] == [(8, 8), (9, 10), (10, 11), (9, 9)]
    assert "one every 5 in from a first at 4 in from the tip: 10.6, so 10 to 11 (trade-library article)" in (
        outcome.working
    )


def test_guide_count_asks_for_the_length_alone() -> None:
    assert [row[2:4] for row in worked(GUIDE_COUNT, {"length": "9 ft"}).value("rules")] == [(10, 10)]


def test_guide_spacing_from_both_ends() -> None:
    outcome = worked(GUIDE_SPACING, {"count": "9", "first": "4 in", "last": "52 in", "blank_length": "7 ft"})
    from_tip, from_butt = column(outcome, "guides", 1), column(outcome, "guides", 2)
    assert [format_inches(at, 16) for at in from_tip] == [
        "4", "8 7/16", "13 5/16", "18 11/16", "24 7/16", "30 11/16", "37 5/16", "44 7/16", "52",
    ]  # fmt: skip
    assert [tip + butt for tip, butt in zip(from_tip, from_butt, strict=True)] == [inch("84")] * 9
    assert column(outcome, "guides", 4) == [None] * 9
    assert format_inches(outcome.value("step")) == "7/16"
    assert outcome.working[0].endswith("÷ (9 × 8) = 0.4444 in (11.29 mm)")
    assert outcome.working[-1] == "guide 9 = 9 × first + 36 × d = 52 in (1320.8 mm) from the tip"
    assert outcome.warnings == ()


def test_guide_spacing_of_one_guide() -> None:
    outcome = worked(GUIDE_SPACING, {"count": "1", "first": "5 in", "last": "5 in"})
    assert outcome.value("guides") == ((1, inch("5"), None, inch("5"), None),)
    assert len(outcome.working) == 1


def test_guide_spacing_warns_of_ferrules() -> None:
    outcome = worked(GUIDE_SPACING, FLY)
    assert [warning.split(" from the tip")[0] for warning in outcome.warnings[:2]] == [
        "Guide 5 at 28 7/16 in (722.49 mm)",
        "Guide 8 at 55 41/64 in (1413.37 mm)",
    ]
    assert "do not nudge" in outcome.warnings[2]
    assert min(column(outcome, "guides", 4)) == inch("28") + 11_288_889 - inch("27")


def test_guides_clear_of_ferrules() -> None:
    outcome = worked(GUIDES_CLEAR_OF_FERRULES, {**FLY, "clear": "2 1/2 in", "blank_length": "108 in"})
    assert outcome.value("first") == inch("4 1/2")
    assert outcome.value("nearest") == min(column(outcome, "guides", 4)) >= inch("2 1/2")
    assert column(outcome, "guides", 1)[-1] == inch("78")
    assert column(outcome, "guides", 2)[-1] == inch("30")
    assert outcome.working[0].startswith("With 4 in (101.6 mm): Guide 5 at 28 7/16 in")
    assert "Nearest first gap that is clear: 4 1/2 in (114.3 mm)" in outcome.working[2]


def test_guides_clear_of_ferrules_says_where_nothing_moved() -> None:
    outcome = worked(GUIDES_CLEAR_OF_FERRULES, {**FLY, "clear": "1 in"})
    assert outcome.working[0] == "The wanted first gap, 4 in (101.6 mm), keeps every guide clear."
    shrinking = worked(GUIDES_CLEAR_OF_FERRULES, {**FLY, "first": "8 in", "clear": "1/4 in"})
    assert shrinking.value("first") <= inch("7.8")
    assert "shrink toward the butt: 10 × 8 in" in shrinking.working[0]


def test_guide_heights() -> None:
    stock = [{"name": "big", "centre_height": "30 mm"}, {"name": "small", "centre_height": "12.0 mm"}]
    outcome = worked(
        GUIDE_HEIGHTS, {**SPINNING, "stock": stock, "spool_from_butt": "14 in", "blank_length": "7 ft"}
    )
    assert outcome.value("choke") == inch("47 1/4")
    # Common practice, no source: 34.6, 21.6 and 12.1 mm.
    wanted = [None if nm is None else round(nm / 1_000_000, 1) for nm in column(outcome, "guides", 4)]
    assert wanted == [34.6, 21.6, 12.1, None]
    assert column(outcome, "guides", 2) == [inch(at) for at in ("32", "43", "51", "64")]
    assert column(outcome, "guides", 3) == [inch(at) for at in ("52", "41", "33", "20")]
    assert column(outcome, "guides", 5) == ["big", "big", "small", "small"]
    off = [None if nm is None else round(nm / 1_000_000, 1) for nm in column(outcome, "guides", 7)]
    assert off == [-4.6, 8.4, -0.1, None]
    assert outcome.warnings == (
        "Guide 1 wants 1.3619 in (34.59 mm); the tallest at hand has 1.1811 in (30 mm).",
    )
    assert outcome.working[-1].endswith("at or beyond the choke, an equal small runner")


def test_guide_heights_without_a_blank_or_guides_at_hand() -> None:
    outcome = worked(GUIDE_HEIGHTS, SPINNING)
    assert [row[2:4] + row[5:] for row in outcome.value("guides")] == [(None,) * 5] * 4
    assert outcome.warnings == ()


def test_a_stated_choke_goes_before_the_rule_of_thumb() -> None:
    outcome = worked(GUIDE_HEIGHTS, {**SPINNING, "choke": "44 in"})
    assert outcome.value("choke") == inch("44")
    assert "27 × 1 3/4 in (44.45 mm) = 47 1/4 in" in outcome.working[0]
    without = worked(GUIDE_HEIGHTS, {**SPINNING, "spool_diameter": "", "choke": "44 in"})
    assert without.value("guides") == outcome.value("guides")


def test_safe_gap() -> None:
    outcome = worked(SAFE_GAP, {"radius": "20 in", "ring_height": "0.30 in", "span": "6 in"})
    assert outcome.value("left") == inch("0.075")
    assert outcome.value("needed") == inch("0.225")
    assert f"{outcome.value('longest') / inch('1'):.1f}" == "6.9"
    # By hand: 20.3 × cos 0.15 − 20 = 0.0721, and 40 × arccos(20/20.3) = 6.885 in.
    assert f"{outcome.value('left_on_arc') / inch('1'):.4f}" == "0.0721"
    assert f"{outcome.value('longest_on_arc') / inch('1'):.3f}" == "6.885"
    assert outcome.value("clears") is True
    assert outcome.warnings == ()


def test_safe_gap_that_touches() -> None:
    outcome = worked(SAFE_GAP, {"radius": "20 in", "ring_height": "0.30 in", "span": "7 1/2 in"})
    assert outcome.value("clears") is False
    assert "touches the blank" in outcome.warnings[0]
    # Clear by the rule, touching on the true arc, which is what counts: 6.9 in is beyond 6.885.
    between = worked(SAFE_GAP, {"radius": "20 in", "ring_height": "0.30 in", "span": "6.9 in"})
    assert between.value("left") > 0
    assert between.value("clears") is False


def test_safe_gap_without_a_span() -> None:
    outcome = worked(SAFE_GAP, {"radius": "500 mm", "ring_height": "8 mm"})
    assert [figure.name for figure in outcome.figures] == ["longest", "longest_on_arc"]


@pytest.mark.parametrize(
    ("calculator", "given", "name", "words"),
    [
        (GUIDE_COUNT, {"length": "7"}, "length", "no unit"),
        (GUIDE_COUNT, {"length": "7 ft", "running": "8 ft"}, "running", "within the rod"),
        (GUIDE_SPACING, {"count": "9.5", "last": "52 in"}, "count", "whole number"),
        (GUIDE_SPACING, {"count": "61", "last": "52 in"}, "count", "at most 60"),
        (GUIDE_SPACING, {"count": "9", "first": "6 in", "last": "52 in"}, "first", "at most 8 guides"),
        (GUIDE_SPACING, {"count": "9", "last": "52 in", "blank_length": "52 in"}, "last", "beyond the blank"),
        (
            GUIDE_SPACING,
            {**FLY, "blank_length": "81 in"},
            "ferrules.3.from_tip",
            "Ferrule 3, 81 in (2057.4 mm) from the tip, lies beyond",
        ),
        (GUIDES_CLEAR_OF_FERRULES, {**FLY, "ferrules": []}, "ferrules", "missing"),
        (GUIDES_CLEAR_OF_FERRULES, {**FLY, "step": "0 in"}, "step", "more than nothing"),
        (GUIDES_CLEAR_OF_FERRULES, {**FLY, "step": "0.001 mm"}, "step", "too many to try"),
        (GUIDES_CLEAR_OF_FERRULES, {**FLY, "range": "0 in"}, "first", "another number of guides"),
        (GUIDE_HEIGHTS, {**SPINNING, "spool_diameter": ""}, "spool_diameter", "or the distance of the choke"),
        (
            GUIDE_HEIGHTS,
            {**SPINNING, "guides": [{"from_spool": "inf"}]},
            "guides.1.from_spool",
            "not known here",
        ),
        (
            GUIDE_HEIGHTS,
            {**SPINNING, "spool_from_butt": "30 in", "blank_length": "80 in"},
            "guides.4.from_spool",
            "Guide 4 would stand 80 in (2032 mm) from the butt",
        ),
        (SAFE_GAP, {"radius": "2 in", "ring_height": "0.3 in", "span": "7 in"}, "span", "half a circle"),
    ],
)
def test_what_cannot_be_is_refused(calculator: Sum, given: dict[str, Any], name: str, words: str) -> None:
    with pytest.raises(SumFault) as caught:
        worked(calculator, given)
    assert set(caught.value.errors) == {name}
    assert words in caught.value.errors[name]
