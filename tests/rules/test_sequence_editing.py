"""Edits of a sequence: what each gives, and that none can break the order of the stages."""

from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.rules.ready_made import READY_MADE
from shop.rules.sequence_editing import (
    add_hold,
    add_record,
    add_stage,
    change_stage,
    move_stage,
    remove_hold,
    remove_record,
    remove_stage,
    rename_stage,
)
from shop.rules.sequences import Hold, HoldKind, Record, RecordKind, Sequence, Stage
from tests.rules.builders import faults_of


def waits(sequence: Sequence) -> dict[str, tuple[str, ...]]:
    """What each stage's order holds name."""
    return {
        stage.name: tuple(name for hold in stage.holds if hold.kind is HoldKind.ORDER for name in hold.stages)
        for stage in sequence.stages
    }


def chain(*names: str) -> Sequence:
    """Stages of which each waits for the one before it."""
    sequence = Sequence("s", "casting", (Stage(names[0]),))
    for before, name in pairwise(names):
        sequence = add_stage(sequence, name, before)
    return sequence


def after(*names: str) -> Hold:
    return Hold(HoldKind.ORDER, stages=names)


def test_a_new_stage_waits_for_the_one_before_it() -> None:
    sequence = add_stage(chain("a", "b"), "c", "a")
    assert [stage.name for stage in sequence.stages] == ["a", "c", "b"]
    assert waits(sequence) == {"a": (), "c": ("a",), "b": ("c",)}
    assert waits(add_stage(sequence, "z", "")) == {"z": (), "a": ("z",), "c": ("a",), "b": ("c",)}


def test_a_stage_that_waited_for_another_is_left_alone_by_a_new_neighbour() -> None:
    side = change_stage(chain("a", "b", "c"), "c", lambda stage: replace(stage, holds=(after("a"),)))
    assert waits(add_stage(side, "n", "b")) == {"a": (), "b": ("a",), "n": ("b",), "c": ("a",)}


def test_a_new_name_stands_in_the_holds_too() -> None:
    assert waits(rename_stage(chain("a", "b"), "a", "agreed")) == {"agreed": (), "b": ("agreed",)}


def test_who_waited_for_a_removed_stage_waits_for_what_it_waited_for() -> None:
    assert waits(remove_stage(chain("a", "b", "c"), "b")) == {"a": (), "c": ("a",)}
    assert waits(remove_stage(chain("a", "b"), "a")) == {"b": ()}


@pytest.mark.parametrize(
    ("name", "by", "order"),
    [("c", -1, "acb"), ("a", 1, "bac"), ("a", -1, "abc"), ("c", 9, "abc"), ("c", -9, "cab")],
)
def test_a_moved_stage_waits_for_what_is_then_before_it(name: str, by: int, order: str) -> None:
    sequence = move_stage(chain("a", "b", "c"), name, by)
    assert "".join(stage.name for stage in sequence.stages) == order
    assert sequence == chain(*order)


def test_what_is_moved_there_and_back_is_as_it_was() -> None:
    for sequence in READY_MADE:
        for stage in sequence.stages[1:]:
            assert move_stage(move_stage(sequence, stage.name, -1), stage.name, 1) == sequence


def test_a_stage_with_waits_of_its_own_keeps_those_that_can_still_be() -> None:
    own = change_stage(chain("a", "b", "c"), "c", lambda stage: replace(stage, holds=(after("a", "b"),)))
    assert waits(move_stage(own, "c", -1)) == {"a": (), "c": ("a",), "b": ("a",)}
    assert waits(move_stage(own, "c", -2)) == {"c": (), "a": (), "b": ("a",)}
    assert waits(move_stage(own, "b", 1)) == {"a": (), "c": ("a",), "b": ("c",)}


def test_holds_and_records_come_and_go_by_their_place() -> None:
    warm, cure = Hold(HoldKind.WARM), Record(RecordKind.CURE, "rear grip")
    sequence = add_record(add_hold(chain("a", "b"), "b", warm), "b", cure)
    assert sequence.stages[1].holds[1] == warm
    assert sequence.stages[1].cure_places() == ("rear grip",)
    bare = remove_record(remove_hold(sequence, "b", 1), "b", 0)
    assert bare == chain("a", "b")
    assert remove_hold(bare, "b", 7) == bare


@pytest.mark.parametrize("edit", [remove_stage, lambda s, name: move_stage(s, name, 1)])
def test_a_stage_that_is_not_there_cannot_be_edited(edit: Any) -> None:
    with pytest.raises(LookupError, match="is not a stage"):
        edit(chain("a"), "varnished")


EDITS = st.lists(st.tuples(st.sampled_from(["up", "down", "remove", "add"]), st.integers(0, 40)), max_size=12)


@given(st.sampled_from(READY_MADE), EDITS)
def test_no_edit_makes_a_sequence_that_cannot_be(sequence: Sequence, edits: list[tuple[str, int]]) -> None:
    for number, (what, place) in enumerate(edits):
        if len(sequence.stages) < 2:
            break
        name = sequence.stages[place % len(sequence.stages)].name
        if what == "add":
            sequence = add_stage(sequence, f"extra {number}", name)
        elif what == "remove":
            sequence = remove_stage(sequence, name)
        else:
            sequence = move_stage(sequence, name, -1 if what == "up" else 1)
        assert faults_of(sequence) == []
        names = [stage.name for stage in sequence.stages]
        # Ready-made sequences are chains, and no edit lets a stage slip past the one before it.
        assert waits(sequence) == dict(zip(names, [(), *((name,) for name in names)], strict=False))
