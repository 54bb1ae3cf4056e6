"""The page of a blank: its stations in both units, a form that changes nothing by itself, and who sees it."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from fastapi.testclient import TestClient

from shop.queries.blanks import BlankView, blank_view
from shop.rules.people import Role
from shop.services.blanks import add_blank
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.web.bench_shop import HTMX
from tests.web.forms_read import form_on

SignIn = Callable[[Role], TestClient]
ONE = "/shelf/blanks/1"
MM = 1_000_000
# One nanometre over, and figures of six decimals: what a form would lose if it rounded.
STATIONS = ((0, 15_062_201), (304_800_001, 12 * MM), (609_600_000, 12_345_678))
GROWS = "diameters_confirmed"
RARE = (
    "joint_from_butt", "insertion", "wall_butt", "wall_tip", "test_load_g", "test_sag", "most_load_g",
)  # fmt: skip


@pytest.fixture
def on_file(hub: Hub, hands: Hands) -> BlankView:
    with hub.database.writing(hands.wall_at) as session:
        add_blank(
            session, now=hands.wall_at, maker="Tern Hollow", model="Heron", length_nm=2_133_600_001,
            pieces=2, mass_mg=1_234_567, stations=STATIONS, notes="stiff", diameters_confirmed=True,
            joints=((1_100_000_001, 50_800_001),), wall_butt_nm=1_016_001, wall_tip_nm=508_001,
            test_load_mg=312_001, test_sag_nm=711_200_001, most_load_mg=650_500,
        )  # fmt: skip
        return blank_view(session, 1)


@pytest.fixture
def desk(on_file: BlankView, signed_in: SignIn) -> TestClient:
    assert on_file.id == 1
    return signed_in(Role.BUILDER)


def kept(hub: Hub) -> BlankView:
    with hub.database.reading() as session:
        return blank_view(session, 1)


def facts_on(page: str) -> dict[str, str]:
    return dict(re.findall(r"<dt>(.*?)</dt><dd>(.*?)</dd>", page))


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_saving_a_blank_as_it_is_shown_changes_nothing(
    desk: TestClient, hub: Hub, on_file: BlankView, headers: dict[str, str]
) -> None:
    answer = desk.post(ONE, data=form_on(desk.get(ONE).text, ONE), headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, ONE)
    assert kept(hub) == on_file
    assert "The blank is saved." in desk.get(ONE).text


def test_the_page_tells_the_stations_in_both_units_and_draws_the_blank(desk: TestClient) -> None:
    page = desk.get(ONE).text
    assert "19/32 in (15.062201 mm)" in page
    assert "1234.567 g" in page
    assert "The bare blank in 2 pieces, butt at the left." in page


def test_the_page_tells_joints_walls_and_loads(desk: TestClient) -> None:
    page = desk.get(ONE).text
    assert facts_on(page) == {
        "Maker": "Tern Hollow", "Length": "84 in (2133.600001 mm)", "Mass": "1234.567 g",
        "Wall at the butt": "0.040 in (1.02 mm)", "Wall at the tip": "0.020 in (0.51 mm)",
        "Test load": "312.001 g", "Sag of the tip under it": "28 in (711.200001 mm)",
        "Largest load": "650.5 g", "Notes": "stiff",
    }  # fmt: skip
    joints = page.split("<caption>Joints</caption>")[1].split("</table>")[0]
    assert "43 5/16 in (1100.000001 mm)" in joints
    assert "2 in (50.800001 mm)" in joints


def test_what_is_not_known_is_not_told(desk: TestClient, hub: Hub) -> None:
    form = form_on(desk.get(ONE).text, ONE)
    emptied = {name: [""] * len(form[name]) for name in RARE}
    assert desk.post(ONE, data={**form, **emptied}).status_code == 303
    blank = kept(hub)
    assert (blank.joints, blank.wall_butt_nm, blank.wall_tip_nm) == ((), None, None)
    assert (blank.test_load_mg, blank.test_sag_nm, blank.most_load_mg) == (None, None, None)
    page = desk.get(ONE).text
    assert set(facts_on(page)) == {"Maker", "Length", "Mass", "Notes"}
    assert "<caption>Joints</caption>" not in page


def test_rows_for_joints_hold_as_many_as_a_blank_can_have(desk: TestClient) -> None:
    form = form_on(desk.get(ONE).text, ONE)
    assert form["joint_from_butt"] == ["1100.000001 mm", *[""] * 6]
    assert form["insertion"] == ["50.800001 mm", *[""] * 6]
    assert form_on(desk.get("/shelf/blanks/new").text, "/shelf/blanks/new")["insertion"] == [""] * 7


def test_a_joint_without_an_insertion_has_nothing_inserted(desk: TestClient, hub: Hub) -> None:
    form = form_on(desk.get(ONE).text, ONE)
    typed = {"pieces": "3", "joint_from_butt": ["30 in", "", "60 in"], "insertion": ["2 in", "", ""]}
    assert desk.post(ONE, data={**form, **typed}).status_code == 303
    assert kept(hub).joints == ((762 * MM, 50_800_000), (1_524 * MM, 0))


def test_what_is_rarely_needed_is_folded_away_until_it_may_be_at_fault(desk: TestClient) -> None:
    page = desk.get(ONE).text
    folded = page.split('<details class="more">')[1].split("</details>")[0]
    assert all(f'name="{name}"' in folded for name in RARE)
    answer = desk.post(ONE, data={**form_on(page, ONE), "wall_tip": "thin"})
    assert 'id="e-wall_tip"' in answer.text.split('<details class="more" open>')[1].split("</details>")[0]


def test_the_question_about_a_growing_diameter_comes_with_its_box(desk: TestClient, hub: Hub) -> None:
    assert GROWS not in desk.get(ONE).text
    form = form_on(desk.get(ONE).text, ONE)
    form["od"][3], form["from_butt"][3] = "13 mm", "700 mm"
    answer = desk.post(ONE, data=form)
    assert answer.status_code == 422
    assert f'id="f-{GROWS}"' in answer.text
    assert f'id="e-{GROWS}"' in answer.text
    assert desk.post(ONE, data={**form, GROWS: "on"}).status_code == 303
    assert kept(hub).stations[-1] == (700 * MM, 13 * MM)


def test_a_ticked_box_stays_ticked_beside_another_fault_and_more_rows(desk: TestClient) -> None:
    form: dict[str, Any] = {**form_on(desk.get(ONE).text, ONE), GROWS: "on"}
    for change in ({"model": ""}, {"more": "1"}):
        assert form_on(desk.post(ONE, data={**form, **change}).text, ONE)[GROWS] == ["on"]


@pytest.mark.parametrize("path", [ONE, "/shelf/blanks/new"])
def test_enter_in_a_field_saves(desk: TestClient, path: str) -> None:
    form = desk.get(path).text.split('method="post"')[-1]
    buttons = re.findall(r"<button [^>]*>", form.split("</form>")[0])
    assert ['name="more"' in button for button in buttons] == [False, True]


def test_more_rows_come_without_a_change(desk: TestClient, hub: Hub, on_file: BlankView) -> None:
    form = form_on(desk.get(ONE).text, ONE)
    answer = desk.post(ONE, data={**form, "model": "Wader", "more": "1"})
    shown = form_on(answer.text, ONE)
    assert (answer.status_code, shown["model"]) == (200, ["Wader"])
    assert shown["from_butt"] == [*form["from_butt"][:3], "", "", "", ""]
    assert {name: shown[name] for name in RARE} == {name: form[name] for name in RARE}
    assert kept(hub) == on_file


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"mass_g": "58.1251"}, "mass_g", "at most 3 decimals"),
        ({"mass_g": "0"}, "mass_g", "must lie between"),
        ({"pieces": "9"}, "pieces", "must lie between 1 and 8"),
        ({"length": "0 mm"}, "length", "must lie above nothing"),
        ({"length": "84"}, "length", "has no unit"),
        ({"model": "x" * 121}, "model", "at most 120 fit"),
        ({"from_butt": ["12 in"], "od": [""]}, "stations", "Station 1: The length is missing."),
        ({"from_butt": ["12 in"], "od": ["0.5"]}, "stations", "has no unit"),
        ({"pieces": "3"}, "joints", "The joints of a blank in 3 pieces number 2"),
        ({"joint_from_butt": ["", "9 ft"], "insertion": ["", "2 in"]}, "joints", "does not lie on the blank"),
        (
            {"joint_from_butt": ["", ""], "insertion": ["", "2 in"]},
            "joints",
            "Joint 1: The length is missing",
        ),
        ({"joint_from_butt": ["42"], "insertion": ["2 in"]}, "joints", "has no unit"),
        ({"wall_butt": "0.040"}, "wall_butt", "has no unit"),
        ({"wall_butt": "0.3 in"}, "wall_butt", "half the outside diameter there, which is 0.593 in"),
        ({"wall_tip": "0 mm"}, "wall_tip", "above nothing"),
        ({"test_load_g": "651"}, "test_load_g", "651 g is more than the largest load"),
        ({"test_load_g": ""}, "test_load_g", "both or neither"),
        ({"test_load_g": "312.0001"}, "test_load_g", "at most 3 decimals"),
        ({"test_sag": "84 ft"}, "test_sag", "below the length"),
        ({"most_load_g": "100001"}, "most_load_g", "must lie between 0.001 and 100000"),
    ],
)
def test_a_fault_stands_beside_its_field_and_nothing_is_saved(
    desk: TestClient, hub: Hub, on_file: BlankView, changes: dict[str, Any], field: str, says: str
) -> None:
    answer = desk.post(ONE, data={**form_on(desk.get(ONE).text, ONE), "notes": "whippy", **changes})
    assert answer.status_code == 422
    beside = answer.text.split(f'id="e-{field}"')[1].split("</p>")[0]
    assert says in beside
    typed = form_on(answer.text, ONE)
    assert typed["notes"] == ["whippy"]
    for name, value in changes.items():
        wanted = [part for part in ([value] if isinstance(value, str) else value) if part]
        assert [part for part in typed[name] if part] == wanted
    assert kept(hub) == on_file


def test_a_helper_reads_the_blank_and_is_shown_no_form(
    hub: Hub, on_file: BlankView, signed_in: SignIn
) -> None:
    helper = signed_in(Role.HELPER)
    page = helper.get(ONE).text
    assert "19/32 in (15.062201 mm)" in page
    assert facts_on(page)["Largest load"] == "650.5 g"
    assert form_on(page, ONE) == {}
    assert "/shelf/blanks/new" not in helper.get("/shelf").text
    assert helper.get("/shelf/blanks/new").status_code == 403
    assert helper.post(ONE, data={"model": "Mine", "length": "1 m"}).status_code == 403
    assert kept(hub) == on_file


def test_a_blank_that_is_not_on_file(desk: TestClient) -> None:
    assert desk.get("/shelf/blanks/7").status_code == 404
    assert desk.post("/shelf/blanks/7", data={"model": "Heron", "length": "1 m"}).status_code == 404
