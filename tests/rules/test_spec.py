"""A spec as a value: kept and read back, what may not be of one, what it lacks, and what changed in it."""

import json
from dataclasses import replace
from typing import Any

import pytest

from shop.craft.lengths import parse_length
from shop.rules.spec import (
    FIELDS,
    MOST_ROW_NM,
    HandleRow,
    Spec,
    changed_fields,
    document_of,
    faults_of_spec,
    missing_from,
    spec_from,
)

REAR = HandleRow("rear grip", "cork, full wells", parse_length("9 1/2 in"))
SEAT = HandleRow("reel seat", "casting, size 16")
CAP = HandleRow("butt cap", "rubber")
BARE = Spec("casting", "7 ft casting")
WHOLE = Spec(
    "casting", "7 ft casting", blank_id=3, length_words="7 ft", power="heavy", action="fast",
    handle=(REAR, SEAT, CAP), hand_size="large", reel="low profile", reel_foot="2 3/8 in",
    winding_side="left", guides="single foot", guide_count=9, thread_colour="#1f4e7a", thread_name="navy, A",
    trim_colour="#b08d2e", trim_name="gold", inscription="Tight lines", inscription_again="Tight lines",
    inscription_side="top", wishes="Fits a short boot.\nNo keeper.",
)  # fmt: skip


@pytest.mark.parametrize("spec", [BARE, WHOLE])
def test_what_is_kept_of_a_spec_reads_back_the_same(spec: Spec) -> None:
    assert spec_from(json.loads(json.dumps(document_of(spec)))) == spec
    assert faults_of_spec(spec) == {}


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"title": " "}, "title", "goes by that title"),
        ({"title": "x" * 121}, "title", "at most 120"),
        ({"rod_kind": "cane"}, "rod_kind", "must be one of casting"),
        ({"winding_side": "top"}, "winding_side", "as seen from the butt"),
        ({"inscription_side": "back"}, "inscription_side", "as seen from the butt"),
        ({"thread_colour": ""}, "thread_colour", "#rrggbb"),
        ({"thread_colour": "#1F4E7A"}, "thread_colour", "small letters"),
        ({"trim_colour": "gold"}, "trim_colour", "#rrggbb"),
        ({"guide_count": 0}, "guide_count", "1 to 30"),
        ({"guide_count": 31}, "guide_count", "1 to 30"),
        ({"wishes": "x" * 4001}, "wishes", "at most 4000"),
        ({"power": "heavy\n"}, "power", "on one line"),
        ({"reel": "a\0b"}, "reel", "cannot be kept"),
        ({"handle": (REAR,) * 21}, "handle", "At most 20"),
        ({"handle": (REAR, HandleRow("keel", "x"))}, "handle.2.place", "Row 2: choose a part"),
        ({"handle": (HandleRow("gimbal"),)}, "handle.1.said", "what the gimbal is like"),
        ({"handle": (HandleRow("gimbal", "x" * 121),)}, "handle.1.said", "at most 120"),
        ({"handle": (replace(REAR, length_nm=0),)}, "handle.1.length", "more than nothing"),
        ({"handle": (replace(REAR, length_nm=MOST_ROW_NM + 1),)}, "handle.1.length", "at most 60 in"),
        ({"inscription_again": "Tight limes"}, "inscription_again", "from character 9 on: “nes” and “mes”"),
        ({"inscription_again": "Tight"}, "inscription_again", "from character 6 on"),
        ({"inscription": ""}, "inscription_again", "itself is empty"),
    ],
)  # fmt: skip
def test_a_spec_that_cannot_be_says_which_field_and_why(
    changes: dict[str, Any], field: str, words: str
) -> None:
    faults = faults_of_spec(replace(WHOLE, **changes))
    assert list(faults) == [field]
    assert words in faults[field]


@pytest.mark.parametrize(
    "changes",
    [
        {"title": "x" * 120}, {"guide_count": 1}, {"guide_count": 30}, {"wishes": "x" * 4000},
        {"handle": (REAR,) * 20}, {"handle": (replace(REAR, length_nm=MOST_ROW_NM),)},
        {"trim_colour": "", "trim_name": ""}, {"inscription_again": ""}, {"winding_side": ""},
    ],
)  # fmt: skip
def test_a_spec_may_go_to_its_limits(changes: dict[str, Any]) -> None:
    assert faults_of_spec(replace(WHOLE, **changes)) == {}


def test_an_inscription_is_proofed_when_it_was_typed_twice_the_same() -> None:
    assert WHOLE.is_proofed
    assert not replace(WHOLE, inscription_again="").is_proofed
    assert not BARE.is_proofed


@pytest.mark.parametrize(
    ("spec", "missing"),
    [
        (WHOLE, ()),
        (BARE, ("the blank", "the grips", "the reel seat", "the guides", "the thread")),
        (replace(WHOLE, blank_id=None), ()),
        (replace(WHOLE, blank_id=None, length_words=""), ("the blank",)),
        (replace(WHOLE, handle=(SEAT, CAP)), ("the grips",)),
        (replace(WHOLE, guides=""), ()),
        (replace(WHOLE, guides="", guide_count=None), ("the guides",)),
        (replace(BARE, rod_kind="repair"), ("what is to be repaired",)),
        (replace(BARE, rod_kind="repair", wishes="The tip-top came off."), ()),
    ],
)
def test_a_quote_is_told_what_it_would_want_to_know(spec: Spec, missing: tuple[str, ...]) -> None:
    assert missing_from(spec) == missing


@pytest.mark.parametrize(
    ("changes", "names"),
    [
        ({}, ()),
        ({"thread_colour": "#2f6b3a"}, ("thread_colour",)),
        ({"handle": (replace(REAR, said="foam"), SEAT, CAP)}, ("grips",)),
        ({"handle": (REAR, SEAT)}, ("butt_end",)),
        # The order of rows of different kinds means nothing.
        ({"handle": (CAP, SEAT, REAR)}, ()),
        ({"handle": (REAR, CAP), "title": "8 ft"}, ("reel_seat", "title")),
    ],
)
def test_changes_are_told_by_field_and_handles_by_their_parts(
    changes: dict[str, Any], names: tuple[str, ...]
) -> None:
    assert changed_fields(WHOLE, replace(WHOLE, **changes)) == names


def test_every_part_of_a_spec_is_a_field() -> None:
    told = {field.name for field in FIELDS if not field.kinds}
    assert told == set(document_of(WHOLE)) - {"handle"}
    rows = [row for field in FIELDS for row in WHOLE.rows_of(*field.kinds)]
    assert sorted(row.place for row in rows) == ["butt cap", "rear grip", "reel seat"]
