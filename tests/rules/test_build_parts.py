"""What a build takes by its make-up, and the part in hand held against it."""

from dataclasses import replace

import pytest

from shop.rules.build_parts import (
    InHand,
    Need,
    fault_of_scan,
    is_by_hand,
    missing,
    needs_of,
    says_parts,
)
from shop.rules.make_up import GuideSpot, MakeUp, Part

REAR = Part("rear grip", "grip", "Cork", 0, 10, component_id=1)
FORE = Part("fore grip", "grip", "Cork", 30, 40, component_id=1)
SEAT = Part("reel seat", "reel seat", "Seat", 10, 30, component_id=2)
WHOLE = MakeUp(
    1, "casting", parts=(REAR, SEAT, FORE),
    guides=(GuideSpot(0, "Tip", 3), GuideSpot(5, "Ring", 4), GuideSpot(9, "Ring", 4), GuideSpot(12, "guide")),
)  # fmt: skip
ALL = [
    Need("blank", 7, None, 1), Need("grip", None, 1, 2), Need("reel seat", None, 2, 1),
    Need("tip-top", None, 3, 1), Need("guide", None, 4, 2),
]  # fmt: skip


@pytest.mark.parametrize(
    ("rod_kind", "blank_id", "make_up", "needs"),
    [
        ("casting", 7, WHOLE, ALL),
        ("casting", None, WHOLE, ALL[1:]),
        ("casting", 7, None, ALL[:1]),
        ("casting", None, None, []),
        # A repair came in with its parts, and with its blank.
        ("repair", 7, WHOLE, []),
        # Nobody knows which part it is, or it is named by hand.
        ("fly", None, replace(WHOLE, parts=(replace(REAR, component_id=None),), guides=()), []),
        ("fly", None, replace(WHOLE, parts=(replace(REAR, kind="thread"),), guides=()), []),
    ],
)
def test_a_build_takes_its_blank_and_what_its_make_up_names(
    rod_kind: str, blank_id: int | None, make_up: MakeUp | None, needs: list[Need]
) -> None:
    assert needs_of(rod_kind, blank_id, make_up) == needs


@pytest.mark.parametrize(
    ("rod_kind", "group", "by_hand"),
    [
        ("casting", "thread", True), ("casting", "guide", False), ("repair", "guide", True),
        ("fly", "blank", False),
    ],
)  # fmt: skip
def test_what_is_named_by_hand(rod_kind: str, group: str, by_hand: bool) -> None:
    assert is_by_hand(rod_kind, group) == by_hand


def test_what_is_missing_is_never_below_nothing() -> None:
    assert [missing(4, 1, 2), missing(4, 4, 0), missing(1, 2, 0), missing(0, 0, 1)] == [1, 0, 0, 0]
    assert says_parts([(4, "Ring guide 8 mm"), (1, "Seat")]) == "4 × Ring guide 8 mm, 1 × Seat"


SHORT, LONG = InHand("reel seat", 2, "Seat 16"), InHand("reel seat", 3, "Seat 16, long")
GRIP, TWIN = InHand("grip", 1, "Cork"), InHand("grip", 9, "Cork")


@pytest.mark.parametrize(
    ("in_hand", "takes", "says"),
    [
        (SHORT, (SHORT, GRIP), ""),
        (LONG, (SHORT, LONG), ""),
        (LONG, (SHORT, GRIP), "in hand is “Seat 16, long”, and the reel seat of this rod is “Seat 16”."),
        (GRIP, (SHORT,), "in hand is “Cork”, a grip, and this rod takes no grip."),
        (InHand("arbor", 5, "Foam"), (), "in hand is “Foam”, an arbor, and this rod takes no arbor."),
        # A number of its own is never another kind's number.
        (InHand("arbor", 2, "Foam"), (SHORT,), "in hand is “Foam”, an arbor, and this rod takes no arbor."),
        # Two of one name are told apart, since their names do not.
        (TWIN, (GRIP,), "in hand is “Cork”, and the grip of this rod is “Cork”, number 1 on file."),
        (
            LONG, (SHORT, InHand("reel seat", 4, "Seat 17")),
            "in hand is “Seat 16, long”, and the reel seat of this rod is “Seat 16” or “Seat 17”.",
        ),
    ],
)  # fmt: skip
def test_a_look_alike_is_told_from_the_right_part(
    in_hand: InHand, takes: tuple[InHand, ...], says: str
) -> None:
    assert fault_of_scan(in_hand, takes) == (says and f"Put it back: {says}")
