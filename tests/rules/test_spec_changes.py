"""Until when what may be changed: the stage that closes each topic, and what comes too late."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest

from shop.rules.facts import ApprovalFact, Reached
from shop.rules.ready_made import READY_MADE
from shop.rules.sequences import USES, Sequence, Stage
from shop.rules.spec import FIELDS
from shop.rules.spec_changes import (
    TOPICS,
    Openness,
    openness,
    rework_waits_for,
    reworked_fields,
    still_changeable,
)
from tests.rules.builders import CLOSED
from tests.rules.test_spec import CAP, REAR, SEAT, WHOLE

SHORT = Sequence(
    "short", "casting",
    (
        Stage("agreed", "Your order is agreed."),
        Stage("parts in hand"),
        Stage("blank checked", uses=("blank",)),
        Stage("fitted", "The handle is mocked up.", uses=("grip", "arbor")),
        Stage("laid out", "The guides are set.", uses=("guide", "tip-top")),
        Stage("wrapped", "It is wrapped.", uses=("thread",)),
        Stage("touched up", uses=("thread",)),
        Stage("handed over", "Handed over."),
    ),
)  # fmt: skip
NAMES = [stage.name for stage in SHORT.stages]


def at(*names: str) -> Mapping[str, Reached]:
    """These stages reached, in the order they are named."""
    return {name: Reached(CLOSED, "Nell") for name in names}


def up_to(name: str) -> Mapping[str, Reached]:
    return at(*NAMES[: NAMES.index(name) + 1])


def state(topic: str, reached: Mapping[str, Reached], sequence: Sequence = SHORT) -> Openness:
    return next(item for item in openness(sequence, reached) if item.topic.name == topic)


@pytest.mark.parametrize(
    ("topic", "last_open", "closes_with", "used_at"),
    [
        ("blank", "agreed", "parts in hand", "blank checked"),
        ("grips", "parts in hand", "blank checked", "fitted"),
        ("guides", "blank checked", "fitted", "laid out"),
        ("threads", "fitted", "laid out", "wrapped"),
        # Nothing of this sequence uses them up, and wishes are never used up.
        ("inscription", "touched up", "handed over", ""),
        ("wishes", "touched up", "handed over", ""),
    ],
)
def test_a_topic_closes_when_the_stage_that_uses_it_can_begin(
    topic: str, last_open: str, closes_with: str, used_at: str
) -> None:
    for reached in (at(), up_to(last_open)):
        still = state(topic, reached)
        assert (still.is_open, still.closes_with, still.used_at, still.closed_at) == (
            True, closes_with, used_at, None,
        )  # fmt: skip
        assert still.says.startswith(f"Open until “{closes_with}” is logged")
    for name in NAMES[NAMES.index(closes_with) :]:
        closed = state(topic, up_to(name))
        assert (closed.is_open, closed.closes_with, closed.closed_at) == (False, closes_with, CLOSED)
        assert closed.says.endswith("A change now is a priced rework.")


@pytest.mark.parametrize(
    ("reached", "is_open", "closes_with"),
    [
        # Sent back to before the step: the wraps come off, and their colour is free again.
        (at("agreed", "parts in hand", "blank checked", "fitted"), True, "laid out"),
        # Out of order: the step itself was done, or the one before it.
        (at("agreed", "wrapped"), False, "wrapped"),
        (at("laid out"), False, "laid out"),
        (at("touched up"), False, "touched up"),
    ],
)
def test_what_was_done_closes_it_in_whatever_order(
    reached: Mapping[str, Reached], is_open: bool, closes_with: str
) -> None:
    still = state("threads", reached)
    assert (still.is_open, still.closes_with) == (is_open, closes_with)


def test_a_first_stage_has_begun_when_it_is_reached() -> None:
    sequence = Sequence("one", "casting", (Stage("checked", uses=("blank",)), Stage("done")))
    assert state("blank", at(), sequence).is_open
    assert not state("blank", at("checked"), sequence).is_open


@pytest.mark.parametrize(
    ("changes", "after", "rework"),
    [
        ({"thread_colour": "#2f6b3a", "trim_name": "silver"}, "fitted", ()),
        ({"thread_colour": "#2f6b3a", "trim_name": "silver"}, "laid out", ("thread_colour", "trim_name")),
        ({"handle": (replace(REAR, said="foam"), SEAT, CAP)}, "parts in hand", ()),
        ({"handle": (replace(REAR, said="foam"), SEAT, CAP)}, "blank checked", ("grips",)),
        # The seat is used nowhere here; the title is the shop's own and never closes.
        ({"handle": (REAR, CAP), "title": "8 ft"}, "touched up", ()),
        ({"inscription_again": ""}, "handed over", ()),
        ({"wishes": "none"}, "touched up", ()),
        ({"wishes": "none"}, "handed over", ("wishes",)),
    ],
)
def test_what_changes_too_late_is_a_rework(
    changes: dict[str, Any], after: str, rework: tuple[str, ...]
) -> None:
    assert reworked_fields(WHOLE, replace(WHOLE, **changes), SHORT, up_to(after)) == rework


@pytest.mark.parametrize(
    ("asked_by", "approval", "waits_for"),
    [
        ("customer", None, "A quote with its price."),
        ("customer", ApprovalFact(3), "A quote with its price."),
        ("customer", ApprovalFact(3, quoted=2, agreed=2), "A quote with its price."),
        ("customer", ApprovalFact(3, quoted=3, agreed=2), "The customer's yes to the quote."),
        ("customer", ApprovalFact(3, quoted=3, agreed=3), ""),
        # A yes to a later revision is one to all that came before.
        ("customer", ApprovalFact(5, quoted=4, agreed=4), ""),
        ("shop", ApprovalFact(3, quoted=2, agreed=2), ""),
    ],
)
def test_a_rework_waits_for_its_price_and_for_the_yes(
    asked_by: str, approval: ApprovalFact | None, waits_for: str
) -> None:
    assert rework_waits_for(3, asked_by, approval) == waits_for


@pytest.mark.parametrize(
    ("topic", "reached", "is_open", "words"),
    [
        ("the colour of the wraps", at(), True, "Until you read here: “The guides are set.”"),
        ("the colour of the wraps", up_to("fitted"), True, "Until you read here: “The guides are set.”"),
        ("the colour of the wraps", up_to("laid out"), False, "with a price of its own"),
        # Of the stage that closes it the customer hears nothing, so the one before it is named.
        ("the grips", at(), True, "Until you read here: “Your order is agreed.”"),
        ("the grips", up_to("agreed"), True, "For a short time only"),
        ("the grips", up_to("blank checked"), False, "with a price of its own"),
        ("anything else you wish for", up_to("touched up"), True, "Until your rod is handed over."),
    ],
)  # fmt: skip
def test_the_customer_reads_until_when_in_their_own_words(
    topic: str, reached: Mapping[str, Reached], is_open: bool, words: str
) -> None:
    line = next(item for item in still_changeable(SHORT, reached) if item.label == topic)
    assert line.is_open is is_open
    assert words in line.words


def test_a_customer_hears_nothing_of_a_stage_without_words_nor_of_what_is_never_used() -> None:
    labels = [item.label for item in still_changeable(SHORT, at())]
    assert "the inscription" not in labels
    assert "anything else you wish for" in labels
    silent = Sequence("silent", "casting", (Stage("begun"), Stage("wrapped", uses=("thread",))))
    assert next(item.words for item in still_changeable(silent, at())) == "Until we begin."


def test_every_topic_names_what_stages_use_and_every_field_has_a_topic() -> None:
    used = [use for topic in TOPICS for use in topic.uses]
    assert len(set(used)) == len(used)
    # What nobody orders by itself comes with the guides' wraps.
    assert set(USES) - set(used) == {"ferrule", "keeper", "other"}
    topics = {topic.name for topic in TOPICS}
    assert {field.topic for field in FIELDS} == topics | {""}
    shops_own = [field.name for field in FIELDS if not field.topic]
    assert shops_own == ["inscription_again", "title", "rod_kind"]


@pytest.mark.parametrize("sequence", READY_MADE, ids=lambda sequence: sequence.rod_kind)
def test_the_ready_made_sequences_close_what_they_use_before_it_is_used(sequence: Sequence) -> None:
    names = [stage.name for stage in sequence.stages]
    for item in openness(sequence, {}):
        assert item.is_open
        if item.used_at:
            assert names.index(item.closes_with) == names.index(item.used_at) - 1
