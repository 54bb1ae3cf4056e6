"""Which places of a build wait for a cup, by what is on record of it; times count in hours from `CLOSED`."""

from dataclasses import replace
from typing import Any

import pytest

from shop.rules.decide import Decision, decide, next_stage
from shop.rules.facts import Facts, Suspect
from shop.rules.sequences import Hold, HoldKind, Sequence, Stage
from shop.rules.servings import Waiting, use_at, waiting_places
from tests.rules.builders import WRAPS, after, coat, cure, failed, makes, reached, with_cures

GRIP, SEAT, FORE = "rear grip", "reel seat", "fore grip"
SET, CHECK = Hold(HoldKind.SET, places=(GRIP,)), Hold(HoldKind.CHECK, check="orientation")
RECOAT = Hold(HoldKind.RECOAT, place=WRAPS)
SEQUENCE = Sequence(
    "short",
    "casting",
    (
        Stage("fitted"),
        Stage("grip glued", attended_minutes=10, records=makes(GRIP)),
        Stage("seat glued", attended_minutes=30, holds=(SET, CHECK), records=(*makes(SEAT), *makes(FORE))),
        Stage("first coat", attended_minutes=40, records=makes(WRAPS)),
        Stage("second coat", attended_minutes=40, holds=(RECOAT,), records=makes(WRAPS)),
        Stage("inspected"),
    ),
)
BEFORE = ("fitted",)
GLUED, SEATED = (*BEFORE, "grip glued"), (*BEFORE, "grip glued", "seat glued")
COATED = (*SEATED, "first coat")


def waits(facts: Facts, hours: float, pieces: int = 1) -> list[Waiting]:
    stage = next_stage(SEQUENCE, facts.reached)
    decision = Decision(None, ()) if stage is None else decide(SEQUENCE, facts, stage.name, after(hours))
    return waiting_places(SEQUENCE, facts, decision, pieces)


def at(*stages: str, cures: tuple[Any, ...] = (), **other: Any) -> Facts:
    redone = frozenset(item.place for item in cures if item.failed)
    return with_cures(*cures, reached=reached(*stages), redone=redone, **other)


JOINT, SEATS = cure(), (cure(2, SEAT, after(12)), cure(3, FORE, after(12)))
COAT = coat(4, after(40))


@pytest.mark.parametrize(
    ("facts", "hours", "places"),
    [
        # A stage that closes nothing waits for no cup, nor does a build with nothing before it.
        (at(), 0, []),
        (at(*COATED, "second coat", "inspected"), 50, []),
        (at(*BEFORE), 0, [("grip glued", GRIP)]),
        (at(*GLUED, cures=(JOINT,)), 1, [("seat glued", SEAT), ("seat glued", FORE)]),
        # What is on record though its stage is not logged waits no more.
        (at(*BEFORE, cures=(JOINT,)), 1, []),
        (at(*GLUED, cures=(JOINT, SEATS[0])), 13, [("seat glued", FORE)]),
        (at(*COATED, cures=(JOINT, *SEATS, COAT)), 47, [("second coat", WRAPS)]),
        (at(*COATED, cures=(JOINT, *SEATS, COAT, coat(5, after(47)))), 47, []),
        # A second cup for the same coat is not the second coat.
        (at(*COATED, cures=(JOINT, *SEATS, COAT, coat(5, after(40.1)))), 47, [("second coat", WRAPS)]),
        # A joint that failed is done anew, and comes first; it waits once.
        (
            at(*GLUED, cures=(failed(JOINT),)), 1,
            [("grip glued", GRIP), ("seat glued", SEAT), ("seat glued", FORE)],
        ),
        (at(*COATED, cures=(JOINT, *SEATS, failed(COAT))), 47, [("first coat", WRAPS)]),
        (at(*GLUED, cures=(failed(JOINT), cure(6, closed_at=after(2)))), 20, [
            ("seat glued", SEAT), ("seat glued", FORE),
        ]),
        # One that failed before its stage was logged is the next stage's own.
        (at(*BEFORE, cures=(failed(JOINT),)), 1, [("grip glued", GRIP)]),
    ],
)  # fmt: skip
def test_which_places_wait(facts: Facts, hours: float, places: list[tuple[str, str]]) -> None:
    assert [(item.stage, item.place) for item in waits(facts, hours)] == places


@pytest.mark.parametrize(
    ("hours", "kinds", "prep"),
    [
        # The first coat may be followed from 6 h to 20 h after its closing, both instants included.
        (45.999, [HoldKind.RECOAT], False),
        (46, [], False),
        (60, [], False),
        (60.001, [], True),
    ],
)
def test_the_window_of_a_coat_holds_or_asks_for_preparing(
    hours: float, kinds: list[HoldKind], prep: bool
) -> None:
    (item,) = waits(at(*COATED, cures=(JOINT, *SEATS, COAT)), hours)
    assert ([hold.kind for hold in item.holds], bool(item.prep)) == (kinds, prep)


def test_what_a_tick_clears_is_no_hold_of_a_place_and_what_time_clears_is() -> None:
    soft, _ = waits(at(*GLUED, cures=(JOINT,)), 9.999)
    assert [hold.kind for hold in soft.holds] == [HoldKind.SET]
    firm, _ = waits(at(*GLUED, cures=(JOINT,)), 10)
    assert firm.holds == ()


def test_what_is_done_anew_is_held_only_by_what_stands_on_every_stage() -> None:
    doubted = at(*GLUED, cures=(failed(JOINT),), suspects=(Suspect(9, "Riverbed", "old bottle"),))
    anew, _, _ = waits(doubted, 1)
    assert [hold.kind for hold in anew.holds] == [HoldKind.SUSPECT]
    anew, _, _ = waits(replace(doubted, suspects=()), 1)
    assert anew.holds == ()


def test_minutes_are_shared_and_each_section_is_coated_alone() -> None:
    glue = waits(at(*GLUED, cures=(JOINT,)), 10, pieces=3)
    assert [(item.use, item.minutes, item.sections, item.is_first_coat) for item in glue] == [
        ("bond", 15, 1, True), ("bond", 15, 1, True),
    ]  # fmt: skip
    (first,) = waits(at(*SEATED, cures=(JOINT, *SEATS)), 40, pieces=3)
    assert (first.use, first.minutes, first.sections, first.is_first_coat) == ("finish", 40, 3, True)
    (second,) = waits(at(*COATED, cures=(JOINT, *SEATS, COAT)), 47, pieces=3)
    assert (second.sections, second.is_first_coat) == (3, False)


@pytest.mark.parametrize(
    ("place", "use"),
    [(GRIP, "bond"), ("tip-top", "bond"), (WRAPS, "finish"), ("trim wrap", "finish"), ("wrapping", "finish")],
)
def test_what_is_wrapped_is_coated_and_the_rest_is_glued(place: str, use: str) -> None:
    assert use_at(place) == use
