"""Intakes: the list of what is looked at, what may not be, and when it may be signed."""

from dataclasses import replace
from datetime import date

import pytest

from shop.rules.intakes import (
    Condition,
    IntakeSaid,
    blank_list,
    conditions_from,
    document_of,
    fault_of_signing,
    faults_of_intake,
    guides_among,
    items_for,
    rest_sound,
    said_of_conditions,
    sides_lacking,
    with_guides,
    work_of,
)

TODAY = date(2026, 3, 2)
SAID = IntakeSaid(TODAY, "7 ft casting, dark green", "A new tip-top.", blank_list(2))


def test_the_list_has_a_ring_and_a_wrap_for_every_guide() -> None:
    items = items_for(2)
    assert items[:5] == ("tip-top", "guide 1 ring", "guide 1 wrap", "guide 2 ring", "guide 2 wrap")
    assert {"blank", "reel seat", "butt cap", "finish", "missing parts"} <= set(items)
    assert len(items_for(0)) == len(items) - 4
    assert [guides_among(blank_list(n)) for n in (0, 1, 30)] == [0, 1, 30]


def test_other_rows_for_guides_keep_what_was_said_of_those_that_stay() -> None:
    said = (Condition("guide 1 ring", "cracked", "grooved"), *blank_list(2)[2:])
    more = with_guides(said, 3)
    assert guides_among(more) == 3
    assert Condition("guide 1 ring", "cracked", "grooved") in more
    assert len(with_guides(more, 0)) == len(items_for(0))


def test_the_rest_is_sound_and_what_was_seen_stays() -> None:
    seen = Condition("blank", "cracked", "at the third guide")
    assert rest_sound((seen, Condition("finish", note="dull"))) == (
        seen,
        Condition("finish", "sound", "dull"),
    )


def test_a_list_is_kept_and_read_back() -> None:
    said = (Condition("blank", "cracked", "at the third guide"),)
    assert conditions_from(document_of(said)) == said


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"rod": " "}, "rod"),
        ({"rod": "x" * 201}, "rod"),
        ({"rod": "two\nlines"}, "rod"),
        ({"wish": ""}, "wish"),
        ({"wish": "x" * 4001}, "wish"),
        ({"wish": "\0"}, "wish"),
        ({"brought_on": date(2026, 3, 3)}, "brought_on"),
        ({"conditions": (Condition("handlebar"),)}, "conditions.1.item"),
        ({"conditions": (Condition("guide 31 ring"),)}, "conditions.1.item"),
        ({"conditions": (Condition("blank"), Condition("blank"))}, "conditions.2.item"),
        ({"conditions": (Condition("blank", "so so"),)}, "conditions.1.state"),
        ({"conditions": (Condition("blank", "sound", "x" * 201),)}, "conditions.1.note"),
    ],
)
def test_what_cannot_be_is_said_by_field(changes: dict[str, object], field: str) -> None:
    assert list(faults_of_intake(replace(SAID, **changes), TODAY)) == [field]  # type: ignore[arg-type]


def test_what_can_be_has_no_fault() -> None:
    assert faults_of_intake(SAID, TODAY) == {}
    assert faults_of_intake(replace(SAID, conditions=blank_list(30)), TODAY) == {}


@pytest.mark.parametrize(
    ("name", "conditions", "field"),
    [
        ("Ada Thorn", blank_list(1), "conditions"),
        ("", (Condition("blank", "sound"),), "signed_name"),
        ("x" * 121, (Condition("blank", "sound"),), "signed_name"),
        ("Ada Thorn", (Condition("blank", "sound"),), None),
    ],
)
def test_it_is_signed_by_somebody_once_something_was_looked_at(
    name: str, conditions: tuple[Condition, ...], field: str | None
) -> None:
    assert list(fault_of_signing(name, conditions)) == ([] if field is None else [field])


def test_it_is_told_in_words_that_name_nobody() -> None:
    said = (Condition("blank", "cracked", "Ada's"), Condition("finish", "sound"), Condition("butt cap"))
    assert said_of_conditions(said) == "1 of 3 points amiss, 1 not looked at."
    assert work_of("Repair: new tip-top") == "new tip-top"
    assert work_of("ours") == "ours"


@pytest.mark.parametrize(
    ("sides", "lacking"),
    [([], ("left", "right")), (["left", "top"], ("right",)), (["right", "left", "left"], ())],
)
def test_both_sides_are_to_be_photographed(sides: list[str], lacking: tuple[str, ...]) -> None:
    assert sides_lacking(sides) == lacking
