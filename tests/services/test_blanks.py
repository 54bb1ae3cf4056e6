"""Blanks: what is measured must be able to be, and a diameter that grows toward the tip is asked about."""

from typing import Any

import pytest
from sqlalchemy.orm import Session

from shop.queries.blanks import BlankView, blank_view, blanks_by_model
from shop.rules.blanks import MOST_STATIONS
from shop.rules.refusals import BadInput, NotOnFile
from shop.services.blanks import add_blank, change_blank
from tests.conftest import START

M, MM = 1_000_000_000, 1_000_000
LENGTH = 2 * M
TAPER = ((0, 15 * MM), (300 * MM, 12 * MM), (600 * MM, 9 * MM))
# Everything else that may be stated of a blank in three pieces.
BEARS: dict[str, Any] = {
    "pieces": 3, "joints": ((700 * MM, 40 * MM), (1_400 * MM, 30 * MM)), "wall_butt_nm": 2 * MM,
    "wall_tip_nm": MM, "test_load_mg": 300_000, "test_sag_nm": 700 * MM, "most_load_mg": 600_000,
}  # fmt: skip
FAT_TIP = ((0, 12 * MM), (300 * MM, 12 * MM), (600 * MM, 13 * MM))


def put(session: Session, **facts: Any) -> BlankView:
    """The blank as it is kept."""
    told: dict[str, Any] = {"model": "Heron", "length_nm": LENGTH, "stations": TAPER, **facts}
    return blank_view(session, add_blank(session, now=START, **told).id)


def faults(session: Session, **facts: Any) -> dict[str, str]:
    with pytest.raises(BadInput) as refused:
        put(session, **facts)
    return refused.value.errors


@pytest.mark.parametrize(
    ("facts", "field"),
    [
        ({"model": ""}, "model"),
        ({"model": "  "}, "model"),
        ({"model": "x" * 121}, "model"),
        ({"length_nm": 0, "stations": ()}, "length"),
        ({"length_nm": -1, "stations": ()}, "length"),
        ({"length_nm": 8 * M + 1}, "length"),
        ({"pieces": 0}, "pieces"),
        ({"pieces": 9}, "pieces"),
        ({"mass_mg": 0}, "mass_g"),
        ({"mass_mg": 5_000_001}, "mass_g"),
        ({"stations": ((-1, MM),)}, "stations"),
        ({"stations": ((LENGTH + 1, MM),)}, "stations"),
        ({"stations": ((0, 0),)}, "stations"),
        ({"stations": ((0, 100 * MM + 1),)}, "stations"),
        ({"stations": ((5, MM), (5, MM))}, "stations"),
        ({"stations": ((6, MM), (5, MM))}, "stations"),
        ({"stations": tuple((at, MM) for at in range(MOST_STATIONS + 1))}, "stations"),
        ({"joints": ((LENGTH // 2, 0),)}, "joints"),
        ({"wall_butt_nm": 15 * MM // 2}, "wall_butt"),
        ({"wall_tip_nm": 0}, "wall_tip"),
        ({"test_load_mg": 1}, "test_sag"),
        ({"test_sag_nm": 1}, "test_load_g"),
        ({"most_load_mg": 0}, "most_load_g"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(
    session: Session, facts: dict[str, Any], field: str
) -> None:
    assert list(faults(session, **facts)) == [field]
    assert blanks_by_model(session) == []


@pytest.mark.parametrize(
    "facts",
    [
        {"model": "x" * 120},
        {"length_nm": 1, "stations": ()},
        {"length_nm": 8 * M},
        {"pieces": 8},
        {"mass_mg": 1},
        {"mass_mg": 5_000_000},
        {"stations": ((0, 100 * MM), (LENGTH, 1))},
        {"stations": ((5, MM), (6, MM))},
        {"stations": tuple((at, MM) for at in range(MOST_STATIONS))},
        {"pieces": 2, "joints": ((1, 0),)},
        BEARS,
    ],
)
def test_the_last_figure_that_can_be_is_kept(session: Session, facts: dict[str, Any]) -> None:
    kept = put(session, **facts)._asdict()
    assert {name: kept[name] for name in facts} == facts


def test_every_fault_is_told_at_once(session: Session) -> None:
    wrong = {"model": "", "pieces": 0, "stations": ((LENGTH + 1, MM),)}
    assert set(faults(session, **wrong)) == {"model", "pieces", "stations"}


def test_a_station_is_told_by_its_place_in_both_units(session: Session) -> None:
    (sentence,) = faults(session, stations=((3_048 * MM, MM),)).values()
    assert sentence == "A station 120 in (3048 mm) from the butt does not lie on the blank."


def test_a_diameter_that_grows_is_asked_about_and_kept_once_confirmed(session: Session) -> None:
    (sentence,) = faults(session, stations=FAT_TIP).values()
    assert sentence.startswith("The diameter grows to 33/64 in (13 mm) at 23 5/8 in (600 mm) from the butt")
    assert list(faults(session, stations=FAT_TIP)) == ["diameters_confirmed"]
    assert put(session, stations=FAT_TIP, diameters_confirmed=True).stations == FAT_TIP


def test_confirming_a_taper_excuses_nothing_else(session: Session) -> None:
    wrong = (*FAT_TIP, (600 * MM, 13 * MM))
    assert list(faults(session, stations=wrong, diameters_confirmed=True)) == ["stations"]


def test_what_was_confirmed_is_asked_about_again_only_when_it_changes(session: Session) -> None:
    blank = put(session, stations=FAT_TIP, diameters_confirmed=True)
    change_blank(session, blank.id, model="Heron II")
    change_blank(session, blank.id, model="Heron III", stations=FAT_TIP)
    assert blank_view(session, blank.id) == blank._replace(model="Heron III")
    with pytest.raises(BadInput) as refused:
        change_blank(session, blank.id, stations=FAT_TIP[1:])
    assert list(refused.value.errors) == ["diameters_confirmed"]


def test_stations_are_replaced_wholesale_and_stay_when_not_given(session: Session) -> None:
    blank, other = put(session), put(session, model="Wader")
    change_blank(session, blank.id, pieces=2, mass_mg=58_125)
    assert blank_view(session, blank.id) == blank._replace(pieces=2, mass_mg=58_125)
    anew = ((0, 16 * MM), (300 * MM, 11 * MM))
    change_blank(session, blank.id, stations=anew)
    assert blank_view(session, blank.id).stations == anew
    change_blank(session, blank.id, stations=())
    assert blank_view(session, blank.id).stations == ()
    assert blank_view(session, other.id) == other


def test_a_blank_cannot_be_cut_shorter_than_its_stations(session: Session) -> None:
    blank = put(session)
    with pytest.raises(BadInput) as refused:
        change_blank(session, blank.id, length_nm=600 * MM - 1)
    assert list(refused.value.errors) == ["stations"]
    change_blank(session, blank.id, length_nm=600 * MM)
    assert blank_view(session, blank.id).length_nm == 600 * MM


def test_joints_walls_and_loads_stay_when_not_given_and_can_be_taken_away(session: Session) -> None:
    blank = put(session, **BEARS)
    change_blank(session, blank.id, mass_mg=58_125)
    assert blank_view(session, blank.id) == blank._replace(mass_mg=58_125)
    change_blank(session, blank.id, joints=[(1_000 * MM, 0)], pieces=2)
    assert blank_view(session, blank.id).joints == ((1_000 * MM, 0),)
    gone: dict[str, Any] = {name: None for name in BEARS if name.endswith(("_nm", "_mg"))}
    change_blank(session, blank.id, joints=(), **gone)
    bare = blank_view(session, blank.id)
    assert bare == blank._replace(mass_mg=58_125, pieces=2, joints=(), **gone)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"pieces": 2}, "joints"),
        ({"joints": BEARS["joints"][::-1]}, "joints"),
        ({"stations": ((0, 4 * MM),)}, "wall_butt"),
        ({"test_load_mg": None}, "test_load_g"),
        ({"test_sag_nm": None}, "test_sag"),
        ({"most_load_mg": 299_999}, "test_load_g"),
    ],
)
def test_a_change_is_judged_with_what_stays(session: Session, changes: dict[str, Any], field: str) -> None:
    blank = put(session, **BEARS)
    with pytest.raises(BadInput) as refused:
        change_blank(session, blank.id, **changes)
    assert list(refused.value.errors) == [field]
    assert blank_view(session, blank.id) == blank


def test_the_list_counts_the_stations_of_each_blank(session: Session) -> None:
    put(session, model="Wader", stations=())
    put(session)
    assert [(line.model, line.measured) for line in blanks_by_model(session)] == [("Heron", 3), ("Wader", 0)]


def test_a_blank_that_is_not_on_file(session: Session) -> None:
    with pytest.raises(NotOnFile):
        change_blank(session, 7, model="Heron")
