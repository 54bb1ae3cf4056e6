"""In which order parts slide on: what shuts whose way, and parts that cannot get to their place."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.craft.faults import SumFault
from shop.craft.fit.sliding import GoesOn, Part, slide_on_order
from shop.craft.lengths import parse_length


def inch(text: str) -> int:
    return parse_length(f"{text} in")


def part(name: str, place: str, goes_on: str = "tip", **sizes: int) -> Part:
    return Part(name, inch(place), GoesOn(goes_on), **sizes)


# Worked by hand: a casting rod, one piece. The winding check must be on before the first guide.
ROD = [
    part("tip-top", "83"),
    part("winding check", "17"),
    part("guide 1", "22", "wrapped on"),
    part("butt cap", "0", "butt"),
    part("rear grip", "1/2", length_nm=inch("9")),
    part("fore grip", "14", length_nm=inch("3")),
    part("reel seat", "9 1/2"),
]


def test_a_rod_goes_together_from_the_butt_and_is_shut_last() -> None:
    steps = slide_on_order(ROD)
    assert [step.part.name for step in steps] == [
        "rear grip", "reel seat", "fore grip", "winding check", "tip-top", "guide 1", "butt cap",
    ]  # fmt: skip


def test_each_step_says_what_must_wait_for_it() -> None:
    steps = {step.part.name: step for step in slide_on_order(ROD)}
    assert set(steps["winding check"].before) == {"tip-top", "guide 1"}
    assert steps["winding check"].reason == (
        "From the tip, before “tip-top” and “guide 1”: it cannot pass over what is fixed there."
    )
    assert steps["guide 1"].reason == (
        "Wrapped on once “winding check”, “rear grip”, “fore grip” and “reel seat” have come past."
    )
    lone = slide_on_order([ROD[1], ROD[2]])[1]
    assert lone.reason == "Wrapped on once “winding check” has come past."
    assert steps["butt cap"].reason.startswith("From the butt; nothing between there")
    assert "at any time" in slide_on_order([part("keeper", "12", "wrapped on")])[0].reason


def test_a_part_wider_than_what_is_in_its_way_need_not_wait() -> None:
    hosel = part("hosel", "20", outside_nm=inch("0.5"))
    ring = part("ring", "10", bore_nm=inch("0.5"))
    assert slide_on_order([hosel, ring])[0].before == ("hosel",)
    wider = replace(ring, bore_nm=inch("0.501"))
    assert all(step.before == () for step in slide_on_order([hosel, wider]))


def test_parts_from_the_butt_go_on_the_one_nearest_the_tip_first() -> None:
    steps = slide_on_order([part("gimbal", "0", "butt"), part("foregrip", "9", "butt")])
    assert [step.part.name for step in steps] == ["foregrip", "gimbal"]
    assert steps[0].before == ("gimbal",)


@given(st.permutations(ROD))
@settings(max_examples=60)
def test_nothing_is_on_before_what_must_pass_it(parts: list[Part]) -> None:
    on: list[str] = []
    for step in slide_on_order(parts):
        assert not set(step.before) & set(on)
        on.append(step.part.name)
    assert on[:5] == ["rear grip", "reel seat", "fore grip", "winding check", "tip-top"]


BLANK = ((0, inch("0.593")), (inch("12"), inch("0.473")))


def test_a_reamed_grip_is_measured_where_its_least_bore_comes_to_lie() -> None:
    # Worked by hand: at 9-1/2 in the blank is 0.498 in.
    grip = part("grip", "1/2", length_nm=inch("9"), bore_nm=inch("0.498"))
    assert len(slide_on_order([grip], BLANK)) == 1
    with pytest.raises(SumFault) as caught:
        slide_on_order([replace(grip, bore_nm=inch("0.4979"))], BLANK)
    assert "smaller than the blank, which is 0.498 in" in caught.value.errors["parts.1.bore"]


def test_a_swelling_on_the_way_stops_a_part() -> None:
    swollen = (*BLANK, (inch("20"), inch("0.6")), (inch("30"), inch("0.3")))
    ring = part("ring", "12", bore_nm=inch("0.55"))
    with pytest.raises(SumFault) as caught:
        slide_on_order([part("seat", "5"), ring], swollen)
    assert "0.600 in" in caught.value.errors["parts.2.bore"]


def test_what_is_wrapped_on_passes_over_nothing() -> None:
    guide = part("guide", "6", "wrapped on", bore_nm=1)
    assert len(slide_on_order([guide], BLANK)) == 1


@pytest.mark.parametrize(
    ("parts", "field", "says"),
    [
        ([], "parts", "no part"),
        ([part("a", "1"), replace(ROD[0], from_butt_nm=-1)], "parts.2.from_butt", "below the butt end"),
        ([part("a", "1"), part("b", "1")], "parts.2.from_butt", "“b” and “a” begin at one place"),
        ([part("a", "1", length_nm=-1)], "parts.1.length", "shorter than nothing"),
        ([part("a", "1", bore_nm=0)], "parts.1.bore", "more than nothing"),
        # Each would have to be on before the other.
        (
            [part("check", "1", "wrapped on"), part("grip", "2"), part("cap", "5", "butt")],
            "parts.2.goes_on",
            "“grip” and “cap” shut each other's way",
        ),
        ([part("a", "13", bore_nm=inch("0.5"))], "parts.1.from_butt", "past the last station"),
        (
            [part("a", "5", bore_nm=inch("0.5"), length_nm=inch("8"))],
            "parts.1.length",
            "past the last station",
        ),
        ([part("cap", "0", "butt", bore_nm=inch("0.592"))], "parts.1.bore", "between the butt and its place"),
        ([part("hood", "6", "butt", bore_nm=inch("0.55"))], "parts.1.bore", "0.593 in"),
    ],
)
def test_refuses_parts_that_cannot_be(parts: list[Part], field: str, says: str) -> None:
    with pytest.raises(SumFault) as caught:
        slide_on_order(parts, BLANK)
    assert list(caught.value.errors) == [field]
    assert says in caught.value.errors[field]


def test_only_those_that_shut_each_other_out_are_blamed() -> None:
    shut = [part("keeper", "4", "wrapped on"), part("grip", "2"), part("cap", "5", "butt"), part("ring", "1")]
    # These two only wait: the one for the other as well.
    parts = [*shut, part("hosel", "60"), part("tip-top", "83")]
    with pytest.raises(SumFault) as caught:
        slide_on_order(parts)
    assert caught.value.errors == {
        "parts.2.goes_on": "“grip”, “cap” and “ring” shut each other's way whichever goes on first; "
        "one of them must come from the other end."
    }
