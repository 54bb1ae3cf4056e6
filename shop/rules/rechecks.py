"""Which ticks relied on a joint, so that they are asked for again when the joint is done anew.

The stages that were reached stay reached; what was checked on the old joint says nothing of the new one.
How the record keeps them is in `shop.rules.record`; that each holds the rod is `shop.rules.decide`'s.
"""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from shop.rules.facts import CureFact, Facts, Recheck
from shop.rules.joints import joints_at
from shop.rules.sequences import Sequence


def relied_on(
    sequence: Sequence, facts: Facts, joints: Iterable[CureFact], since: datetime
) -> tuple[Recheck, ...]:
    """The ticks that relied on these joints, as they stood, each with the instant since when it is asked for.

    A tick relied on a joint if it was given at the stage that makes the joint or at a later one, whether
    that is reached or was ticked ahead. Of two places a tick is asked for once, for the first.
    """
    joints = list(joints)
    ids = {joint.id for joint in joints}
    stood = tuple(replace(cure, failed=cure.failed and cure.id not in ids) for cure in facts.cures)
    order = [stage.name for stage in sequence.stages]
    asked: dict[tuple[str, str], Recheck] = {}
    for joint in joints:
        first = order.index(_maker(sequence, replace(facts, cures=stood), joint))
        for tick in facts.ticks:
            if tick.stage in order[first:]:
                again = Recheck(tick.name, tick.stage, joint.place, since)
                asked.setdefault((tick.name, tick.stage), again)
    return tuple(asked.values())


def still_asked(
    rechecks: Iterable[Recheck], ticked: Iterable[str], ticked_at: datetime
) -> tuple[Recheck, ...]:
    """The rechecks that remain when checks of these names are ticked at an instant.

    A tick written down late, for a time before the joint was done anew, was a tick of the old joint.
    """
    names = set(ticked)
    return tuple(again for again in rechecks if again.name not in names or not again.is_cleared_by(ticked_at))


def joint_to_do_anew(facts: Facts, place: str) -> tuple[CureFact, ...]:
    """The last joint or coat at a place that counts, with every cup that went into it; none is empty."""
    joints = joints_at(facts.cures, place)
    return tuple(joints[-1]) if joints else ()


def failed_last(facts: Facts, place: str) -> tuple[CureFact, ...]:
    """The cures at a place that failed and that no joint has taken the place of yet."""
    at_place = [cure for cure in facts.cures if cure.place == place]
    last = max(((cure.closed_at, cure.id) for cure in at_place if not cure.failed), default=None)
    return tuple(c for c in at_place if c.failed and (last is None or (c.closed_at, c.id) > last))


def _maker(sequence: Sequence, facts: Facts, joint: CureFact) -> str:
    """The stage that makes a joint: a joint is closed before its stage is logged, or little after.

    Where no stage closes anything at that place, the first stage that came after it.
    """
    reached = facts.reached
    makers = [stage.name for stage in sequence.stages if joint.place in stage.cure_places()]
    names = makers or [stage.name for stage in sequence.stages]
    logged = [name for name in names if name in reached]
    to_come = [name for name in names if name not in reached]
    since = next((name for name in logged if reached[name].at >= joint.closed_at), None)
    if since is not None:
        return since
    is_next = not makers or len(joints_at(facts.cures, joint.place)) > len(logged)
    return to_come[0] if to_come and (is_next or not logged) else logged[-1]
