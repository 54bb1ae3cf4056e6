"""Joints and coats closed after every stage that makes one there was logged: what comes next waits."""

from datetime import datetime

import pytest

from shop.rules.facts import CureFact
from shop.rules.holds import ClearedBy
from shop.rules.ready_made import READY_MADE
from shop.rules.sequences import Hold, HoldKind, Sequence, Stage
from tests.rules.builders import (
    CLOSED,
    MINUTE,
    SECOND,
    WRAPS,
    after,
    coat,
    cure,
    failed,
    judge,
    kinds,
    reached,
    stage,
    tacky,
    with_cures,
)

GLUED = stage(name="glued", place="rear grip")
COAT_1 = stage(name="first coat", place=WRAPS)
COAT_2 = stage(name="second coat", place=WRAPS)
HARD = stage(Hold(HoldKind.FULL_CURE, places=(WRAPS,)), name="hard")
INSPECTED, OVER = Stage("inspected"), Stage("handed over")
ALL = (COAT_1, COAT_2, HARD)
DONE = reached("first coat", "second coat", "hard", at=CLOSED - MINUTE)


@pytest.mark.parametrize(
    ("cures", "now", "clears_at"),
    [
        ((), after(1), None),
        ((coat(9),), after(1), after(24)),
        ((coat(9),), after(24) - SECOND, after(24)),
        ((coat(9),), after(24), None),
        ((failed(coat(9)),), after(1), None),
        # Closed as its stage was logged, or before: the stages have asked all that they ask.
        ((coat(9, CLOSED - MINUTE),), after(1), None),
        ((coat(9, CLOSED - MINUTE + SECOND),), after(1), after(24) - MINUTE + SECOND),
        # A soft joint at another place that a stage closed in its time is none of this.
        ((cure(9, "rear grip", CLOSED - MINUTE),), after(1), None),
        # A place that no stage closes is nobody's.
        ((cure(9, "butt cap"),), after(1), None),
    ],
)
def test_a_late_coat_holds_whatever_comes_next(
    cures: tuple[CureFact, ...], now: datetime, clears_at: datetime | None
) -> None:
    when = {**DONE, **reached("glued", at=CLOSED - MINUTE)}
    for target in (INSPECTED, OVER):
        decision = judge(target, with_cures(*cures, reached=when), now, GLUED, *ALL)
        assert kinds(decision) == ([] if clears_at is None else [HoldKind.FULL_CURE])
        assert decision.ready_at == clears_at
        for hold in decision.holds:
            assert hold.reason == "The Stillwater at the guide wraps has not fully cured."
            assert (hold.cleared_by, hold.waivable) == (ClearedBy.TIME, False)


def test_what_is_wrong_with_a_late_coat_is_said() -> None:
    for wrong, kind, by in (
        (tacky(coat(9)), HoldKind.FULL_CURE, ClearedBy.PERSON),
        (coat(9, full_at=None), HoldKind.FULL_CURE, ClearedBy.WORK),
        (coat(9, pot_life_ends_at=CLOSED - SECOND), HoldKind.POT_LIFE, ClearedBy.NEVER),
    ):
        holds = judge(OVER, with_cures(wrong, reached=DONE), after(999), *ALL).holds
        assert [(hold.kind, hold.cleared_by) for hold in holds] == [(kind, by)]


def test_a_stage_to_come_that_waits_for_the_place_is_left_to_ask() -> None:
    """In the ordinary order of work nothing waits earlier than its own stage says."""
    when = reached("first coat", "second coat", at=CLOSED - MINUTE)
    facts = with_cures(coat(9), reached=when)
    assert judge(INSPECTED, facts, after(1), COAT_1, COAT_2, HARD).ready_at is None
    between = (COAT_1, COAT_2, INSPECTED)
    assert judge(HARD, facts, after(1), *between).ready_at == after(24)


def test_a_coat_of_a_stage_still_to_come_holds_nothing_before_it() -> None:
    facts = with_cures(coat(1), reached=reached("first coat", at=CLOSED - MINUTE))
    assert judge(Stage("signed"), facts, after(1), COAT_1).ready_at == after(24)
    assert judge(COAT_2, facts, after(1), COAT_1).allowed


def test_a_joint_done_anew_is_asked_what_the_stages_reached_asked() -> None:
    pushed = stage(Hold(HoldKind.SET, places=("rear grip",)), name="pushed")
    when, anew = reached("glued", "pushed", at=CLOSED - MINUTE), frozenset({"rear grip"})
    redone = with_cures(failed(cure(1)), cure(2, closed_at=after(1)), reached=when, redone=anew)
    assert judge(OVER, redone, after(2), GLUED, pushed).ready_at == after(11)
    unasked = with_cures(failed(cure(1)), cure(2, closed_at=after(1)), reached=reached("glued"), redone=anew)
    assert judge(OVER, unasked, after(2), GLUED).ready_at == after(25)


@pytest.mark.parametrize("sequence", READY_MADE, ids=lambda sequence: sequence.rod_kind)
def test_no_ready_made_sequence_waits_longer_for_what_is_closed_with_its_stage(sequence: Sequence) -> None:
    """Each stage is logged as its places are closed; then no hold of this kind is added to any stage."""
    done: dict[str, CureFact] = {}
    names: list[str] = []
    for position, target in enumerate(sequence.stages):
        at = after(100 * position)
        places = {place for hold in target.holds for place in (*hold.places, hold.place) if place}
        for place in target.cure_places():
            done[place] = cure(position + 1, place, at)
        when = {name: reached(name, at=after(100 * number))[name] for number, name in enumerate(names)}
        decision = judge(target, with_cures(*done.values(), reached=when), at, *sequence.stages[:position])
        held = {hold.reason for hold in decision.holds if hold.kind is HoldKind.FULL_CURE}
        assert all(any(f"the {place} " in reason for place in places) for reason in held)
        names.append(target.name)
