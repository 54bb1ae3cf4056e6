"""Ticks that relied on a joint done anew: which they are, and until when the record asks for them again."""

from datetime import datetime
from typing import Any

import pytest

from shop.rules.decide import ClearedBy
from shop.rules.facts import CureFact, Facts, Recheck, Tick
from shop.rules.rechecks import failed_last, joint_to_do_anew, relied_on, still_asked
from shop.rules.record import EventFact, EventKind, fold, recheck_map, recheck_of
from shop.rules.sequences import Hold, HoldKind, Sequence, Stage
from tests.rules.builders import (
    CLOSED,
    SECOND,
    WRAPS,
    after,
    coat,
    cure,
    failed,
    hours,
    judge,
    makes,
    reached,
    stage,
)

SEQUENCE = Sequence(
    "short",
    "casting",
    (
        Stage("fitted"),
        Stage("grip glued", records=makes("rear grip")),
        Stage("seat glued", records=makes("reel seat")),
        Stage("first coat", records=makes(WRAPS)),
        Stage("second coat", records=makes(WRAPS)),
        Stage("inspected"),
    ),
)
TICKS = tuple(
    Tick(name, "Nell", where)
    for name, where in (
        ("dry fit", "fitted"), ("twist", "grip glued"), ("orientation", "seat glued"),
        ("level", "first coat"), ("prep", "second coat"), ("list", "inspected"),
    )
)  # fmt: skip
NOW = after(40)


def asked(facts: Facts, *joints: CureFact) -> list[str]:
    return [again.name for again in relied_on(SEQUENCE, facts, joints, NOW)]


GRIP, SEAT = cure(1, "rear grip"), cure(2, "reel seat", after(10))
ALL_REACHED = {
    **reached("fitted", "grip glued"), **reached("seat glued", at=after(10)),
    **reached("first coat", at=after(20)), **reached("second coat", at=after(28)),
}  # fmt: skip
COATS = (coat(3, after(20)), coat(4, after(28)))


@pytest.mark.parametrize(
    ("joints", "names"),
    [
        ((GRIP,), ["twist", "orientation", "level", "prep", "list"]),
        ((SEAT,), ["orientation", "level", "prep", "list"]),
        ((COATS[0],), ["level", "prep", "list"]),
        ((COATS[1],), ["prep", "list"]),
        ((SEAT, GRIP), ["orientation", "level", "prep", "list", "twist"]),
        ((), []),
    ],
)
def test_a_tick_relied_on_a_joint_if_it_came_with_it_or_after(
    joints: tuple[CureFact, ...], names: list[str]
) -> None:
    assert asked(Facts(ALL_REACHED, (GRIP, SEAT, *COATS), TICKS), *joints) == names


def test_a_tick_of_two_joints_is_asked_for_once() -> None:
    facts = Facts(ALL_REACHED, (GRIP, SEAT), TICKS)
    found = relied_on(SEQUENCE, facts, (SEAT, GRIP), NOW)
    assert found[0] == Recheck("orientation", "seat glued", "reel seat", NOW)
    assert found[-1] == Recheck("twist", "grip glued", "rear grip", NOW)


@pytest.mark.parametrize(
    ("names", "joint", "first"),
    [
        # Closed before its stage is logged, with it, and written down after it.
        (("fitted",), cure(1, "rear grip", after(1)), "twist"),
        (("fitted", "grip glued"), cure(1, "rear grip", CLOSED), "twist"),
        (("fitted", "grip glued"), cure(1, "rear grip", after(0.1)), "twist"),
        # A place that no stage closes: what came after it.
        (("fitted", "grip glued"), cure(1, "tip-top", after(1)), "orientation"),
        (("fitted", "grip glued"), cure(1, "tip-top", CLOSED), "dry fit"),
    ],
)
def test_the_stage_that_made_a_joint(names: tuple[str, ...], joint: CureFact, first: str) -> None:
    assert asked(Facts(reached(*names), (joint,), TICKS), joint)[0] == first


def test_the_stage_that_laid_a_coat_which_is_not_logged_yet() -> None:
    laid = {**ALL_REACHED}
    del laid["second coat"]
    assert asked(Facts(laid, COATS, TICKS), COATS[1]) == ["prep", "list"]
    del laid["first coat"]
    assert asked(Facts(laid, COATS[:1], TICKS), COATS[0]) == ["level", "prep", "list"]


def test_what_failed_and_was_not_replaced_yet() -> None:
    grip, again = failed(GRIP), cure(7, "rear grip", after(12))
    assert failed_last(Facts(cures=(GRIP, SEAT)), "rear grip") == ()
    assert failed_last(Facts(cures=(grip, SEAT)), "rear grip") == (grip,)
    assert failed_last(Facts(cures=(grip, again)), "rear grip") == ()
    assert failed_last(Facts(cures=(grip, failed(again))), "rear grip") == (grip, failed(again))
    assert failed_last(Facts(cures=(COATS[0], failed(COATS[1]))), WRAPS) == (failed(COATS[1]),)


def test_a_coat_that_failed_before_its_stage_was_logged_still_belongs_to_it() -> None:
    laid = {name: at for name, at in ALL_REACHED.items() if name != "second coat"}
    known = Facts(laid, (COATS[0], failed(COATS[1])), TICKS)
    assert asked(known, failed(COATS[1])) == ["prep", "list"]


def test_the_joint_to_do_anew_is_the_last_that_counts_with_every_cup_in_it() -> None:
    second_cup = coat(5, after(20.2))
    facts = Facts(cures=(*COATS[:1], second_cup, failed(COATS[1]), GRIP))
    assert joint_to_do_anew(facts, WRAPS) == (COATS[0], second_cup)
    assert joint_to_do_anew(facts, "rear grip") == (GRIP,)
    assert joint_to_do_anew(facts, "butt cap") == ()
    assert joint_to_do_anew(Facts(cures=COATS), WRAPS) == (COATS[1],)


@pytest.mark.parametrize(
    ("ticked", "at", "left"),
    [
        ([], NOW, ["orientation", "prep"]),
        (["orientation"], NOW, ["prep"]),
        (["orientation"], NOW - SECOND, ["orientation", "prep"]),
        (["prep", "orientation"], NOW + SECOND, []),
    ],
)
def test_a_tick_before_the_joint_was_done_anew_clears_nothing(
    ticked: list[str], at: datetime, left: list[str]
) -> None:
    rechecks = tuple(Recheck(name, "seat glued", "reel seat", NOW) for name in ("orientation", "prep"))
    assert [again.name for again in still_asked(rechecks, ticked, at)] == left


def test_a_recheck_comes_back_from_the_record_as_it_went_in() -> None:
    for again in (Recheck("orientation", "seat glued", "reel seat", NOW), Recheck("a", "b", "c")):
        assert recheck_of(recheck_map(again)) == again


def event(
    number: int, kind: EventKind, where: str | None, hour: float, corrects: int | None = None, **details: Any
) -> EventFact:
    return EventFact(number, kind, where, after(hour), "Nell", corrects, details)


TICKED = event(1, EventKind.STAGE, "seat glued", 10, checks=[["orientation", "Nell"]])
AGAIN = Recheck("orientation", "seat glued", "reel seat", after(20))
REDONE = event(2, EventKind.CURE, None, 20, rechecks=[recheck_map(AGAIN)])
RETICKED = event(3, EventKind.CHECK, "first coat", 21, checks=[["orientation", "Ott"]])


@pytest.mark.parametrize(
    ("events", "is_asked"),
    [
        ((TICKED,), False),
        ((TICKED, REDONE), True),
        ((TICKED, REDONE, RETICKED), False),
        ((TICKED, REDONE, event(3, EventKind.CHECK, "first coat", 21, checks=[["level", "Ott"]])), True),
        ((TICKED, REDONE, event(3, EventKind.CHECK, "first coat", 20, checks=[["orientation", "O"]])), False),
        ((TICKED, REDONE, event(3, EventKind.CHECK, "first coat", 19, checks=[["orientation", "O"]])), True),
        # Done anew once more.
        ((TICKED, REDONE, RETICKED, event(4, EventKind.CURE, None, 30, **REDONE.details)), True),
        # The tick afterwards was a mistake, or was one of another check, or its time was.
        ((TICKED, REDONE, RETICKED, event(4, EventKind.CORRECTION, None, 30, 3, undone=True)), True),
        ((TICKED, REDONE, RETICKED, event(4, EventKind.CORRECTION, None, 30, 3, checks=[])), True),
        (
            (TICKED, REDONE, RETICKED,
             event(4, EventKind.CORRECTION, None, 30, 3, at=after(19).isoformat())),
            True,
        ),
        # The first tick was never given: its stage asks for it as for any other.
        ((TICKED, REDONE, event(3, EventKind.CORRECTION, None, 30, 1, undone=True)), False),
        ((TICKED, REDONE, event(3, EventKind.CORRECTION, None, 30, 1, checks=[])), False),
        # Undone, and the undoing undone.
        (
            (TICKED, REDONE, event(3, EventKind.CORRECTION, None, 30, 1, undone=True),
             event(4, EventKind.CORRECTION, None, 31, 3, checks=[["orientation", "Nell"]])),
            True,
        ),
        # A pass that began with the stage left standing, and what was asked then.
        ((event(2, EventKind.SEND_BACK, "seat glued", 25, **REDONE.details),), True),
        ((event(2, EventKind.SEND_BACK, "seat glued", 25, **REDONE.details), RETICKED), False),
    ],
)  # fmt: skip
def test_the_record_asks_again_until_the_check_is_ticked_afterwards(
    events: tuple[EventFact, ...], is_asked: bool
) -> None:
    assert fold(events).rechecks == ((AGAIN,) if is_asked else ())
    assert fold(events).reached.keys() <= {"seat glued"}, "the stages reached stay as they are"


def test_a_joint_done_anew_twice_asks_once_and_for_the_last() -> None:
    later = Recheck("orientation", "seat glued", "fore grip", after(30))
    events = (TICKED, REDONE, event(3, EventKind.VERDICT, None, 30, rechecks=[recheck_map(later)]))
    assert fold(events).rechecks == (later,)


def test_every_stage_is_held_until_a_person_checks_again() -> None:
    facts = Facts(rechecks=(AGAIN,))
    (hold,) = judge(stage(), facts, after(30)).holds
    assert (hold.kind, hold.cleared_by, hold.recheck) == (HoldKind.CHECK, ClearedBy.PERSON, AGAIN)
    assert hold.reason == (
        "“orientation” was ticked at “seat glued” on a joint at the reel seat that has failed since: "
        "check it again on the new one."
    )
    assert not hold.is_asked, "no form of the next stage asks for it"
    released = Facts(rechecks=(AGAIN,), releases=frozenset({("target", HoldKind.CHECK)}))
    assert judge(stage(), released, after(30) + hours(1)).allowed


GLUED = Stage("glued", records=makes("rear grip"))
PUSHED = Stage("pushed", holds=(Hold(HoldKind.SET, places=("rear grip",)),))
CHUCKED = Stage("chucked", holds=(Hold(HoldKind.FULL_CURE, places=("rear grip", "reel seat")),))
NEW = cure(7, "rear grip", after(50))
REDONE_GRIP = frozenset({"rear grip"})


@pytest.mark.parametrize(
    ("names", "cures", "now", "shut_until"),
    [
        # Nothing that is reached rested on the joint.
        (("glued",), (failed(GRIP), NEW), after(50), []),
        # The next joint was pushed onto it: the new one has to set.
        (("glued", "pushed"), (failed(GRIP), NEW), after(60) - SECOND, [(HoldKind.SET, after(60))]),
        (("glued", "pushed"), (failed(GRIP), NEW), after(60), []),
        (("glued", "pushed"), (failed(GRIP),), after(60), [(HoldKind.SET, None)]),
        # It was chucked: the new one has to be hard.
        (("glued", "pushed", "chucked"), (failed(GRIP), NEW), after(74) - SECOND,
         [(HoldKind.FULL_CURE, after(74))]),
        (("glued", "pushed", "chucked"), (failed(GRIP), NEW), after(74), []),
        (("glued", "pushed", "chucked"), (failed(GRIP),), after(99), [(HoldKind.FULL_CURE, None)]),
    ],
)  # fmt: skip
def test_what_was_asked_of_the_old_joint_is_asked_of_the_new(
    names: tuple[str, ...],
    cures: tuple[CureFact, ...],
    now: datetime,
    shut_until: list[tuple[HoldKind, datetime | None]],
) -> None:
    facts = Facts(reached(*names), cures, redone=REDONE_GRIP)
    holds = judge(stage(), facts, now, GLUED, PUSHED, CHUCKED).holds
    assert [(hold.kind, hold.clears_at) for hold in holds] == shut_until
    assert not any(hold.waivable for hold in holds)


def test_a_hold_of_the_stage_itself_says_it_once() -> None:
    facts = Facts(reached("glued", "pushed"), (failed(GRIP), NEW), redone=REDONE_GRIP)
    own = stage(Hold(HoldKind.SET, places=("rear grip",)))
    assert len(judge(own, facts, after(51), GLUED, PUSHED).holds) == 1
