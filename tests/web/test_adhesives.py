"""The page of an adhesive: its sheet's figures, what counts where the sheet is silent, and who changes it."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from fastapi.testclient import TestClient

from shop.queries.adhesives import AdhesiveView, adhesive_view
from shop.rules.people import Role
from shop.services.adhesives import add_adhesive
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.web.bench_shop import HTMX
from tests.web.forms_read import form_on

SignIn = Callable[[Role], TestClient]
ONE, NEW = "/shelf/adhesives/1", "/shelf/adhesives/new"
SHEET: dict[str, Any] = {
    "name": "Stillwater", "use": "finish", "parts_a": 2.0, "parts_b": 1.0, "density_a": 1.125,
    "density_b": 1.02, "reference_c": 24.0, "pot_life_minutes": 35.0, "set_minutes": 480.0,
    "full_cure_minutes": 4320.125, "recoat_from_minutes": 720.0, "recoat_until_minutes": 2160.0,
    "coldest_c": 15.5, "doubling_c": 9.5, "turn_minutes": 360.0, "opened_life_days": 180,
    "source": "wrap finish, revision 4", "sheet_date": date(2026, 1, 15),
}  # fmt: skip
SILENT = dict.fromkeys(
    (
        "density_a", "density_b", "recoat_from_minutes", "recoat_until_minutes", "coldest_c", "doubling_c",
        "turn_minutes", "opened_life_days", "sheet_date",
    )
)  # fmt: skip


def put(hub: Hub, hands: Hands, **figures: Any) -> AdhesiveView:
    with hub.database.writing(hands.wall_at) as session:
        item = add_adhesive(session, now=hands.wall_at, by="Nell", **{**SHEET, **figures})
        return adhesive_view(session, item.id)


def kept(hub: Hub) -> AdhesiveView:
    with hub.database.reading() as session:
        return adhesive_view(session, 1)


@pytest.fixture
def desk(signed_in: SignIn) -> TestClient:
    return signed_in(Role.BUILDER)


@pytest.mark.parametrize("figures", [{}, SILENT, {"use": "bond", "source": ""}])
@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_saving_an_adhesive_as_it_is_shown_changes_nothing(
    desk: TestClient, hub: Hub, hands: Hands, headers: dict[str, str], figures: dict[str, Any]
) -> None:
    on_file = put(hub, hands, **figures)
    answer = desk.post(ONE, data=form_on(desk.get(ONE).text, ONE), headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, ONE)
    assert kept(hub) == on_file


def test_the_page_says_that_the_data_sheet_wins_and_asks_where_the_figures_come_from(
    desk: TestClient,
) -> None:
    page = desk.get(NEW).text
    assert "The data sheet wins" in page
    assert 'name="source"' in page


def test_the_page_tells_the_sheet_as_people_read_it(desk: TestClient, hub: Hub, hands: Hands) -> None:
    put(hub, hands)
    page = desk.get(ONE).text
    for said in (
        "wrap finish",
        "2 : 1",
        "8 h 00 min",
        "from 12 h 00 min to 1 d 12 h, unsanded",
        "15.5 °C",
        "6 h 00 min",
        "180 days",
        "sheet of 2026-01-15",
    ):
        assert said in page


@pytest.mark.parametrize(
    ("reference_c", "says"), [(24.0, "13 °C (sheet silent)"), (10.0, "10 °C (sheet silent)")]
)
def test_where_the_sheet_is_silent_it_is_said_what_counts(
    desk: TestClient, hub: Hub, hands: Hands, reference_c: float, says: str
) -> None:
    put(hub, hands, **{**SILENT, "reference_c": reference_c})
    assert says in desk.get(ONE).text
    assert says in desk.get("/shelf/adhesives").text
    assert "the sheet is silent" in desk.get(ONE).text


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"reference_c": "warm"}, "reference_c", "is not a temperature"),
        ({"reference_c": "61"}, "reference_c", "must lie between -10 and 60"),
        ({"full_cure_minutes": "479"}, "full_cure_minutes", "shorter than the set time"),
        ({"recoat_until_minutes": "719"}, "recoat_until_minutes", "ends before it begins"),
        ({"coldest_c": "24.5"}, "coldest_c", "cannot lie above the reference"),
        ({"doubling_c": "0"}, "doubling_c", "must lie between"),
        ({"density_a": "0.4"}, "density_a", "must lie between 0.5 and 3"),
        ({"turn_minutes": "4321"}, "turn_minutes", "kept turning longer than until its full cure"),
        ({"opened_life_days": "0"}, "opened_life_days", "must lie between 1 and 3650"),
        ({"opened_life_days": "1.5"}, "opened_life_days", "must be a whole number"),
        ({"sheet_date": "March"}, "sheet_date", "must be a day such as"),
        ({"sheet_date": "1999-12-31"}, "sheet_date", "must lie between 2000-01-01"),
        ({"use": ""}, "use", "must be one of bond, finish"),
        ({"name": "Riverbed"}, "name", "an adhesive called Riverbed already"),
    ],
)
def test_a_fault_stands_beside_its_field_and_nothing_is_saved(
    desk: TestClient, hub: Hub, hands: Hands, changes: dict[str, str], field: str, says: str
) -> None:
    on_file = put(hub, hands)
    put(hub, hands, name="Riverbed")
    answer = desk.post(ONE, data={**form_on(desk.get(ONE).text, ONE), "source": "guessed", **changes})
    assert answer.status_code == 422
    assert says in answer.text.split(f'id="e-{field}"')[1].split("</p>")[0]
    typed = form_on(answer.text, ONE)
    assert typed["source"] == ["guessed"]
    assert all(typed[name] == [value] for name, value in changes.items() if value)
    assert kept(hub) == on_file


def test_a_helper_reads_the_adhesive_and_is_shown_no_form(hub: Hub, hands: Hands, signed_in: SignIn) -> None:
    on_file, helper = put(hub, hands), signed_in(Role.HELPER)
    page = helper.get(ONE).text
    assert "8 h 00 min" in page
    assert form_on(page, ONE) == {}
    assert NEW not in helper.get("/shelf/adhesives").text
    assert [helper.post(path, data={"name": "Mine"}).status_code for path in (ONE, NEW)] == [403, 403]
    assert kept(hub) == on_file


def test_an_adhesive_that_is_not_on_file(desk: TestClient) -> None:
    assert desk.get("/shelf/adhesives/7").status_code == 404
    assert desk.post("/shelf/adhesives/7", data={"name": "Brook"}).status_code == 404
