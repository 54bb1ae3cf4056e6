"""The shoulder of a grip: its size, the wall it leaves, and shoulders that cannot be."""

import pytest

from shop.craft.faults import SumFault
from shop.craft.fit.shoulder import Shoulder, shoulder
from shop.craft.lengths import parse_length


def inch(text: str) -> int:
    return parse_length(f"{text} in")


def test_the_shoulder_for_a_hood() -> None:
    # Common practice, no source.
    found = shoulder(inch("0.875"), inch("0.005"), inch("7/16"), inch("1/32"), inch("0.610"), inch("1"))
    assert found == Shoulder(inch("0.865"), inch("13/32"), inch("0.1275"), inch("0.0675"))


def test_the_usual_shoulder_is_three_thirty_seconds_deep_a_side() -> None:
    # Common practice, no source: a 1 in grip turned down to 13/16 in.
    found = shoulder(inch("13/16"), 0, inch("3/16"), 0, inch("1/2"), inch("1"))
    assert (found.take_off_nm, found.length_nm) == (inch("3/32"), inch("3/16"))


def test_a_grip_of_unknown_outside_has_nothing_to_take_off() -> None:
    assert shoulder(100, 2, 50, 5, 60).take_off_nm is None


def test_a_grip_as_thick_as_its_shoulder_stays_as_it_is() -> None:
    assert shoulder(100, 2, 50, 5, 60, 96).take_off_nm == 0


def test_half_a_nanometre_of_wall_is_rounded_up() -> None:
    assert shoulder(100, 0, 50, 0, 61).wall_nm == 20  # 19.5


@pytest.mark.parametrize(
    ("sizes", "field", "says"),
    [
        ((0, 0, 50, 0, 60), "hood_bore", "more than nothing"),
        ((100, 0, 0, 0, 60), "recess", "more than nothing"),
        ((100, 0, 50, 0, 0), "bore", "more than nothing"),
        ((100, -1, 50, 0, 60), "gap", "less than nothing"),
        ((100, 0, 50, -1, 60), "relief", "less than nothing"),
        ((100, 50, 50, 0, 60), "gap", "leaves nothing"),
        ((100, 0, 50, 50, 60), "relief", "leaves nothing of a recess"),
        ((100, 2, 50, 0, 96), "bore", "no wall would be left"),
        ((100, 2, 50, 0, 97), "bore", "no wall would be left"),
        ((100, 2, 50, 0, 60, 95), "grip_od", "thinner than its shoulder"),
    ],
)
def test_refuses_a_shoulder_that_cannot_be(sizes: tuple[int, ...], field: str, says: str) -> None:
    with pytest.raises(SumFault) as caught:
        shoulder(*sizes)
    assert list(caught.value.errors) == [field]
    assert says in caught.value.errors[field]


def test_every_fault_of_a_shoulder_is_told_at_once() -> None:
    with pytest.raises(SumFault) as caught:
        shoulder(100, 2, 50, 60, 97, 95)
    assert set(caught.value.errors) == {"relief", "bore", "grip_od"}
