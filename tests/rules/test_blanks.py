"""What a blank's joints, walls and loads may be, to the last nanometre, and where its pieces meet."""

from typing import Any

import pytest

from shop.rules.blanks import MOST_OD_NM, BlankFacts, Joint, faults_of_blank, joints_of
from shop.rules.masses import MOST_LOAD_MG

MM = 1_000_000
LENGTH = 2_100 * MM
# A blank in three pieces of 700 mm.
FACTS = BlankFacts(
    model="Heron", length_nm=LENGTH, pieces=3, mass_mg=58_000, stations=((0, 15 * MM), (LENGTH, 2 * MM)),
    joints=((700 * MM, 50 * MM), (1_400 * MM, 40 * MM)), wall_butt_nm=MM, wall_tip_nm=MM // 2,
    test_load_mg=300_000, test_sag_nm=700 * MM, most_load_mg=600_000,
)  # fmt: skip


def faults(**facts: Any) -> dict[str, str]:
    return faults_of_blank(FACTS._replace(**facts))


def test_a_blank_with_every_figure_can_be() -> None:
    assert faults() == {}


@pytest.mark.parametrize(
    ("pieces", "joints"),
    [
        (3, ()),
        (1, ()),
        (2, ((1, 0),)),
        (2, ((LENGTH - 1, 0),)),
        (2, ((700 * MM, 0),)),
        (2, ((700 * MM, 700 * MM - 1),)),
        (2, ((1_400 * MM, 700 * MM - 1),)),
        (3, ((700 * MM, 0), (700 * MM + 2, 1))),
        (8, tuple((at * MM, 0) for at in range(100, 800, 100))),
    ],
)
def test_joints_that_can_be(pieces: int, joints: tuple[Joint, ...]) -> None:
    assert faults(pieces=pieces, joints=joints) == {}


@pytest.mark.parametrize(
    ("pieces", "joints", "says"),
    [
        (1, ((700 * MM, 0),), "in one piece has no joints"),
        (3, ((700 * MM, 0),), "in 3 pieces number 2; state all of them or none"),
        (2, FACTS.joints, "in 2 pieces number 1"),
        (2, ((0, 0),), "A joint 0 in (0 mm) from the butt does not lie on the blank."),
        (2, ((LENGTH, 0),), "does not lie on the blank"),
        (3, ((700 * MM, 0), (700 * MM, 0)), "two joints 27 9/16 in (700 mm) from the butt"),
        (3, ((700 * MM, 0), (600 * MM, 0)), "(600 mm) from the butt is out of order"),
        (2, ((700 * MM, -1),), "nothing or more"),
        # The shorter of the two pieces counts, whichever way one goes into the other.
        (2, ((700 * MM, 700 * MM),), "less than the shorter piece there, 27 9/16 in (700 mm)"),
        (2, ((1_400 * MM, 700 * MM),), "less than the shorter piece there"),
        (3, ((700 * MM, 0), (1_400 * MM, 700 * MM)), "at the joint 55 1/8 in (1400 mm)"),
    ],
)
def test_joints_that_cannot_be(pieces: int, joints: tuple[Joint, ...], says: str) -> None:
    told = faults(pieces=pieces, joints=joints)
    assert list(told) == ["joints"]
    assert says in told["joints"]


def test_beside_a_number_of_pieces_that_cannot_be_joints_are_not_counted() -> None:
    assert list(faults(pieces=9)) == ["pieces"]
    assert set(faults(pieces=9, joints=((0, 0),))) == {"pieces", "joints"}


@pytest.mark.parametrize(
    ("facts", "field", "says"),
    [
        ({"wall_butt_nm": 0}, "wall_butt", "above nothing and below half the outside diameter there"),
        ({"wall_butt_nm": 15 * MM // 2}, "wall_butt", "which is 0.5906 in (15 mm)"),
        ({"wall_tip_nm": -1}, "wall_tip", "The wall at the tip must lie above nothing"),
        ({"wall_tip_nm": MM}, "wall_tip", "which is 0.0787 in (2 mm)"),
        ({"stations": (), "wall_butt_nm": MOST_OD_NM // 2}, "wall_butt", "below 50 mm"),
        ({"test_sag_nm": 0}, "test_sag", "above nothing and below the length"),
        ({"test_sag_nm": LENGTH}, "test_sag", "82 43/64 in (2100 mm)"),
        ({"test_sag_nm": None}, "test_sag", "both or neither"),
        ({"test_load_mg": None}, "test_load_g", "both or neither"),
        ({"test_load_mg": 0}, "test_load_g", "above nothing and at most at 100 kg"),
        ({"test_load_mg": 600_001}, "test_load_g", "600.001 g is more than the largest load"),
        ({"test_load_mg": MOST_LOAD_MG + 1, "most_load_mg": None}, "test_load_g", "at most at 100 kg"),
        ({"most_load_mg": MOST_LOAD_MG + 1}, "most_load_g", "at most at 100 kg"),
        ({"most_load_mg": 0}, "most_load_g", "The largest load must lie above nothing"),
    ],
)
def test_walls_and_loads_that_cannot_be(facts: dict[str, Any], field: str, says: str) -> None:
    told = faults(**facts)
    assert list(told) == [field]
    assert says in told[field]


@pytest.mark.parametrize(
    "facts",
    [
        {"wall_butt_nm": 1, "wall_tip_nm": 1},
        {"wall_butt_nm": 15 * MM // 2 - 1, "wall_tip_nm": MM - 1},
        {"wall_butt_nm": None, "wall_tip_nm": None},
        # No station lies at the ends, so that only what no blank has is refused.
        {"stations": ((1, 2 * MM),), "wall_butt_nm": 20 * MM, "wall_tip_nm": MOST_OD_NM // 2 - 1},
        {"test_sag_nm": 1, "test_load_mg": 1},
        {"test_sag_nm": LENGTH - 1, "test_load_mg": 600_000},
        {"test_sag_nm": None, "test_load_mg": None},
        {"most_load_mg": None, "test_load_mg": MOST_LOAD_MG},
        {"most_load_mg": MOST_LOAD_MG},
    ],
)
def test_the_last_walls_and_loads_that_can_be(facts: dict[str, Any]) -> None:
    assert faults(**facts) == {}


def test_beside_a_length_that_cannot_be_nothing_along_the_blank_is_judged() -> None:
    assert list(faults(length_nm=0)) == ["length"]


def test_walls_are_not_judged_by_stations_that_cannot_be() -> None:
    assert list(faults(stations=((0, MM), (0, MM)))) == ["stations"]


def test_stated_joints_are_where_the_pieces_meet() -> None:
    assert joints_of(LENGTH, 3, list(FACTS.joints)) == FACTS.joints


@pytest.mark.parametrize(
    ("length_nm", "pieces", "joints"),
    [
        (LENGTH, 1, ()),
        (LENGTH, 2, ((1_050 * MM, 0),)),
        (LENGTH, 3, ((700 * MM, 0), (1_400 * MM, 0))),
        # Whole nanometres, and never a drift from adding up rounded pieces.
        (10, 4, ((2, 0), (5, 0), (7, 0))),
    ],
)
def test_without_joints_the_pieces_are_equally_long(
    length_nm: int, pieces: int, joints: tuple[Joint, ...]
) -> None:
    assert joints_of(length_nm, pieces, ()) == joints
