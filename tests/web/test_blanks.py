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


@pytest.fixture
def on_file(hub: Hub, hands: Hands) -> BlankView:
    with hub.database.writing(hands.wall_at) as session:
        add_blank(
            session, now=hands.wall_at, maker="Tern Hollow", model="Heron", length_nm=2_133_600_001,
            pieces=2, mass_mg=1_234_567, stations=STATIONS, notes="stiff", diameters_confirmed=True,
        )  # fmt: skip
        return blank_view(session, 1)


@pytest.fixture
def desk(on_file: BlankView, signed_in: SignIn) -> TestClient:
    assert on_file.id == 1
    return signed_in(Role.BUILDER)


def kept(hub: Hub) -> BlankView:
    with hub.database.reading() as session:
        return blank_view(session, 1)


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
    ],
)
def test_a_fault_stands_beside_its_field_and_nothing_is_saved(
    desk: TestClient, hub: Hub, on_file: BlankView, changes: dict[str, Any], field: str, says: str
) -> None:
    answer = desk.post(ONE, data={**form_on(desk.get(ONE).text, ONE), "notes": "whippy", **changes})
    assert answer.status_code == 422
    beside = answer.text.split(f'id="e-{field}"')[1].split("</p>")[0]
    assert says in beside
    assert form_on(answer.text, ONE)["notes"] == ["whippy"]
    assert kept(hub) == on_file


def test_a_helper_reads_the_blank_and_is_shown_no_form(
    hub: Hub, on_file: BlankView, signed_in: SignIn
) -> None:
    helper = signed_in(Role.HELPER)
    page = helper.get(ONE).text
    assert "19/32 in (15.062201 mm)" in page
    assert form_on(page, ONE) == {}
    assert "/shelf/blanks/new" not in helper.get("/shelf").text
    assert helper.get("/shelf/blanks/new").status_code == 403
    assert helper.post(ONE, data={"model": "Mine", "length": "1 m"}).status_code == 403
    assert kept(hub) == on_file


def test_a_blank_that_is_not_on_file(desk: TestClient) -> None:
    assert desk.get("/shelf/blanks/7").status_code == 404
    assert desk.post("/shelf/blanks/7", data={"model": "Heron", "length": "1 m"}).status_code == 404
