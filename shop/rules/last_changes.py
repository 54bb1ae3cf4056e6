"""Until when a customer may change what, with the earliest instant at which that can end.

A topic closes when a stage is logged (`shop.rules.spec_changes`). A stage cannot be logged before the joints
and coats that it waits for have hardened, nor before the stages that come first; so there may be an instant
before which nothing closes, and the customer can be told its day. Pure.
"""

from datetime import datetime
from typing import NamedTuple

from shop.rules.decide import decide
from shop.rules.facts import Facts
from shop.rules.sequences import HoldKind, Sequence
from shop.rules.spec_changes import openness, still_changeable

COLOUR = "threads"
HARDENING = frozenset({HoldKind.SET, HoldKind.FULL_CURE, HoldKind.RECOAT})


class LastChange(NamedTuple):
    """A topic as the customer reads it; it stays open at least until `not_before`, where that is known."""

    topic: str
    label: str
    is_open: bool
    words: str
    not_before: datetime | None


def last_changes(sequence: Sequence, facts: Facts, now: datetime) -> tuple[LastChange, ...]:
    """Every topic that the sequence uses, the colour of the wraps first, since it is asked for most.

    (That it is asked for most: common practice, no source.)
    """
    kept = [item for item in openness(sequence, facts.reached) if item.used_at or not item.topic.uses]
    told = still_changeable(sequence, facts.reached)
    found = [
        LastChange(
            item.topic.name, said.label, said.is_open, said.words,
            earliest(sequence, facts, item.closes_with, now) if said.is_open else None,
        )
        for item, said in zip(kept, told, strict=True)
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda change: change.topic != COLOUR))


def earliest(sequence: Sequence, facts: Facts, stage: str, now: datetime) -> datetime | None:
    """The earliest instant at which a stage can be reached, as far as what is hardening now says.

    It is the latest at which a joint or coat that the stage waits for has hardened, or one that a stage waits
    for that must come before it; none where nothing that is known keeps it from being reached now. Warmer
    hours than were reckoned with can bring it nearer.
    """
    bounds: list[datetime] = []
    seen: set[str] = set()
    waiting = [stage]
    while waiting:
        name = waiting.pop()
        if name in seen or name in facts.reached:
            continue
        seen.add(name)
        found = sequence.stage(name)
        if found is None:
            continue
        waiting += [first for hold in found.holds if hold.kind is HoldKind.ORDER for first in hold.stages]
        holds = decide(sequence, facts, name, now).holds
        bounds += [hold.clears_at for hold in holds if hold.clears_at is not None and hold.kind in HARDENING]
    return max(bounds, default=None)
