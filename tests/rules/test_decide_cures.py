"""The holds of chemistry, to the second: `set`, `full_cure`, `recoat` and `pot_life`."""

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest

from shop.rules.decide import ClearedBy
from shop.rules.facts import CureFact, Facts, Tick
from shop.rules.holds import in_utc
from shop.rules.sequences import Hold, HoldKind, Stage
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
    makes,
    reached,
    shut,
    stage,
    tacky,
    with_cures,
)

SETS = stage(Hold(HoldKind.SET, places=("rear grip",)))
FULL = stage(Hold(HoldKind.FULL_CURE, places=("rear grip",)))
HANDLE = stage(Hold(HoldKind.FULL_CURE, places=("rear grip", "reel seat", "fore grip")))
SEAT = Stage("seat", holds=SETS.holds, records=(*makes("reel seat"), *makes("fore grip")))
IN_TIME = stage(Hold(HoldKind.POT_LIFE, places=("rear grip",)), place="rear grip")
COAT_1 = stage(name="first coat", place=WRAPS)
COAT_2 = stage(Hold(HoldKind.RECOAT, place=WRAPS), name="second coat", place=WRAPS)
HARD = stage(Hold(HoldKind.FULL_CURE, places=(WRAPS,)), name="hard")
PREPARED = (Tick("prep", "Nell"),)


@pytest.mark.parametrize(
    ("now", "sets", "full"),
    [
        (CLOSED, False, False),
        (after(10) - MINUTE, False, False),
        (after(10) - SECOND, False, False),
        (after(10), True, False),
        (after(10) + SECOND, True, False),
        (after(24) - SECOND, True, False),
        (after(24), True, True),
        (after(24 * 365), True, True),
    ],
)
def test_set_and_full_cure_open_at_their_very_instant(now: datetime, sets: bool, full: bool) -> None:
    facts = with_cures(cure())
    assert judge(SETS, facts, now).allowed is sets
    assert judge(FULL, facts, now).allowed is full


@pytest.mark.parametrize(
    ("seat_at", "too_soon"),
    [
        (CLOSED - hours(1), True),
        (after(2), True),
        (after(10) - SECOND, True),
        (after(10), False),
        (after(10) + SECOND, False),
        (after(300), False),
    ],
)
@pytest.mark.parametrize("logged", [hours(0), hours(500)])
def test_a_joint_closed_on_one_that_had_not_set_never_passes_as_right(
    seat_at: datetime, too_soon: bool, logged: timedelta
) -> None:
    """However late its stage is logged; neither another place of the stage nor a second cup hides it."""
    seat, fore = cure(2, "reel seat", seat_at), cure(3, "fore grip", after(300))
    more = cure(4, "reel seat", seat_at + hours(2), set_at=None)
    for cures in ((cure(), seat), (cure(), seat, fore), (cure(), seat, more, fore)):
        holds = shut(SEAT, with_cures(*cures), max(seat_at + logged, after(10)))
        assert [hold.kind for hold in holds] == ([HoldKind.SET] if too_soon else [])
        for hold in holds:
            assert hold.reason == (
                f"The reel seat was closed at {in_utc(seat_at)}, before the rear grip had set: check that "
                "nothing moved, or strip it and end it as failed."
            )
            assert (hold.clears_at, hold.cleared_by, hold.waivable) == (None, ClearedBy.WORK, False)
            assert hold.closed_at == seat_at


def test_a_joint_closed_too_soon_is_answered_by_ending_it_as_failed() -> None:
    early, again = cure(2, "reel seat", after(2)), cure(3, "reel seat", after(11))
    assert not judge(SEAT, with_cures(cure(), early, again), after(12)).allowed
    assert judge(SEAT, with_cures(cure(), failed(early)), after(12)).allowed
    assert judge(SEAT, with_cures(cure(), failed(early), again), after(12)).allowed


def test_a_joint_that_stood_on_one_which_failed_is_no_fault_of_the_new_one() -> None:
    seat, again = cure(2, "reel seat", after(11)), cure(3, closed_at=after(20))
    anew = with_cures(failed(cure()), again, seat, redone=frozenset({"rear grip"}))
    assert judge(SEAT, anew, after(25)).ready_at == after(30)
    assert judge(SEAT, anew, after(30)).allowed
    on_the_new_one = replace(anew, cures=(again, replace(seat, closed_at=after(25))))
    assert [hold.cleared_by for hold in shut(SEAT, on_the_new_one, after(30))] == [ClearedBy.WORK]


def test_a_joint_that_failed_is_not_said_to_be_missing() -> None:
    anew: dict[str, Any] = {"redone": frozenset({"rear grip", WRAPS})}
    (hold,) = shut(SETS, with_cures(failed(cure()), **anew), after(1000))
    assert hold.reason == "The joint at the rear grip has failed; it must be done anew."
    facts = with_cures(failed(coat()), reached=reached("first coat"), **anew)
    (hold,) = shut(COAT_2, facts, after(30), COAT_1)
    assert hold.reason == "The coat at the guide wraps has failed; it must be laid anew."


def test_a_wait_says_what_why_and_until_when() -> None:
    (setting,) = shut(SETS, with_cures(cure()), after(1))
    assert setting.reason == "The Riverbed at the rear grip has not set."
    (hardening,) = shut(FULL, with_cures(cure()), after(11))
    assert hardening.reason == "The Riverbed at the rear grip has not fully cured."
    for hold, clears_at in ((setting, after(10)), (hardening, after(24))):
        assert (hold.clears_at, hold.cleared_by, hold.waivable) == (clears_at, ClearedBy.TIME, False)


def test_a_joint_nobody_logged_is_not_a_joint_that_has_cured() -> None:
    for held, cures in ((SETS, ()), (FULL, (cure(2, "reel seat"),)), (SETS, (failed(cure()),))):
        (hold,) = shut(held, with_cures(*cures), after(1000))
        assert "No joint is on record at the rear grip in this pass" in hold.reason
        assert (hold.clears_at, hold.cleared_by, hold.waivable) == (None, ClearedBy.WORK, False)


def test_each_place_says_its_own_time() -> None:
    facts = with_cures(cure(1), cure(2, "reel seat", after(3)))
    holds = shut(HANDLE, facts, after(5))
    assert [hold.clears_at for hold in holds] == [after(24), after(27), None]
    assert judge(HANDLE, facts, after(30)).ready_at is None
    closed = with_cures(*facts.cures, cure(3, "fore grip", after(3)))
    assert judge(HANDLE, closed, after(27) - SECOND).ready_at == after(27)
    assert judge(HANDLE, closed, after(27)).allowed


def test_of_several_cures_at_a_place_the_last_that_was_not_failed_counts() -> None:
    loose, again = cure(1), cure(2, closed_at=after(30))
    assert judge(SETS, with_cures(loose, again), after(31)).ready_at == after(40)
    assert judge(SETS, with_cures(again, loose), after(31)).ready_at == after(40)
    assert judge(SETS, with_cures(loose, failed(again)), after(31)).allowed
    assert judge(SETS, with_cures(failed(loose), again), after(40)).allowed
    same = cure(3, set_at=after(12))
    assert judge(SETS, with_cures(same, loose), after(11)).ready_at == after(12)


def test_a_tacky_puddle_keeps_both_holds_shut_however_late_it_is() -> None:
    for held in (SETS, FULL):
        (hold,) = shut(held, with_cures(tacky(cure())), after(1000))
        assert hold.reason == "The puddle of the Riverbed at the rear grip is tacky: it must be found firm."
        assert (hold.clears_at, hold.cleared_by, hold.waivable) == (None, ClearedBy.PERSON, False)
    assert judge(SETS, with_cures(tacky(cure(2, "reel seat")), cure()), after(10)).allowed


def test_a_cure_that_never_gets_there_is_stalled_and_has_no_time() -> None:
    stalled = with_cures(cure(set_at=None, full_at=None))
    for held, word in ((SETS, "set"), (FULL, "fully cured")):
        decision = judge(held, stalled, after(1000))
        assert decision.holds[0].reason == (
            f"Stalled: too cold for the Riverbed at the rear grip; it will not have {word}."
        )
        assert (decision.holds[0].cleared_by, decision.ready_at) == (ClearedBy.WORK, None)
    only_set = with_cures(cure(full_at=None))
    assert judge(SETS, only_set, after(10)).allowed
    assert not judge(FULL, only_set, after(1000)).allowed


@pytest.mark.parametrize(
    ("late", "open_"),
    [(timedelta(0), True), (-SECOND, True), (SECOND, False), (MINUTE, False)],
)
def test_a_joint_closed_after_the_pot_life_is_never_good(late: timedelta, open_: bool) -> None:
    ends = CLOSED - late
    holds = shut(IN_TIME, with_cures(cure(pot_life_ends_at=ends)), after(1000))
    assert (holds == ()) is open_
    for hold in holds:
        assert "was closed after the pot life of its Riverbed had ended: mix again." in hold.reason
        assert (hold.clears_at, hold.cleared_by, hold.waivable) == (None, ClearedBy.NEVER, False)


def test_mixing_again_answers_a_joint_that_was_closed_too_late() -> None:
    late = cure(pot_life_ends_at=CLOSED - SECOND)
    assert judge(IN_TIME, with_cures(failed(late), cure(2, closed_at=after(1))), after(1)).allowed
    assert judge(IN_TIME, Facts(), CLOSED).allowed


@pytest.mark.parametrize(
    ("now", "ticks", "by"),
    [
        (CLOSED, (), ClearedBy.TIME),
        (after(6) - MINUTE, (), ClearedBy.TIME),
        (after(6) - SECOND, (), ClearedBy.TIME),
        (after(6) - SECOND, PREPARED, ClearedBy.TIME),
        (after(6), (), None),
        (after(20), (), None),
        (after(20) + SECOND, (), ClearedBy.PERSON),
        (after(20) + MINUTE, (), ClearedBy.PERSON),
        (after(20) + SECOND, PREPARED, None),
        (after(20) + SECOND, (Tick("prep", "Nell", "second coat"),), None),
        (after(20) + SECOND, (Tick("prep", "Nell", "first coat"),), ClearedBy.PERSON),
        (after(20) + SECOND, (Tick("washed", "Nell"),), ClearedBy.PERSON),
        (after(1000), PREPARED, None),
    ],
)
def test_a_coat_is_laid_inside_its_window_or_on_a_prepared_ground(
    now: datetime, ticks: tuple[Tick, ...], by: ClearedBy | None
) -> None:
    facts = with_cures(coat(), ticks=ticks, reached=reached("first coat"))
    holds = shut(COAT_2, facts, now, COAT_1)
    assert [hold.cleared_by for hold in holds] == ([] if by is None else [by])
    for hold in holds:
        assert hold.clears_at == (after(6) if by is ClearedBy.TIME else None)
        assert not hold.waivable


@pytest.mark.parametrize(
    ("cures", "ticks", "says"),
    [
        ((), (), "No coat is on record at the guide wraps in this pass"),
        ((failed(coat()),), (), "No coat is on record at the guide wraps in this pass"),
        ((coat(recoat_from=None),), PREPARED, "Stalled: too cold for the Stillwater at the guide wraps"),
        ((cure(place=WRAPS),), (), "The sheet of the Riverbed gives no recoat window"),
        ((cure(place=WRAPS),), PREPARED, None),
        ((coat(recoat_until=None),), (), None),
    ],
)
def test_a_ground_without_a_window(
    cures: tuple[CureFact, ...], ticks: tuple[Tick, ...], says: str | None
) -> None:
    facts = with_cures(*cures, ticks=ticks, reached=reached("first coat"))
    holds = shut(COAT_2, facts, after(30), COAT_1)
    assert len(holds) == (0 if says is None else 1)
    assert says is None or says in holds[0].reason


@pytest.mark.parametrize(
    ("laid_at", "ticks", "by"),
    [
        (after(5), (), ClearedBy.WORK),
        (after(6) - SECOND, PREPARED, ClearedBy.WORK),
        (after(6), (), None),
        (after(20), (), None),
        (after(20) + SECOND, (), ClearedBy.PERSON),
        (after(20) + SECOND, PREPARED, None),
    ],
)
@pytest.mark.parametrize("entered", [hours(0), hours(300)])
def test_a_coat_on_record_before_its_stage_is_judged_by_when_it_was_laid(
    laid_at: datetime, ticks: tuple[Tick, ...], by: ClearedBy | None, entered: timedelta
) -> None:
    facts = with_cures(coat(1), coat(2, laid_at), ticks=ticks, reached=reached("first coat"))
    decision = judge(COAT_2, facts, laid_at + entered, COAT_1)
    assert [hold.cleared_by for hold in decision.holds] == ([] if by is None else [by])
    assert decision.ready_at is None


def test_a_second_cup_for_the_same_coat_is_no_further_coat() -> None:
    cup, more = coat(1), coat(2, after(0.5))
    facts = with_cures(cup, more, reached=reached("first coat"))
    assert judge(COAT_2, facts, after(6.5) - SECOND, COAT_1).ready_at == after(6.5)
    assert judge(COAT_2, facts, after(6.5), COAT_1).allowed
    laid = with_cures(cup, more, coat(3, after(7)), coat(4, after(7.5)), reached=reached("first coat"))
    assert judge(COAT_2, laid, after(8), COAT_1).allowed


def test_a_first_coat_does_not_stand_for_a_second_that_nobody_closed() -> None:
    when = {**reached("first coat", at=CLOSED), **reached("second coat", at=after(8))}
    (hold,) = shut(HARD, with_cures(coat(1), reached=when), after(1000), COAT_1, COAT_2)
    assert hold.reason == ("“second coat” is logged, but what it closed at the guide wraps is not on record.")
    assert (hold.clears_at, hold.cleared_by, hold.waivable) == (None, ClearedBy.WORK, False)
    both = with_cures(coat(1), coat(2, after(8)), reached=when)
    assert judge(HARD, both, after(9), COAT_1, COAT_2).ready_at == after(32)
    third = stage(Hold(HoldKind.RECOAT, place=WRAPS), name="third coat", place=WRAPS)
    (hold,) = shut(third, with_cures(coat(1), reached=when), after(15), COAT_1, COAT_2)
    assert "“second coat” is logged" in hold.reason


def test_coats_logged_late_in_one_go_all_count() -> None:
    late = reached("first coat", "second coat", at=after(9))
    facts = with_cures(coat(1), coat(2, after(8)), reached=late)
    assert judge(HARD, facts, after(32), COAT_1, COAT_2).allowed


def test_after_a_sending_back_the_coats_that_were_kept_are_not_asked_for_again() -> None:
    kept = {**reached("first coat", at=CLOSED), **reached("second coat", at=after(8))}
    again = with_cures(coat(9, after(100)), reached=kept)
    assert judge(HARD, again, after(124) - SECOND, COAT_1, COAT_2).ready_at == after(124)
    assert judge(HARD, again, after(124), COAT_1, COAT_2).allowed
    (hold,) = shut(HARD, Facts(reached=kept), after(1000), COAT_1, COAT_2)
    assert "in this pass" in hold.reason


def test_the_cures_of_another_place_are_none_of_its_business() -> None:
    facts = with_cures(coat(1), cure(2, "butt cap", after(30)), reached=reached("first coat"))
    assert judge(COAT_2, facts, after(12), COAT_1).allowed
    assert judge(HARD, facts, after(24), COAT_1).allowed


@pytest.mark.parametrize("late", [timedelta(0), SECOND])
@pytest.mark.parametrize("held", [SETS, FULL])
def test_a_joint_closed_after_the_pot_life_never_sets(held: Stage, late: timedelta) -> None:
    """It was refused when it was closed, so a corrected fact or a late reading has made it so."""
    facts = with_cures(cure(pot_life_ends_at=CLOSED - late))
    assert kinds(judge(held, facts, after(1000))) == ([HoldKind.POT_LIFE] if late else [])


def test_no_coat_is_laid_on_one_that_was_laid_after_its_pot_life() -> None:
    facts = with_cures(coat(pot_life_ends_at=CLOSED - SECOND), reached=reached("first coat"))
    assert kinds(judge(COAT_2, facts, after(7), COAT_1)) == [HoldKind.POT_LIFE]


def test_a_hold_that_two_rules_shut_alike_is_said_once() -> None:
    held = stage(*IN_TIME.holds, *SETS.holds)
    assert kinds(judge(held, with_cures(cure(pot_life_ends_at=CLOSED - SECOND)), after(1000))) == [
        HoldKind.POT_LIFE
    ]
