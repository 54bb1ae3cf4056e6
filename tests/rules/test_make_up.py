"""A make-up as a value: kept and read back; and what may not be of one, by field."""

import json
from dataclasses import replace

import pytest

from shop.rules.make_up import GuideSpot, MakeUp, Part, Ways, document_of, make_up_from
from shop.rules.make_up_faults import faults_of_make_up
from tests.rules.make_ups import BLANK, CASTING, FORE, GUIDES, REAR, RING, SEAT, casting, nm


@pytest.mark.parametrize("value", [CASTING, MakeUp(3, "fly"), casting(bond=None, parts=(), guides=())])
def test_what_is_kept_of_a_make_up_reads_back_the_same(value: MakeUp) -> None:
    assert make_up_from(json.loads(json.dumps(document_of(value)))) == value


def test_a_make_up_that_can_be_built_has_no_faults() -> None:
    assert faults_of_make_up(CASTING) == {}
    assert faults_of_make_up(MakeUp(1, "casting")) == {}


CAP = Part("butt cap", "butt cap", "Cap", 0, nm("1"), 9, {"bore": nm("0.3")})
ARBOR = Part("reel seat arbor", "arbor", "Arbor", nm("9 1/2"), nm("14"), 8)


@pytest.mark.parametrize(
    ("parts", "field", "words"),
    [
        ((replace(REAR, place=" "),), "parts.1.place", "name of its place"),
        ((REAR, replace(FORE, place="rear grip")), "parts.2.place", "named once"),
        ((replace(REAR, from_butt_nm=-1),), "parts.1.from_butt", "before the butt"),
        ((replace(REAR, to_butt_nm=REAR.from_butt_nm),), "parts.1.to_butt", "not past its beginning"),
        ((replace(FORE, to_butt_nm=BLANK.length_nm + 1),), "parts.1.to_butt", "past the tip"),
        ((REAR, replace(SEAT, from_butt_nm=nm("9 1/2") - 1)), "parts.2.from_butt", "rear grip still lies"),
        ((replace(SEAT, sizes={"bore": nm("0.5")}),), "parts.1.component", "cannot pass there"),
        (tuple(replace(REAR, place=f"ring {n}") for n in range(21)), "parts", "At most 20"),
    ],
)
def test_a_handle_that_cannot_be_says_which_part_and_why(
    parts: tuple[Part, ...], field: str, words: str
) -> None:
    assert words in faults_of_make_up(casting(parts=parts))[field]


@pytest.mark.parametrize("kind", ["butt cap", "arbor"])
def test_two_caps_or_two_arbors_do_not_lie_in_one_place(kind: str) -> None:
    two = tuple(Part(name, kind, name, 0, nm("1")) for name in ("first", "second"))
    assert "first still lies" in faults_of_make_up(casting(parts=two))["parts.2.from_butt"]


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"thread_nm": 0}, "thread"),
        ({"tape_nm": -1}, "tape"),
        ({"wrap_nm": 0}, "wrap"),
        ({"ream_limit_nm": 0}, "ream_limit"),
        ({"clearance_nm": -1}, "clearance"),
        ({"facing_nm": -1}, "facing"),
        ({"hood_gap_nm": -1}, "hood_gap"),
        ({"recess_relief_nm": nm("13")}, "recess_relief"),
        ({"reel_from_butt_nm": BLANK.length_nm + 1}, "reel_from_butt"),
    ],
)
def test_a_measure_that_no_bench_has_is_said_by_its_field(changes: dict[str, int], field: str) -> None:
    assert list(faults_of_make_up(casting(ways=Ways(**changes)))) == [field]


def test_a_grip_may_fit_without_room_or_facing() -> None:
    assert faults_of_make_up(casting(ways=Ways(clearance_nm=0, facing_nm=0, hood_gap_nm=0))) == {}


def test_a_part_may_end_where_the_next_begins_and_at_the_very_tip() -> None:
    assert faults_of_make_up(casting(parts=(REAR, SEAT))) == {}
    to_the_tip = casting(parts=(replace(FORE, to_butt_nm=BLANK.length_nm),), guides=())
    assert faults_of_make_up(to_the_tip) == {}


def test_a_cap_goes_over_the_grip_and_an_arbor_under_the_seat() -> None:
    assert faults_of_make_up(casting(parts=(CAP, REAR, SEAT, ARBOR, FORE))) == {}


def guides(*inches: str) -> tuple[GuideSpot, ...]:
    return tuple(GuideSpot(nm(at), "Ring guide 8", 4, RING) for at in inches)


@pytest.mark.parametrize(
    ("train", "field", "words"),
    [
        (guides("8", "4"), "guides.2.from_tip", "out of order"),
        (guides("8", "8"), "guides.2.from_tip", "out of order"),
        ((replace(GUIDES[0], from_tip_nm=-1),), "guides.1.from_tip", "past the tip"),
        (guides("84"), "guides.1.from_tip", "does not stand on the blank"),
        (guides("68"), "guides.1.from_tip", "on the handle"),
        ((replace(GUIDES[0], feet=3),), "guides.1.feet", "one foot or two"),
        (guides(*(str(n) for n in range(1, 32))), "guides", "At most 30"),
    ],
)
def test_a_train_that_cannot_be_says_which_guide_and_why(
    train: tuple[GuideSpot, ...], field: str, words: str
) -> None:
    assert words in faults_of_make_up(casting(guides=train))[field]


def test_a_guide_may_stand_where_the_handle_ends() -> None:
    assert faults_of_make_up(casting(guides=guides("67 1/2"))) == {}


def test_the_tip_top_stands_at_the_tip_and_is_not_counted() -> None:
    tip = GuideSpot(0, "Tip-top 5 1/2", 5)
    value = casting(guides=(tip, *GUIDES))
    assert faults_of_make_up(value) == {}
    assert value.tip_top == tip
    assert value.train == GUIDES
    assert casting(guides=GUIDES).tip_top is None


def test_places_of_guides_are_told_from_the_butt_too() -> None:
    assert CASTING.from_butt(GUIDES[-1]) == nm("32")
    assert casting(blank=None).from_butt(GUIDES[-1]) is None
