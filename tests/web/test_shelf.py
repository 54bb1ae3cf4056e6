"""The shelf and the zones: what is put on file reads back, and what cannot be comes back as typed."""

from collections.abc import Callable
from typing import Any

import pytest
from fastapi.testclient import TestClient

from shop.queries.blanks import blank_view
from shop.rules.people import Role
from shop.web.deps import Hub
from tests.api.filled import fill
from tests.conftest import Hands
from tests.web.bench_shop import HTMX

SignIn = Callable[[Role], TestClient]
BLANK: dict[str, Any] = {
    "model": "Heron", "length": "84 in", "pieces": "1", "mass_g": "58.5",
    "from_butt": ["0 in", "12 in", ""], "od": ["0.593 in", "0.473 in", ""],
}  # fmt: skip
ADHESIVE = {
    "name": "Quickset", "use": "bond", "parts_a": "1", "parts_b": "1", "reference_c": "77 °F",
    "pot_life_minutes": "5", "set_minutes": "10", "full_cure_minutes": "480",
}  # fmt: skip
COMPONENT = {
    "kind": "grip",
    "name": "Cork grip",
    "currency": "EUR",
    "dimensions.length": "9 in",
    "price_cents": "18,50",
}


@pytest.fixture
def shelf(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    with hub.database.writing(hands.wall_at) as session:
        fill(session, hands.wall_at)
    return signed_in(Role.OWNER)


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_a_blank_keeps_its_stations_to_the_nanometre(
    shelf: TestClient, hub: Hub, headers: dict[str, str]
) -> None:
    answer = shelf.post("/shelf/blanks/new", data=BLANK, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/shelf/blanks/1")
    with hub.database.reading() as session:
        blank = blank_view(session, 1)
    assert (blank.length_nm, blank.mass_mg) == (2_133_600_000, 58_500)
    assert blank.stations == ((0, 15_062_200), (304_800_000, 12_014_200))
    page = shelf.get("/shelf/blanks/1").text
    assert 'value="12.0142 mm"' in page
    assert shelf.post("/shelf/blanks/1", data={**BLANK, "model": "Heron II"}).status_code == 303
    assert "Heron II" in shelf.get("/shelf").text


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"model": ""}, "The model is missing"),
        ({"length": "84"}, "has no unit"),
        ({"length": "9 m"}, "at most at 8 m"),
        ({"od": ["0.593", "0.473 in"]}, "Station 1:"),
        ({"from_butt": ["12 in", "0 in"]}, "out of order"),
        ({"from_butt": ["12 in", "12 in"]}, "two stations"),
        ({"from_butt": ["0 in", "90 in"]}, "does not lie on the blank"),
        ({"od": ["0.4 in", "0.5 in"]}, "The diameter grows to 1/2 in"),
    ],
)
def test_a_blank_that_cannot_be_comes_back_with_every_station(
    shelf: TestClient, changes: dict[str, Any], says: str
) -> None:
    answer = shelf.post("/shelf/blanks/new", data={**BLANK, "notes": "from the fair", **changes})
    assert answer.status_code == 422
    assert says in answer.text
    assert "from the fair" in answer.text
    typed = {**BLANK, **changes}
    assert all(f'value="{value}"' in answer.text for value in (*typed["from_butt"], *typed["od"]) if value)


def test_a_diameter_that_grows_is_taken_once_it_is_confirmed(shelf: TestClient) -> None:
    told = {**BLANK, "od": ["0.4 in", "0.5 in"], "diameters_confirmed": "on"}
    assert shelf.post("/shelf/blanks/new", data=told).status_code == 303


def test_more_rows_for_stations_lose_nothing(shelf: TestClient) -> None:
    answer = shelf.post("/shelf/blanks/new", data={**BLANK, "more": "1"})
    assert answer.status_code == 200
    assert answer.text.count('name="from_butt"') > 3
    assert 'value="0.473 in"' in answer.text


@pytest.mark.parametrize(
    ("path", "good", "changes", "says"),
    [
        ("adhesives", ADHESIVE, {"full_cure_minutes": "9"}, "shorter than the set time"),
        ("adhesives", ADHESIVE, {"parts_b": "0"}, "must lie between"),
        ("adhesives", ADHESIVE, {"name": "Riverbed"}, "an adhesive called Riverbed already"),
        ("adhesives", ADHESIVE, {"pot_life_minutes": ""}, "The pot life is missing"),
        ("adhesives", ADHESIVE, {"recoat_from_minutes": "90", "recoat_until_minutes": "60"}, "recoat window"),
        ("adhesives", ADHESIVE, {"recoat_from_minutes": "90", "recoat_until_minutes": "90"}, "ends when"),
        ("adhesives", ADHESIVE, {"coldest_c": "30"}, "cannot lie above the reference"),
        ("components", COMPONENT, {"price_cents": "lots"}, "must be an amount"),
        ("components", COMPONENT, {"dimensions.length": "nine"}, "“nine”"),
        ("components", COMPONENT, {"currency": "euro"}, "at most 3 fit"),
        ("components", COMPONENT, {"name": ""}, "The name is missing"),
    ],
)
def test_figures_are_taken_or_come_back_with_a_sentence(
    shelf: TestClient, path: str, good: dict[str, str], changes: dict[str, str], says: str
) -> None:
    refused = shelf.post(f"/shelf/{path}/new", data={**good, **changes})
    assert refused.status_code == 422
    assert says in refused.text
    assert all(f'value="{value}"' in refused.text for value in changes.values() if value)
    taken = shelf.post(f"/shelf/{path}/new", data=good)
    assert taken.status_code == 303
    address = taken.headers["location"]
    assert good["name"] in shelf.get(address).text
    assert good["name"] in shelf.get(f"/shelf/{path}").text
    assert shelf.post(address, data={**good, **changes}).status_code == 422
    assert shelf.post(address, data=good).status_code == 303


def test_a_zone_is_added_read_by_hand_and_changed(shelf: TestClient) -> None:
    assert shelf.post("/ways/zones", data={"name": "loft", "assumed_c": "9"}).status_code == 303
    assert shelf.post("/ways/zones/2/readings", data={"celsius": "64 °F"}).status_code == 303
    assert "17.8 °C" in shelf.get("/ways/zones").text
    assert shelf.post("/ways/zones/2", data={"name": "attic", "assumed_c": "7"}).status_code == 303
    assert "attic" in shelf.get("/ways/zones/2").text


@pytest.mark.parametrize(
    ("path", "fields", "says"),
    [
        ("/ways/zones", {"name": "bench", "assumed_c": "9"}, "a zone called bench already"),
        ("/ways/zones", {"name": "loft", "assumed_c": "cold"}, "is not a temperature"),
        ("/ways/zones/1", {"name": "", "assumed_c": "9"}, "The name is missing"),
        ("/ways/zones/1/readings", {"celsius": ""}, "The temperature is missing"),
        ("/ways/zones/1/readings", {"celsius": "20", "at": "2026-03-02T09:05"}, "comes from the future"),
    ],
)
def test_a_zone_that_cannot_be_comes_back_as_typed(
    shelf: TestClient, path: str, fields: dict[str, str], says: str
) -> None:
    answer = shelf.post(path, data=fields)
    assert answer.status_code == 422
    assert says in answer.text
    assert all(f'value="{value}"' in answer.text for value in fields.values() if value)


@pytest.mark.parametrize("path", ["/shelf/blanks/new", "/shelf/adhesives/new", "/ways/zones"])
def test_a_helper_looks_but_does_not_change(shelf: TestClient, signed_in: SignIn, path: str) -> None:
    assert shelf.get("/shelf").status_code == 200
    helper = signed_in(Role.HELPER)
    assert helper.post(path, data={}).status_code == 403
    assert helper.get("/shelf").status_code == 200
    assert helper.post("/ways/zones/1/readings", data={"celsius": "20"}).status_code == 303
