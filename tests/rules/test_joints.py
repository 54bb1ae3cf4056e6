"""Joints of several cups: which cures are one joint, and that none of its cups opens a hold alone."""

from dataclasses import replace
from datetime import datetime
from itertools import permutations
from typing import Any

import pytest

from shop.rules.facts import CureFact, Tick
from shop.rules.holds import ClearedBy, ShutHold
from shop.rules.joints import as_one, joints_at, shared_joints, told_as_one
from shop.rules.sequences import Hold, HoldKind, Record, RecordKind, Stage
from tests.rules.builders import (
    CLOSED,
    MINUTE,
    SECOND,
    WRAPS,
    after,
    coat,
    cure,
    failed,
    hours,
    judge,
    kinds,
    reached,
    shut,
    stage,
    tacky,
    with_cures,
)

SETS = stage(Hold(HoldKind.SET, places=("rear grip",)))
FULL = stage(Hold(HoldKind.FULL_CURE, places=("rear grip",)))
POT = stage(Hold(HoldKind.POT_LIFE, places=("rear grip",)))
COAT_1 = stage(name="first coat", place=WRAPS)
COAT_2 = stage(Hold(HoldKind.RECOAT, place=WRAPS), name="second coat", place=WRAPS)
HARD = stage(Hold(HoldKind.FULL_CURE, places=(WRAPS,)), name="hard")
COATED = reached("first coat", at=after(1))
PREPARED = (Tick("prep", "Nell"),)
STALLED: dict[str, Any] = {"set_at": None, "full_at": None}
SOON, LATER = after(0.1), after(0.5)
TACKY = "The puddle of the {} at the {} is tacky: it must be found firm."


def quick(number: int = 2, closed_at: datetime = SOON, **other: Any) -> CureFact:
    """A joint of a five-minute product: sets in 15 minutes, is hard in an hour."""
    times: dict[str, Any] = {
        "adhesive": "Quick",
        "set_at": closed_at + 15 * MINUTE,
        "full_at": closed_at + hours(1),
    }
    return cure(number, closed_at=closed_at, **{**times, **other})


def quick_coat(number: int = 2, closed_at: datetime = LATER, **other: Any) -> CureFact:
    """A coat of a quick finish: sets in half an hour, takes the next from 40 minutes to three hours on."""
    times: dict[str, Any] = {
        "adhesive": "Quick", "set_at": closed_at + hours(0.5), "full_at": closed_at + hours(2),
        "recoat_from": closed_at + 40 * MINUTE, "recoat_until": closed_at + hours(3),
    }  # fmt: skip
    return coat(number, closed_at, **{**times, **other})


def ids(joints: list[list[CureFact]]) -> list[list[int]]:
    return [[cup.id for cup in joint] for joint in joints]


@pytest.mark.parametrize(
    ("cures", "expected"),
    [
        ([], []),
        ([cure(1)], [[1]]),
        ([cure(1), cure(2, closed_at=after(10) - SECOND)], [[1, 2]]),
        ([cure(1), cure(2, closed_at=after(10))], [[1], [2]]),
        ([cure(1, set_at=None), cure(2, closed_at=after(500))], [[1, 2]]),
        # A quick cup has set long before what it was poured onto: a third one still goes into that.
        ([cure(1), quick(2), cure(3, closed_at=after(1))], [[1, 2, 3]]),
        ([cure(1), quick(2), cure(3, closed_at=after(10))], [[1, 2], [3]]),
        ([cure(1), failed(quick(2)), quick(3, after(11))], [[1], [3]]),
        ([failed(cure(1)), quick(2), cure(3, closed_at=after(1))], [[2], [3]]),
        ([cure(1), cure(2, "reel seat", after(1))], [[1]]),
    ],
)
def test_which_cures_are_one_joint(cures: list[CureFact], expected: list[list[int]]) -> None:
    for given in permutations(cures):
        assert ids(joints_at(given, "rear grip")) == expected
        assert ids(shared_joints(given)) == [joint for joint in expected if len(joint) > 1]


@pytest.mark.parametrize(
    ("now", "sets", "full"),
    [
        (after(0.1) + 16 * MINUTE, False, False),
        (after(2), False, False),
        (after(10) - SECOND, False, False),
        (after(10), True, False),
        (after(24) - SECOND, True, False),
        (after(24), True, True),
    ],
)
@pytest.mark.parametrize("order", list(permutations([cure(1), quick(2), quick(3, after(1))])))
def test_a_quick_cup_on_a_slow_one_opens_nothing_early(
    now: datetime, sets: bool, full: bool, order: tuple[CureFact, ...]
) -> None:
    for held, is_open, ready in ((SETS, sets, after(10)), (FULL, full, after(24))):
        decision = judge(held, with_cures(*order), now)
        assert decision.allowed is is_open
        assert decision.ready_at == (None if is_open else ready)
        assert all("The Riverbed at the rear grip has not" in hold.reason for hold in decision.holds)


@pytest.mark.parametrize(
    ("cures", "by", "says"),
    [
        ((tacky(cure(1)), cure(2, closed_at=SOON)), ClearedBy.PERSON, TACKY.format("Riverbed", "rear grip")),
        ((cure(1), tacky(quick(2))), ClearedBy.PERSON, TACKY.format("Quick", "rear grip")),
        # Whatever was closed on it since: every cure of a tacky mix is held.
        ((tacky(cure(1)), quick(2, after(30))), ClearedBy.PERSON, TACKY.format("Riverbed", "rear grip")),
        ((cure(1, **STALLED), quick(2)), ClearedBy.WORK, "Stalled: too cold for the Riverbed"),
        ((cure(1), quick(2, **STALLED)), ClearedBy.WORK, "Stalled: too cold for the Quick"),
        (
            (cure(1, pot_life_ends_at=CLOSED - SECOND), quick(2)), ClearedBy.NEVER,
            "The rear grip was closed after the pot life of its Riverbed had ended",
        ),
        ((failed(tacky(cure(1))), quick(2)), None, ""),
        ((failed(cure(1, **STALLED)), quick(2)), None, ""),
    ],
)  # fmt: skip
def test_what_is_wrong_with_one_cup_is_wrong_with_its_joint(
    cures: tuple[CureFact, ...], by: ClearedBy | None, says: str
) -> None:
    for held in (SETS, FULL):
        holds = shut(held, with_cures(*cures), after(1000))
        assert [hold.cleared_by for hold in holds] == ([] if by is None else [by])
        assert all(hold.reason.startswith(says) and not hold.waivable for hold in holds)


def test_a_second_cup_in_time_hides_no_first_one_that_was_too_late() -> None:
    late = cure(1, pot_life_ends_at=CLOSED - SECOND)
    assert kinds(judge(POT, with_cures(late, quick(2)), after(1))) == [HoldKind.POT_LIFE]
    assert judge(POT, with_cures(failed(late), quick(2)), after(1)).allowed


def test_a_coat_is_hard_when_what_lies_under_it_is() -> None:
    slow, top = coat(1, full_at=after(48)), quick_coat(2, after(6))
    both = with_cures(slow, top, reached=reached("first coat", at=CLOSED))
    assert judge(HARD, both, after(9), COAT_1).ready_at == after(48)
    assert judge(HARD, both, after(48), COAT_1).allowed


@pytest.mark.parametrize(
    ("cups", "now", "ticks", "by", "clears_at"),
    [
        # Quick on slow: it opens when the last of them does, and shuts when the first does.
        ((coat(1), quick_coat(2)), after(2), (), ClearedBy.TIME, after(6)),
        ((coat(1), quick_coat(2)), after(6) - SECOND, PREPARED, ClearedBy.TIME, after(6)),
        ((coat(1), quick_coat(2)), after(6), (), ClearedBy.PERSON, None),
        ((coat(1), quick_coat(2)), after(6), PREPARED, None, None),
        # Slow on quick.
        ((quick_coat(1, CLOSED), coat(2, after(0.2))), after(1), (), ClearedBy.TIME, after(6.2)),
        ((coat(1), coat(2, after(1))), after(7) - SECOND, (), ClearedBy.TIME, after(7)),
        ((coat(1), coat(2, after(1))), after(7), (), None, None),
        ((coat(1), coat(2, after(1))), after(20), (), None, None),
        ((coat(1), coat(2, after(1))), after(20) + SECOND, (), ClearedBy.PERSON, None),
        ((coat(1, recoat_from=None), quick_coat(2)), after(500), PREPARED, ClearedBy.WORK, None),
        # A cup without a window bounds nothing, and asks for the preparing.
        ((cure(1, WRAPS), coat(2, after(1))), after(6), PREPARED, ClearedBy.TIME, after(7)),
        ((cure(1, WRAPS), coat(2, after(1))), after(7), (), ClearedBy.PERSON, None),
        ((cure(1, WRAPS), coat(2, after(1))), after(7), PREPARED, None, None),
    ],
)
def test_the_window_of_a_coat_of_several_cups(
    cups: tuple[CureFact, ...],
    now: datetime,
    ticks: tuple[Tick, ...],
    by: ClearedBy | None,
    clears_at: datetime | None,
) -> None:
    for given in permutations(cups):
        holds = shut(COAT_2, with_cures(*given, ticks=ticks, reached=COATED), now, COAT_1)
        assert [(hold.cleared_by, hold.clears_at) for hold in holds] == (
            [] if by is None else [(by, clears_at)]
        )


def tacky_holds(*cures: CureFact, ticks: tuple[Tick, ...] = PREPARED) -> tuple[ShutHold, ...]:
    return shut(COAT_2, with_cures(*cures, ticks=ticks, reached=COATED), after(1000), COAT_1)


def test_nothing_is_laid_on_a_tacky_coat() -> None:
    """However late it is, and whether or not it was scuffed; a puddle found firm clears it."""
    for cures in (
        (tacky(coat(1)),), (tacky(coat(1)), coat(2, after(0.1))), (coat(1), tacky(quick_coat(2))),
        (tacky(cure(1, WRAPS)),), (tacky(coat(1, recoat_from=None)),), (tacky(coat(1)), coat(2, after(8))),
    ):  # fmt: skip
        for ticks in ((), PREPARED):
            (hold,) = tacky_holds(*cures, ticks=ticks)
            said = next(cup.adhesive for cup in cures if cup.tacky)
            assert (hold.kind, hold.reason) == (HoldKind.RECOAT, TACKY.format(said, WRAPS))
            assert (hold.clears_at, hold.cleared_by, hold.waivable) == (None, ClearedBy.PERSON, False)
            assert not hold.is_asked, "no tick of the stage clears it"
    assert tacky_holds(coat(1)) == ()
    assert tacky_holds(failed(tacky(coat(1))), coat(2)) == ()


def test_what_is_tacky_on_top_is_not_what_a_coat_was_laid_on() -> None:
    assert tacky_holds(coat(1), tacky(coat(2, after(8)))) == ()
    later = reached("first coat", "second coat", at=after(9))
    held = with_cures(coat(1), tacky(coat(2, after(8))), reached=later)
    assert kinds(judge(HARD, held, after(1000), COAT_1, COAT_2)) == [HoldKind.FULL_CURE]


@pytest.mark.parametrize(
    ("first", "second", "warm", "lot"),
    [
        ({"mixing_c": 9.0}, {}, 1, 0),
        ({}, {"mixing_c": 9.0}, 1, 0),
        ({"lot_fault": "Lot A1 is out of date."}, {}, 0, 1),
        ({}, {"lot_fault": "Lot A1 is out of date."}, 0, 1),
        ({}, {}, 0, 0),
    ],
)
def test_every_cup_of_a_joint_was_mixed_warm_and_from_lots_in_date(
    first: dict[str, Any], second: dict[str, Any], warm: int, lot: int
) -> None:
    records = (Record(RecordKind.CURE, "rear grip"),)
    held = Stage("glued", holds=(Hold(HoldKind.WARM), Hold(HoldKind.LOT)), records=records)
    facts = with_cures(cure(1, **first), quick(2, **second))
    assert kinds(judge(held, facts, after(1))) == [HoldKind.WARM] * warm + [HoldKind.LOT] * lot


def test_the_cups_of_a_joint_as_one() -> None:
    assert as_one([cure()]) == cure()
    both = as_one([coat(1), tacky(quick_coat(2))])
    assert (both.id, both.closed_at, both.adhesive, both.tacky) == (2, after(0.5), "Quick", True)
    assert (both.set_at, both.full_at) == (after(5), after(24))
    assert (both.recoat_from, both.recoat_until) == (after(6), after(3.5))
    assert as_one([cure(1, full_at=None), quick(2)]).full_at is None
    assert not as_one([cure(1), quick(2)]).has_recoat_window


def test_what_is_told_changes_nothing_but_the_cups_of_shared_joints() -> None:
    plain = (coat(1), failed(coat(2, after(1))), cure(3), coat(4, after(7)))
    assert told_as_one(plain) == plain
    shared = (cure(3, "butt cap"), quick(2), cure(1))
    assert told_as_one(shared) == (
        shared[0], replace(quick(2), set_at=after(10), full_at=after(24)), cure(1)
    )  # fmt: skip
    assert told_as_one(told_as_one(shared)) == told_as_one(shared)
