"""Edits of a sequence, pure: each gives a new sequence and leaves the old one alone.

The `order` holds follow, so that a chain of stages stays a chain: a renamed stage is renamed in them; a
new or moved stage waits for the one before it, and the next one, where it waited for that, waits for the
new one; where a stage goes, whoever waited for it waits for what it waited for. A stage that does not
simply wait for its neighbour keeps its holds when it moves, as far as they can still be. Each edit raises
`LookupError` for a stage that is not there.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

from shop.rules.sequences import Hold, HoldKind, Record, Sequence, Stage

T = TypeVar("T")


def add_stage(sequence: Sequence, name: str, after: str) -> Sequence:
    """Link a stage in after another (at the start where `after` is empty)."""
    at = 0 if not after else _place(sequence, after) + 1
    return replace(sequence, stages=_linked_in(sequence.stages, at, Stage(name)))


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
    at = _place(sequence, name)
    to = min(max(0, at + by), len(sequence.stages) - 1)
    if to == at:
        return sequence
    stage, others = sequence.stages[at], (*sequence.stages[:at], *sequence.stages[at + 1 :])
    before = tuple(other.name for other in sequence.stages[max(0, at - 1) : at])
    if _waited_for(stage) == before:
        # A link of the chain: its neighbours close up, and it is linked in anew where it comes to stand.
        others = (
            *others[:at],
            *(_waiting(other, name, before) for other in others[at : at + 1]),
            *others[at + 1 :],
        )
        stages = _linked_in(others, to, replace(stage, holds=_without_order(stage)))
    else:
        stages = (*others[:to], stage, *others[to:])
    return _with_order_that_can_be(replace(sequence, stages=stages))


def remove_stage(sequence: Sequence, name: str) -> Sequence:
    """Take a stage out; whoever waited for it waits for what it waited for."""
    gone = sequence.stages[_place(sequence, name)]
    rest = (stage for stage in sequence.stages if stage is not gone)
    stages = tuple(_waiting(stage, name, _waited_for(gone)) for stage in rest)
    return _with_order_that_can_be(replace(sequence, stages=stages))


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


def _waited_for(stage: Stage) -> tuple[str, ...]:
    """The stages that a stage's `order` holds name."""
    return tuple(name for hold in stage.holds if hold.kind is HoldKind.ORDER for name in hold.stages)


def _without_order(stage: Stage) -> tuple[Hold, ...]:
    return tuple(hold for hold in stage.holds if hold.kind is not HoldKind.ORDER)


def _waiting(stage: Stage, old: str, new: tuple[str, ...]) -> Stage:
    """A stage that waits for `new` where it waited for `old`; for nothing, where nothing is left."""
    holds = []
    for hold in stage.holds:
        if old not in hold.stages:
            holds.append(hold)
            continue
        names = (name for known in hold.stages for name in (new if known == old else (known,)))
        still = tuple(dict.fromkeys(names))
        if still:
            holds.append(replace(hold, stages=still))
    return replace(stage, holds=tuple(holds))


def _linked_in(stages: tuple[Stage, ...], at: int, new: Stage) -> tuple[Stage, ...]:
    """Stages with a new one among them: it waits for the one before, and the next waits for it."""
    before, after = stages[:at], stages[at:]
    if before:
        last = before[-1].name
        new = replace(new, holds=(Hold(HoldKind.ORDER, stages=(last,)), *new.holds))
        return (*before, new, *(_waiting(stage, last, (new.name,)) for stage in after[:1]), *after[1:])
    order = Hold(HoldKind.ORDER, stages=(new.name,))
    return (new, *(replace(first, holds=(order, *first.holds)) for first in after[:1]), *after[1:])


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
