"""What each kind of move does to a count, at the edges, and what may be written down of a counted item."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from shop.rules.stock import (
    MOST_COUNT,
    MOVE_WORDS,
    Level,
    MoveKind,
    StockEntry,
    counted,
    days_left,
    fault_of_count,
    fault_of_lead_days,
    fault_of_unit_cost,
    faults_of_entry,
    moved,
    refusal_of_move,
    usual_unit,
)

# Five lie there, of which two are set aside.
LEVEL = Level(5, 2)
ENTRY = StockEntry("C12")


@pytest.mark.parametrize(
    ("kind", "count", "kept", "after"),
    [
        (MoveKind.RECEIVED, 3, 3, Level(8, 2)),
        (MoveKind.SET_ASIDE, 3, 3, Level(5, 5)),
        (MoveKind.PUT_BACK, 2, -2, Level(5, 0)),
        (MoveKind.USED, 2, -2, Level(3, 0)),
        (MoveKind.CAME_OFF, 1, 1, Level(6, 2)),
        (MoveKind.USED_UP, 3, -3, Level(2, 2)),
        (MoveKind.RETURNED, 3, -3, Level(2, 2)),
        (MoveKind.COUNTED, 4, 4, Level(9, 2)),
        (MoveKind.COUNTED, -3, -3, Level(2, 2)),
        (MoveKind.COUNTED, 0, 0, Level(5, 2)),
    ],
)
def test_a_move_changes_the_count_by_its_kind(kind: MoveKind, count: int, kept: int, after: Level) -> None:
    assert counted(kind, count) == kept
    assert moved(LEVEL, kind, count) == after
    assert refusal_of_move(LEVEL, kind, count, "Ring guide 8") == ""


@pytest.mark.parametrize(
    ("level", "kind", "count", "says"),
    [
        (LEVEL, MoveKind.SET_ASIDE, 4, "Only 3 × Ring guide 8 are free; 4 cannot be set aside."),
        (Level(3, 2), MoveKind.SET_ASIDE, 2, "Only 1 × Ring guide 8 is free; 2 cannot be set aside."),
        (Level(), MoveKind.SET_ASIDE, 1, "No Ring guide 8 is free: none lies on the shelf."),
        (
            Level(1, 1), MoveKind.SET_ASIDE, 1,
            "No Ring guide 8 is free: the one on the shelf is set aside for another rod.",
        ),
        (
            Level(4, 4), MoveKind.SET_ASIDE, 1,
            "No Ring guide 8 is free: all 4 on the shelf are set aside for other rods.",
        ),
        (LEVEL, MoveKind.PUT_BACK, 3, "Only 2 × Ring guide 8 are set aside; 3 cannot be taken."),
        (Level(5, 1), MoveKind.USED, 2, "Only 1 × Ring guide 8 is set aside; 2 cannot be taken."),
        (Level(1, 0), MoveKind.USED_UP, 2, "Only 1 × Ring guide 8 lies on the shelf."),
        (Level(2, 0), MoveKind.RETURNED, 3, "Only 2 × Ring guide 8 lie on the shelf."),
        (LEVEL, MoveKind.COUNTED, -6, "Only 5 × Ring guide 8 lie on the shelf."),
        (
            LEVEL, MoveKind.RETURNED, 4,
            "2 × Ring guide 8 are set aside for rods, and only 1 would be left; "
            "put some of those back first.",
        ),
        (
            Level(5, 1), MoveKind.COUNTED, -5,
            "1 × Ring guide 8 is set aside for rods, and only 0 would be left; put some of those back first.",
        ),
        (Level(MOST_COUNT), MoveKind.RECEIVED, 1, "More than 100,000 × Ring guide 8 cannot be counted."),
    ],
)  # fmt: skip
def test_what_is_not_there_cannot_be_moved(level: Level, kind: MoveKind, count: int, says: str) -> None:
    assert refusal_of_move(level, kind, count, "Ring guide 8") == says


def test_every_kind_of_move_has_its_words() -> None:
    assert set(MOVE_WORDS) == set(MoveKind)
    assert Level(5, 2).free == 3


@pytest.mark.parametrize(
    ("count", "least", "is_fault"),
    [
        (0, 1, True), (1, 1, False), (MOST_COUNT, 1, False), (MOST_COUNT + 1, 1, True), (0, 0, False),
        (-1, 0, True),
    ],
)  # fmt: skip
def test_a_count_is_one_that_somebody_means(count: int, least: int, is_fault: bool) -> None:
    assert bool(fault_of_count(count, least)) == is_fault


@pytest.mark.parametrize(
    ("said", "fields"),
    [
        ({}, set()),
        ({"code": " "}, {"code"}),
        ({"code": "x" * 61}, {"code"}),
        ({"code": "C\t1"}, {"code"}),
        ({"unit": ""}, {"unit"}),
        ({"unit": "x" * 21}, {"unit"}),
        ({"bin": "x" * 61, "supplier_code": "y" * 61}, {"bin", "supplier_code"}),
        ({"bin": "x" * 60, "supplier_code": "y" * 60, "code": "z" * 60}, set()),
        ({"least": -1}, {"least"}),
        ({"least": MOST_COUNT}, set()),
        ({"lead_days": -1}, {"lead_days"}),
        ({"lead_days": 3651}, {"lead_days"}),
        ({"lead_days": 0}, set()),
    ],
)
def test_what_may_be_said_of_a_counted_item(said: dict[str, Any], fields: set[str]) -> None:
    assert set(faults_of_entry(replace(ENTRY, **said))) == fields


def test_what_one_costs_and_how_long_it_takes() -> None:
    assert [bool(fault_of_unit_cost(cents)) for cents in (None, 0, 10_000_000, 10_000_001, -1)] == [
        False, False, False, True, True,
    ]  # fmt: skip
    assert not fault_of_lead_days(None)
    assert [usual_unit(kind) for kind in ("guide", "thread", "adhesive", "blank")] == [
        "piece", "share", "bottle", "piece",
    ]  # fmt: skip


def test_the_days_left_count_the_last_day_itself() -> None:
    today = date(2026, 3, 2)
    assert days_left(None, today) is None
    assert [days_left(date(2026, 3, day), today) for day in (9, 2, 1)] == [7, 0, -1]
