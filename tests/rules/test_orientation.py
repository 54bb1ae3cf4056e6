"""On which side the guides go: the usual rule of each kind of rod, the shop's own, and the words of both."""

import pytest

from shop.craft.spine import USUAL_RULES, GuidesGo
from shop.rules.orientation import (
    AS_IT_CAME,
    faults_of_spine_rules,
    orientation_words,
    own_spine_rules,
    spine_rule,
)
from shop.rules.sequences import ROD_KINDS

AXIS = "This shop goes by the straightest axis"
AS_USUAL = {kind: rule.guides.value for kind, rule in USUAL_RULES.items()}


def test_every_kind_of_rod_but_a_repair_has_a_rule() -> None:
    # Common practice, no source.
    assert {kind: spine_rule(kind, {}) for kind in ROD_KINDS} == {
        "casting": GuidesGo.ON_MARK, "spinning": GuidesGo.OPPOSITE, "fly": GuidesGo.OPPOSITE,
        "surf": GuidesGo.OPPOSITE, "boat": GuidesGo.ON_MARK, "repair": AS_IT_CAME,
    }  # fmt: skip


def test_the_shops_own_rule_goes_before_the_usual_one_for_that_kind_alone() -> None:
    own = {"fly": "on the mark", "repair": "ignored"}
    assert spine_rule("fly", own) == GuidesGo.ON_MARK
    assert spine_rule("spinning", own) == GuidesGo.OPPOSITE
    assert spine_rule("repair", own) == AS_IT_CAME


@pytest.mark.parametrize(
    ("kind", "own", "says"),
    [
        # Common practice, no source.
        ("casting", {}, ("guides go on the marked side, the outside of", "the trigger goes on the inside")),
        ("boat", {}, ("guides go on the marked side",)),
        ("spinning", {}, ("The reel hangs below", "opposite the mark, on the inside")),
        ("fly", {}, ("opposite the mark, on the inside",)),
        ("surf", {}, ("opposite the mark, on the inside",)),
        ("repair", {}, ("As it came in",)),
        ("repair", {"repair": "ignored"}, ("As it came in",)),
        # The trigger is across from the guides, whatever side they are on.
        (
            "casting",
            {"casting": "opposite the mark"},
            ("opposite the mark", "trigger goes on the marked side"),
        ),
        ("fly", {"fly": "on the mark"}, ("The reel hangs below", "guides go on the marked side")),
        ("casting", {"casting": "ignored"}, (AXIS, "on top of it and the trigger below")),
        ("surf", {"surf": "ignored"}, (AXIS, "reel foot and guides hang below it")),
        ("surf", {"fly": "ignored"}, ("opposite the mark, on the inside",)),
    ],
)
def test_the_words_follow_the_rule(kind: str, own: dict[str, str], says: tuple[str, ...]) -> None:
    words = orientation_words(kind, own)
    for part in says:
        assert part in words
    assert (AXIS in words) is (AXIS in says)


def test_only_what_is_not_usual_is_the_shops_own() -> None:
    assert own_spine_rules(AS_USUAL) == {}
    assert own_spine_rules({**AS_USUAL, "fly": "ignored"}) == {"fly": "ignored"}
    assert own_spine_rules({}) == {}


@pytest.mark.parametrize(
    ("rules", "field", "says"),
    [
        ({"repair": "ignored"}, "repair", "There is no rule for “repair” rods; there is for casting, boat"),
        ({"whale": "on the mark"}, "whale", "no rule for “whale” rods"),
        (
            {"fly": "sideways"},
            "fly",
            "“sideways” is not a rule of the spine; use one of on the mark, opposite",
        ),
        ({"fly": ""}, "fly", "“” is not a rule"),
    ],
)
def test_a_rule_that_cannot_be_is_said(rules: dict[str, str], field: str, says: str) -> None:
    faults = faults_of_spine_rules({**AS_USUAL, **rules})
    assert list(faults) == [field]
    assert says in faults[field]
    assert faults_of_spine_rules(AS_USUAL) == {}
