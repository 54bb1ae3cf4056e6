"""Until when a customer may change what: the earliest instant at which that can end, with its boundaries."""

from datetime import datetime

import pytest

from shop.rules.facts import Facts
from shop.rules.last_changes import COLOUR, earliest, last_changes
from shop.rules.sequences import Hold, HoldKind, Sequence, Stage
from tests.rules.builders import CLOSED, after, cure, makes, reached, with_cures


def waits_for(stage: str) -> Hold:
    return Hold(HoldKind.ORDER, stages=(stage,))


HARD = Hold(HoldKind.FULL_CURE, places=("rear grip",))
SEQUENCE = Sequence(
    "casting", "casting",
    (
        Stage("agreed", "Agreed."),
        Stage("glued", "The handle is on.", records=makes("rear grip")),
        Stage("hard", holds=(waits_for("glued"), HARD)),
        Stage("laid out", holds=(waits_for("hard"),), uses=("guide",)),
        Stage("wrapped", "Wrapped.", holds=(waits_for("laid out"),), uses=("thread",)),
        Stage("handed over", "Yours.", holds=(waits_for("wrapped"),)),
    ),
)  # fmt: skip
GLUED = with_cures(cure(), reached=reached("agreed", "glued"))


@pytest.mark.parametrize(
    ("facts", "now", "stage", "at"),
    [
        (GLUED, CLOSED, "hard", after(24)), (GLUED, CLOSED, "laid out", after(24)),
        (GLUED, CLOSED, "handed over", after(24)), (GLUED, after(23.999), "laid out", after(24)),
        (GLUED, after(24), "laid out", None), (GLUED, CLOSED, "agreed", None),
        (with_cures(cure(full_at=None), reached=reached("agreed", "glued")), CLOSED, "laid out", None),
        (Facts(reached=reached("agreed")), CLOSED, "laid out", None), (Facts(), CLOSED, "no such", None),
        (with_cures(cure(), reached=reached("agreed", "glued", "hard")), CLOSED, "laid out", None),
    ],
)  # fmt: skip
def test_a_stage_waits_for_what_those_before_it_wait_for(
    facts: Facts, now: datetime, stage: str, at: datetime | None
) -> None:
    assert earliest(SEQUENCE, facts, stage, now) == at


def test_a_circle_of_orders_ends() -> None:
    circle = Sequence(
        "odd", "casting", (Stage("a", holds=(waits_for("b"),)), Stage("b", holds=(waits_for("a"),)))
    )
    assert earliest(circle, Facts(), "a", CLOSED) is None


def test_the_colour_comes_first_and_keeps_open_until_wrapping_can_begin() -> None:
    colour, *others = last_changes(SEQUENCE, GLUED, CLOSED)
    assert (colour.topic, colour.label, colour.is_open) == (COLOUR, "the colour of the wraps", True)
    assert colour.not_before == after(24)
    assert "The handle is on." in colour.words or "For a short time" in colour.words
    assert {change.topic for change in others} == {"guides", "wishes"}
    laid = with_cures(cure(), reached=reached("agreed", "glued", "hard", "laid out"))
    colour, guides, wishes = last_changes(SEQUENCE, laid, after(30))
    assert [(change.is_open, change.not_before) for change in (colour, guides, wishes)] == [
        (False, None), (False, None), (True, None),
    ]  # fmt: skip
    assert "a price of its own" in colour.words
