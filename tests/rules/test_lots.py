"""Whether a lot may be used, day by day at the edges, and what may be written down of one."""

from dataclasses import replace
from datetime import date
from math import inf, nan
from typing import Any

import pytest

from shop.rules.lots import (
    LotEntry,
    LotFact,
    LotLeft,
    fault_of_lot,
    faults_of_lot_entry,
    last_day,
    shortage_of_lot,
    warning_of_mix,
)

GLUE, OTHER = 1, 2
TODAY = date(2026, 3, 2)
LOT = LotFact(7, GLUE, "A", "R-2207", date(2026, 1, 10), None, None, None, None, "")


def day(month: int, number: int) -> date:
    return date(2026, month, number)


@pytest.mark.parametrize(
    ("said", "last"),
    [
        ({}, None),
        ({"use_by": day(6, 1)}, day(6, 1)),
        ({"opened_life_days": 30}, None),
        ({"opened_on": day(1, 20)}, None),
        ({"opened_on": day(1, 20), "opened_life_days": 30}, day(2, 19)),
        ({"opened_on": day(1, 20), "opened_life_days": 30, "use_by": day(6, 1)}, day(2, 19)),
        ({"opened_on": day(1, 20), "opened_life_days": 30, "use_by": day(2, 1)}, day(2, 1)),
        ({"opened_on": date(2028, 2, 28), "opened_life_days": 1}, date(2028, 2, 29)),
    ],
)
def test_the_last_day_is_the_earlier_of_the_two(said: dict[str, Any], last: date | None) -> None:
    assert last_day(replace(LOT, **said)) == last


OPEN = {"opened_on": day(1, 20), "opened_life_days": 30}


@pytest.mark.parametrize(
    ("said", "part", "on", "fault"),
    [
        ({}, "A", TODAY, ""),
        ({}, "B", TODAY, "cannot serve as part B"),
        ({"part": "B"}, "A", TODAY, "cannot serve as part A"),
        ({"part": "kit"}, "A", TODAY, ""),
        ({"part": "kit"}, "B", TODAY, ""),
        ({"adhesive_id": OTHER}, "A", TODAY, "belongs to another adhesive"),
        ({}, "A", day(1, 9), "came on 2026-01-10 only"),
        ({}, "A", day(1, 10), ""),
        ({"use_by": day(3, 2)}, "A", day(3, 2), ""),
        ({"use_by": day(3, 2)}, "A", day(3, 3), "its use-by date was 2026-03-02"),
        (OPEN, "A", day(2, 19), ""),
        (OPEN, "A", day(2, 20), "opened on 2026-01-20, it kept for 30 days, up to 2026-02-19"),
        ({"emptied_on": day(3, 2)}, "A", day(3, 2), ""),
        ({"emptied_on": day(3, 2)}, "A", day(3, 3), "was used up on 2026-03-02"),
        ({"quarantined_reason": "brown"}, "A", TODAY, "is quarantined: brown."),
        ({"quarantined_reason": "brown", "use_by": day(1, 11)}, "A", TODAY, "is quarantined"),
    ],
)
def test_a_lot_may_be_used_or_it_is_said_why_not(
    said: dict[str, Any], part: str, on: date, fault: str
) -> None:
    found = fault_of_lot(replace(LOT, **said), part, GLUE, on)
    assert bool(found) == bool(fault)
    assert fault in found
    assert not found or (found.startswith("Lot R-2207 (") and found.endswith("."))


ENTRY = LotEntry("A", "R-2207", day(1, 10))


@pytest.mark.parametrize(
    "said",
    [
        {},
        {"part": "kit", "number": "x" * 60, "position": "y" * 60},
        {"received_on": TODAY, "opened_on": TODAY},
        {"received_on": date(2000, 1, 1), "use_by": date(2100, 1, 1)},
        {"use_by": day(1, 1)},
        {"opened_life_days": 1},
        {"opened_life_days": 3650},
        {"amount_ml": 0.1},
        {"amount_ml": 100_000.0},
    ],
)
def test_the_last_that_can_be_is_taken(said: dict[str, Any]) -> None:
    assert faults_of_lot_entry(replace(ENTRY, **said), TODAY) == {}


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({"part": "C"}, "part"),
        ({"part": ""}, "part"),
        ({"number": ""}, "number"),
        ({"number": "  "}, "number"),
        ({"number": "x" * 61}, "number"),
        ({"position": "y" * 61}, "position"),
        ({"received_on": None}, "received_on"),
        ({"received_on": day(3, 3)}, "received_on"),
        ({"received_on": date(1999, 12, 31)}, "received_on"),
        ({"opened_on": day(3, 3)}, "opened_on"),
        ({"opened_on": day(1, 9)}, "opened_on"),
        ({"use_by": date(2100, 1, 2)}, "use_by"),
        ({"opened_life_days": 0}, "opened_life_days"),
        ({"opened_life_days": 3651}, "opened_life_days"),
        ({"amount_ml": 0.0}, "amount_ml"),
        ({"amount_ml": 100_000.5}, "amount_ml"),
        ({"amount_ml": nan}, "amount_ml"),
        ({"amount_ml": inf}, "amount_ml"),
    ],
)
def test_what_no_lot_can_be_is_said_beside_its_field(said: dict[str, Any], field: str) -> None:
    assert list(faults_of_lot_entry(replace(ENTRY, **said), TODAY)) == [field]


def test_every_fault_is_told_at_once() -> None:
    entry = LotEntry("C", "", None, opened_on=day(4, 1), amount_ml=-1.0)
    assert set(faults_of_lot_entry(entry, TODAY)) == {
        "part", "number", "received_on", "opened_on", "amount_ml",
    }  # fmt: skip


SAID = "Lot R-2207 (part A) has "


@pytest.mark.parametrize(
    ("left", "takes_ml", "words"),
    [
        (LotLeft(15.0), 15.0, ""),
        # A tenth of a millilitre is the finest that is told, so less than that is no shortage.
        (LotLeft(14.96), 15.0, ""),
        (LotLeft(14.9), 15.0, f"{SAID}about 14.9 mL left by the record; this cup takes 15 mL of it."),
        (LotLeft(0.0), 15.0, f"{SAID}nothing left by the record; this cup takes 15 mL of it."),
        (LotLeft(0.0), None, f"{SAID}nothing left by the record."),
        (LotLeft(0.1), None, ""),
        # Nobody said how much came, so nobody can say that it is short, however much was drawn unsaid.
        (LotLeft(None, 3), 15.0, ""),
        (LotLeft(15.0, 3), 15.0, ""),
        (
            LotLeft(12.0, 1),
            15.0,
            f"{SAID}about 12 mL left by the record; this cup takes 15 mL of it. 1 mix from it did not say "
            "how much it took, so there may be less.",
        ),
        (
            LotLeft(12.0, 3),
            15.0,
            f"{SAID}about 12 mL left by the record; this cup takes 15 mL of it. 3 mixes from it did not say "
            "how much they took, so there may be less.",
        ),
    ],
)
def test_a_lot_that_does_not_last_for_a_cup_is_warned_of(
    left: LotLeft, takes_ml: float | None, words: str
) -> None:
    assert shortage_of_lot(LOT, left, takes_ml) == words


def test_a_mix_from_a_quarantined_lot_is_warned_of() -> None:
    assert warning_of_mix(LOT) == ""
    assert warning_of_mix(replace(LOT, use_by=day(1, 1))) == "", "what was wrong at mixing was asked then"
    assert warning_of_mix(replace(LOT, part="kit", quarantined_reason="stringy")) == (
        "Lot R-2207 (kit), which is in this cup, is quarantined: stringy. Better mix again from another lot."
    )
