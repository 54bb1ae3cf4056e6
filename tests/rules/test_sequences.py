"""What keeps a sequence from making sense, what is only doubtful, and holds kept and read back."""

from dataclasses import replace

import pytest

from shop.craft.quantities import parse_quantity
from shop.rules.ready_made import READY_MADE
from shop.rules.sequences import (
    FIGURES,
    MOST_NAME,
    MOST_STAGES,
    MOST_WORDS,
    Hold,
    HoldKind,
    Record,
    RecordKind,
    Sequence,
    Stage,
    doubts_of,
    hold_from,
    needs_of,
)
from tests.rules.builders import faults_of

INCH, GRAM = parse_quantity("1 in"), parse_quantity("1 g")
CURE = Record(RecordKind.CURE, "rear grip")


def order(*names: str) -> Hold:
    return Hold(HoldKind.ORDER, stages=names)


def figure(**other: object) -> Hold:
    return replace(Hold(HoldKind.MEASUREMENT, name="cut", nominal=INCH, tolerance=INCH), **other)  # type: ignore[arg-type]


def of(*stages: Stage, name: str = "s", rod_kind: str = "casting") -> Sequence:
    return Sequence(name, rod_kind, stages)


def held(*holds: Hold) -> Sequence:
    """Three stages, of which the one in the middle has the holds."""
    return of(Stage("a"), Stage("b", holds=holds), Stage("c"))


@pytest.mark.parametrize(
    ("sequence", "says"),
    [
        (of(Stage("a"), name=" "), "The sequence needs a name."),
        (of(Stage("a"), name="x" * (MOST_NAME + 1)), "longer than 80 characters"),
        (of(Stage("a"), rod_kind="whale"), "“whale” is not a kind of rod"),
        (of(), "this one has 0"),
        (of(*(Stage(str(n)) for n in range(MOST_STAGES + 1))), "this one has 61"),
        (of(Stage("a"), Stage(" ")), "Stage 2 has no name."),
        (of(Stage("a"), Stage("a")), "Two stages are called “a”"),
        (of(Stage("x" * (MOST_NAME + 1))), "longer than 80 characters"),
        (of(Stage("a", "x" * (MOST_WORDS + 1))), "longer than 200 characters"),
        (of(Stage("a", attended_minutes=-1)), "fewer than 0 minutes"),
        (of(Stage("a", records=(Record(RecordKind.CURE, " "),))), "records as cure needs a name"),
        (of(Stage("a", records=(CURE, CURE))), "records the cure “rear grip” twice"),
        (of(Stage("a", draws=("gloss", "bell"))), "draws “bell”, which no drawing has"),
        (
            of(Stage("a", figures=("glue", "luck"))),
            "shows “luck”, which no bench ticket has; use blank, spine",
        ),
        (held(Hold(HoldKind.ORDER)), "The order hold on “b” needs stages."),
        (held(Hold(HoldKind.SET)), "The set hold on “b” needs places."),
        (held(Hold(HoldKind.FULL_CURE)), "needs places"),
        (held(Hold(HoldKind.POT_LIFE)), "needs places"),
        (held(Hold(HoldKind.RECOAT, places=("guide wraps",))), "needs place."),
        (held(Hold(HoldKind.CHECK)), "needs check"),
        (held(figure(name="")), "needs name"),
        (held(figure(nominal=None)), "needs nominal too, or neither of the two."),
        (held(figure(tolerance=None)), "needs tolerance too, or neither of the two."),
        (held(figure(tolerance=GRAM)), "another kind of quantity"),
        (held(figure(tolerance=replace(INCH, amount=-1))), "below nothing"),
        (held(Hold(HoldKind.SET, places=("rear grip", ""))), "an empty name among its stages or places"),
        (held(order("varnished")), "names “varnished”, which is not a stage of this sequence"),
        (held(order("b")), "waits for “b”, which does not come before it"),
        (held(order("a", "c")), "waits for “c”, which does not come before it"),
    ],
)
def test_what_cannot_be_is_said(sequence: Sequence, says: str) -> None:
    faults = faults_of(sequence)
    assert len(faults) == 1
    assert says in faults[0]


@pytest.mark.parametrize(
    "sequence",
    [
        of(Stage("x" * MOST_NAME, "w" * MOST_WORDS), name="n" * MOST_NAME),
        of(*(Stage(str(n)) for n in range(MOST_STAGES))),
        held(order("a"), Hold(HoldKind.WARM), figure(), Hold(HoldKind.CHECK, check="in line")),
        held(figure(tolerance=replace(INCH, amount=0))),
        held(Hold(HoldKind.MEASUREMENT, name="cut")),
        of(Stage("a", figures=FIGURES)),
    ],
)
def test_the_last_that_can_be_has_no_fault(sequence: Sequence) -> None:
    assert faults_of(sequence) == []


def test_every_fault_is_said_at_once() -> None:
    assert len(faults_of(of(Stage("a"), Stage("a", holds=(Hold(HoldKind.SET),)), rod_kind="whale"))) == 3


@pytest.mark.parametrize("kind", [HoldKind.SET, HoldKind.FULL_CURE, HoldKind.RECOAT])
def test_a_hold_on_a_joint_that_no_earlier_stage_closes_is_doubtful(kind: HoldKind) -> None:
    needs = {"place": "rear grip"} if kind is HoldKind.RECOAT else {"places": ("rear grip",)}
    hold = Hold(kind, **needs)
    says = ["“b” waits for the rear grip, but no stage before it closes anything there."]
    assert doubts_of(held(hold)) == says
    # Closed on reaching the very stage that waits is too late.
    assert doubts_of(of(Stage("a"), Stage("b", holds=(hold,), records=(CURE,)))) == says
    assert doubts_of(of(Stage("a", records=(CURE,)), Stage("b", holds=(hold,)))) == []


def test_a_cure_closed_in_time_needs_no_earlier_stage() -> None:
    assert doubts_of(held(Hold(HoldKind.POT_LIFE, places=("rear grip",)), order("a"))) == []


@pytest.mark.parametrize(
    "hold",
    [
        *dict.fromkeys(hold for sequence in READY_MADE for stage in sequence.stages for hold in stage.holds),
        Hold(HoldKind.CHECK, check="orientation", second_person=True),
        figure(),
        Hold(HoldKind.MEASUREMENT, name="cut"),
        figure(nominal=parse_quantity("3 deg"), tolerance=parse_quantity("0.5 deg")),
    ],
    ids=str,
)
def test_a_hold_is_read_back_as_it_was_kept(hold: Hold) -> None:
    assert hold_from(hold.kind.value, needs_of(hold)) == hold
