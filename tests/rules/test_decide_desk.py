"""Holds about parts, money and the customer's yes: what shuts them, what opens them, who may release them."""

from dataclasses import replace
from typing import Any

import pytest

from shop.rules.build_parts import LOOK_ALIKE_CHECK
from shop.rules.decide import ClearedBy, ShutHold, decide
from shop.rules.facts import ApprovalFact, Facts, MoneyFact, PartFact, Reached, Tick
from shop.rules.judging_desk import GLUED_AT
from shop.rules.ready_made import READY_MADE
from shop.rules.sequences import Hold, HoldKind, Sequence, Stage
from tests.rules.builders import CLOSED

GUIDES = PartFact("guide", "Ring guide 8 mm", needed=4, set_aside=4, on_shelf=2)
SEAT = PartFact("reel seat", "Casting seat", needed=1, set_aside=1, on_shelf=0)


def judged(kind: HoldKind, uses: tuple[str, ...] = (), **known: Any) -> tuple[ShutHold, ...]:
    """The holds of one stage that waits for nothing else."""
    sequence = Sequence("short", "casting", (Stage("laid out", holds=(Hold(kind),), uses=uses),))
    return decide(sequence, Facts(**known), "laid out", CLOSED).holds


def part(**other: Any) -> PartFact:
    said: dict[str, Any] = {"group": "guide", "name": "Ring guide 8 mm", "needed": 4, "on_shelf": 0}
    return PartFact(**{**said, **other})


@pytest.mark.parametrize(
    ("uses", "parts", "says"),
    [
        ((), (), []),
        ((), (GUIDES, SEAT), []),
        # What nobody counts holds nothing.
        ((), (part(on_shelf=None),), []),
        (
            (),
            (part(on_shelf=9),),
            ["4 × Ring guide 8 mm are not set aside for this rod; 9 free on the shelf"],
        ),
        (
            (),
            (part(set_aside=3, on_shelf=1),),
            ["1 of 4 × Ring guide 8 mm is not set aside for this rod; 1 free on"],
        ),
        (
            (),
            (part(set_aside=1, used=2),),
            ["1 of 4 × Ring guide 8 mm is not set aside for this rod; none free on"],
        ),
        ((), (part(used=4),), []),
        # A stage that names what it uses looks at that alone.
        (("reel seat",), (part(), SEAT), []),
        (("guide", "reel seat"), (part(), SEAT), ["4 × Ring guide 8 mm are not"]),
    ],
)
def test_parts_must_be_set_aside(uses: tuple[str, ...], parts: tuple[PartFact, ...], says: list[str]) -> None:
    shut = judged(HoldKind.PARTS, uses, parts=parts)
    assert [hold.reason.startswith(said) for hold, said in zip(shut, says, strict=True)] == [True] * len(says)
    assert all(hold.waivable and hold.cleared_by is ClearedBy.WORK for hold in shut)


def money(total: int | None, deposit: int | None, paid: int) -> MoneyFact:
    return MoneyFact("EUR", total, deposit, paid)


@pytest.mark.parametrize(
    ("kind", "known", "says"),
    [
        (HoldKind.DEPOSIT, None, None),
        (
            HoldKind.DEPOSIT,
            money(None, None, 0),
            "No quote has been agreed, so nobody knows what the deposit",
        ),
        (
            HoldKind.DEPOSIT,
            money(777_34, 388_67, 388_66),
            "The deposit has been paid only in part.",
        ),
        (HoldKind.DEPOSIT, money(777_34, 388_67, 388_67), None),
        (HoldKind.DEPOSIT, money(777_34, 0, 0), None),
        (HoldKind.BALANCE, None, None),
        (
            HoldKind.BALANCE,
            money(None, None, 0),
            "No quote has been agreed, so nobody knows what is to be paid",
        ),
        (
            HoldKind.BALANCE,
            money(777_34, 388_67, 777_33),
            "The whole price has been paid only in part.",
        ),
        (HoldKind.BALANCE, money(777_34, 388_67, 777_34), None),
    ],
)
def test_money_opens_to_the_cent(kind: HoldKind, known: MoneyFact | None, says: str | None) -> None:
    shut = judged(kind, money=known)
    if says is None:
        assert shut == ()
    else:
        assert [hold.reason[: len(says)] for hold in shut] == [says]
        assert (shut[0].waivable, shut[0].cleared_by, shut[0].clears_at) == (True, ClearedBy.PERSON, None)


@pytest.mark.parametrize(
    ("said", "says"),
    [
        (None, None),
        (ApprovalFact(0), "No quote has been sent, so the customer has said yes to nothing."),
        (ApprovalFact(2, quoted=1), "The newest quote is for revision 1; the spec is at revision 2 now."),
        (ApprovalFact(2, quoted=2), "The customer has not said yes to revision 2."),
        (ApprovalFact(2, quoted=2, agreed=1), "The customer has not said yes to revision 2."),
        (
            ApprovalFact(3, quoted=2, agreed=2),
            "The newest quote is for revision 2; the spec is at revision 3 now.",
        ),
        (ApprovalFact(2, quoted=2, agreed=2), None),
        (ApprovalFact(0, quoted=0, agreed=0), None),
    ],
)
def test_a_yes_counts_for_the_revision_it_was_said_to(said: ApprovalFact | None, says: str | None) -> None:
    shut = judged(HoldKind.APPROVAL, approval=said)
    assert [hold.reason for hold in shut] == ([] if says is None else [says])
    assert all(hold.waivable for hold in shut)


def test_what_slides_on_from_the_tip_must_be_on_before_it_is_blocked() -> None:
    seat = Stage("seat glued", uses=("reel seat", "butt cap"))
    tip = Stage("tip-top glued", holds=(Hold(HoldKind.SLIDE_ON),), uses=("tip-top",))
    sequence = Sequence("short", "casting", (tip, seat))
    cap = PartFact("butt cap", "Rubber cap", 1)
    known = Facts(parts=(SEAT, cap, PartFact("tip-top", "Tip-top 5", 1)))
    (shut,) = decide(sequence, known, "tip-top glued", CLOSED).holds
    assert shut.reason.startswith("Casting seat slides on from the tip, at “seat glued”;")
    assert (shut.kind, shut.cleared_by, shut.waivable) == (HoldKind.SLIDE_ON, ClearedBy.NEVER, False)
    on = Facts(parts=known.parts, reached={"seat glued": Reached(CLOSED, "Maren")})
    assert decide(sequence, on, "tip-top glued", CLOSED).allowed


def on_the_rod(*kinds: str) -> tuple[PartFact, ...]:
    return tuple(PartFact(kind, f"a {kind}", 1) for kind in kinds)


@pytest.mark.parametrize("sequence", [item for item in READY_MADE if item.rod_kind != "repair"])
def test_the_ready_made_sequences_let_the_guides_on_when_the_handle_is(sequence: Sequence) -> None:
    """Each stage that puts on something from the tip is missed where it is left out, and no other is."""
    known = on_the_rod("grip", "reel seat", "arbor", "winding check", "trim ring", "butt cap", "guide")
    before = [stage.name for stage in sequence.stages][: sequence.stages.index(laying_out(sequence))]
    missed = set()
    for left_out in (None, *before):
        reached = {name: Reached(CLOSED, "Maren") for name in before if name != left_out}
        facts = Facts(parts=known, reached=reached)
        holds = decide(sequence, facts, laying_out(sequence).name, CLOSED).holds
        if any(hold.kind is HoldKind.SLIDE_ON for hold in holds):
            missed.add(left_out)
    glues = {stage.name for stage in sequence.stages if set(stage.cure_places()) & set(GLUED_AT)}
    assert missed == glues | {stage.name for stage in sequence.stages if "grip" in stage.uses}


def laying_out(sequence: Sequence) -> Stage:
    return next(stage for stage in sequence.stages if Hold(HoldKind.SLIDE_ON) in stage.holds)


def test_what_the_make_up_has_no_more_blocks_nothing() -> None:
    tip = Stage("tip-top glued", holds=(Hold(HoldKind.SLIDE_ON),), uses=("tip-top",))
    sequence = Sequence("short", "casting", (tip, Stage("seat glued", uses=("reel seat",))))
    gone = PartFact("reel seat", "Casting seat", 0, used=1)
    assert decide(sequence, Facts(parts=(gone,)), "tip-top glued", CLOSED).allowed


@pytest.mark.parametrize(
    ("uses", "parts", "is_open"),
    [
        (("reel seat",), (replace(SEAT, is_confirmed=True),), True),
        (("reel seat",), (SEAT,), False),
        (("reel seat",), (replace(SEAT, is_confirmed=True), GUIDES), True),
        ((), (replace(SEAT, is_confirmed=True), GUIDES), False),
        # What nobody counts cannot be scanned, so a person ticks for it.
        (("reel seat",), (replace(SEAT, on_shelf=None, is_confirmed=True),), False),
        (("reel seat",), (replace(SEAT, is_confirmed=True), replace(SEAT, on_shelf=None)), True),
        (("reel seat",), (), False),
    ],
)
def test_holding_the_parts_against_the_rod_ticks_the_check_of_that_name(
    uses: tuple[str, ...], parts: tuple[PartFact, ...], is_open: bool
) -> None:
    hold = Hold(HoldKind.CHECK, check=LOOK_ALIKE_CHECK)
    sequence = Sequence("short", "casting", (Stage("glued", holds=(hold,), uses=uses),))
    assert decide(sequence, Facts(parts=parts), "glued", CLOSED).allowed == is_open
    ticked = Facts(parts=parts, ticks=(Tick(LOOK_ALIKE_CHECK, "Maren"),))
    assert decide(sequence, ticked, "glued", CLOSED).allowed
