"""Edits of a sequence, pure: each gives a new sequence and leaves the old one alone.

The `order` holds follow: a renamed stage is renamed in them, and where a stage goes or moves, whoever
waited for it waits for what still comes before. Each raises `LookupError` for a stage that is not there.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

from shop.rules.sequences import Hold, HoldKind, Record, Sequence, Stage

T = TypeVar("T")


def add_stage(sequence: Sequence, name: str, after: str) -> Sequence:
    """Add a stage after another (at the start where `after` is empty), waiting for the one before it."""
    stages = list(sequence.stages)
    at = 0 if not after else _place(sequence, after) + 1
    holds = (Hold(HoldKind.ORDER, stages=(stages[at - 1].name,)),) if at else ()
    stages.insert(at, Stage(name, holds=holds))
    return replace(sequence, stages=tuple(stages))


def rename_stage(sequence: Sequence, old: str, new: str) -> Sequence:
    """Give a stage another name, in the holds that name it too."""
    _place(sequence, old)

    def renamed(stage: Stage) -> Stage:
        holds = tuple(
            replace(hold, stages=tuple(new if name == old else name for name in hold.stages))
            for hold in stage.holds
        )
        return replace(stage, name=new if stage.name == old else stage.name, holds=holds)

    return replace(sequence, stages=tuple(renamed(stage) for stage in sequence.stages))


def move_stage(sequence: Sequence, name: str, by: int) -> Sequence:
    """Move a stage up (`by` below 0) or down, as far as the ends allow."""
    stages = list(sequence.stages)
    at = _place(sequence, name)
    stage = stages.pop(at)
    stages.insert(min(max(0, at + by), len(stages)), stage)
    return _with_order_that_can_be(replace(sequence, stages=tuple(stages)))


def remove_stage(sequence: Sequence, name: str) -> Sequence:
    """Take a stage out; whoever waited for it waits for what it waited for."""
    gone = sequence.stages[_place(sequence, name)]
    before = tuple(n for hold in gone.holds if hold.kind is HoldKind.ORDER for n in hold.stages)

    def rewired(hold: Hold) -> Hold:
        if name not in hold.stages:
            return hold
        kept = [n for n in hold.stages if n != name]
        return replace(hold, stages=tuple(dict.fromkeys([*kept, *before])))

    stages = [
        replace(stage, holds=tuple(rewired(hold) for hold in stage.holds))
        for stage in sequence.stages
        if stage.name != name
    ]
    return _with_order_that_can_be(replace(sequence, stages=tuple(stages)))


def change_stage(sequence: Sequence, name: str, change: Callable[[Stage], Stage]) -> Sequence:
    """Put a changed stage in the place of the one of that name."""
    at = _place(sequence, name)
    stages = list(sequence.stages)
    stages[at] = change(stages[at])
    return replace(sequence, stages=tuple(stages))


def add_hold(sequence: Sequence, name: str, hold: Hold) -> Sequence:
    """Add a hold to a stage."""
    return change_stage(sequence, name, lambda stage: replace(stage, holds=(*stage.holds, hold)))


def remove_hold(sequence: Sequence, name: str, position: int) -> Sequence:
    """Take a hold off a stage, by its place among the stage's holds."""
    return change_stage(sequence, name, lambda stage: replace(stage, holds=_without(stage.holds, position)))


def add_record(sequence: Sequence, name: str, record: Record) -> Sequence:
    """Have something more recorded on reaching a stage."""
    return change_stage(sequence, name, lambda stage: replace(stage, records=(*stage.records, record)))


def remove_record(sequence: Sequence, name: str, position: int) -> Sequence:
    """Have something no longer recorded, by its place among the stage's records."""
    return change_stage(
        sequence, name, lambda stage: replace(stage, records=_without(stage.records, position))
    )


def _without(items: tuple[T, ...], position: int) -> tuple[T, ...]:
    return tuple(item for place, item in enumerate(items) if place != position)


def _place(sequence: Sequence, name: str) -> int:
    for place, stage in enumerate(sequence.stages):
        if stage.name == name:
            return place
    raise LookupError(f"“{name}” is not a stage of this sequence.")


def _with_order_that_can_be(sequence: Sequence) -> Sequence:
    """Every stage waits only for stages before it; one left without any waits for its neighbour."""
    stages: list[Stage] = []
    for stage in sequence.stages:
        before = [earlier.name for earlier in stages]
        holds: list[Hold] = []
        for hold in stage.holds:
            if hold.kind is not HoldKind.ORDER:
                holds.append(hold)
                continue
            still = tuple(name for name in hold.stages if name in before) or tuple(before[-1:])
            if still:
                holds.append(replace(hold, stages=still))
        stages.append(replace(stage, holds=tuple(holds)))
    return replace(sequence, stages=tuple(stages))
