"""The pages of zones: the temperature now and where it comes from, readings by hand, and who may do what."""

from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.queries.zones import ReadingView, ZoneView, latest_readings, zone_view, zones_after
from shop.rules.people import Role
from shop.services.zones import add_readings, add_zone
from shop.web.deps import Hub
from tests.conftest import START, Hands
from tests.web.bench_shop import HTMX
from tests.web.forms_read import form_on

SignIn = Callable[[Role], TestClient]
ZONES, ONE, READINGS = "/ways/zones", "/ways/zones/1", "/ways/zones/1/readings"
either_way = pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])


@pytest.fixture
def owner(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    with hub.database.writing(hands.wall_at) as session:
        add_zone(session, now=hands.wall_at, name="bench", assumed_c=16.25)
    return signed_in(Role.OWNER)


def kept(hub: Hub) -> tuple[ZoneView, list[ReadingView]]:
    with hub.database.reading() as session:
        return zone_view(session, 1), latest_readings(session, 1, 9)


@either_way
def test_a_zone_is_added(owner: TestClient, headers: dict[str, str]) -> None:
    answer = owner.post(ZONES, data={"name": "loft", "assumed_c": "48 °F"}, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, ZONES)
    page = owner.get(ZONES).text
    assert "loft is on file." in page
    assert "8.9 °C" in page


@either_way
def test_saving_a_zone_as_it_is_shown_changes_nothing(
    owner: TestClient, hub: Hub, headers: dict[str, str]
) -> None:
    before = kept(hub)
    answer = owner.post(ONE, data=form_on(owner.get(ONE).text, ONE), headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, ONE)
    assert kept(hub) == before


@either_way
def test_a_reading_by_hand_is_of_now_unless_a_time_is_said(
    owner: TestClient, hub: Hub, headers: dict[str, str]
) -> None:
    answer = owner.post(READINGS, data={"celsius": "18.5"}, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, ONE)
    assert owner.post(READINGS, data={"celsius": "63 °F", "at": "2026-03-02T08:30"}).status_code == 303
    readings = kept(hub)[1]
    assert [reading.at.isoformat() for reading in readings] == [
        "2026-03-02T09:00:00+00:00", "2026-03-02T08:30:00+00:00",
    ]  # fmt: skip
    assert [round(reading.celsius, 2) for reading in readings] == [18.5, 17.22]


def test_the_page_says_where_the_temperature_now_comes_from(
    owner: TestClient, hub: Hub, hands: Hands
) -> None:
    assert "never read, assumed 16.25 °C" in owner.get(ONE).text
    with hub.database.writing(hands.wall_at) as session:
        add_readings(session, 1, now=START, readings=[(START, 20.4)])
    hands.forward(minutes=59)
    page = owner.get(ONE).text
    assert "20.4 °C" in page
    assert "last read 59 min ago" in page
    assert "silent since" not in page
    hands.forward(minutes=1)
    page = owner.get(ONE).text
    assert "silent since 09:00, assumed 16.25 °C" in page
    assert '<span class="figure-value">16.2 °C</span>' in page


@pytest.mark.parametrize(
    ("path", "data", "field", "says"),
    [
        (READINGS, {"celsius": "mild"}, "celsius", "is not a temperature"),
        (READINGS, {"celsius": "81"}, "celsius", "one lies between -40 and 80"),
        (READINGS, {"celsius": "20", "at": "2026-03-02T09:02"}, "at", "from the future"),
        (READINGS, {"celsius": "20", "at": "2024-03-01T09:00"}, "at", "older than two years"),
        (READINGS, {"celsius": "20", "at": "noon"}, "at", "must be a date and time"),
        (ONE, {"name": "bench", "assumed_c": "-41"}, "assumed_c", "one lies between -40 and 80"),
        (ONE, {"name": "", "assumed_c": "9"}, "name", "The name is missing"),
        (ZONES, {"name": "bench", "assumed_c": "9"}, "name", "a zone called bench already"),
        (ZONES, {"name": "loft", "assumed_c": ""}, "assumed_c", "temperature is missing"),
    ],
)
def test_a_fault_stands_beside_its_field_and_nothing_is_saved(
    owner: TestClient, hub: Hub, path: str, data: dict[str, str], field: str, says: str
) -> None:
    before = kept(hub)
    answer = owner.post(path, data=data)
    assert answer.status_code == 422
    assert says in answer.text.split(f'id="e-{field}"')[1].split("</p>")[0]
    typed = form_on(answer.text, path)
    assert {name: typed[name] for name in data} == {name: [value] for name, value in data.items()}
    assert kept(hub) == before
    with hub.database.reading() as session:
        assert len(zones_after(session, 0, 9)) == 1


def test_a_reading_that_cannot_be_leaves_the_zones_own_form_as_it_was(owner: TestClient) -> None:
    answer = owner.post(READINGS, data={"celsius": "mild"})
    assert form_on(answer.text, ONE) == {"name": ["bench"], "assumed_c": ["16.25"]}


@pytest.mark.parametrize("role", [Role.BUILDER, Role.HELPER])
def test_who_works_at_the_bench_types_readings_and_no_more(
    owner: TestClient, hub: Hub, signed_in: SignIn, role: Role
) -> None:
    assert form_on(owner.get(ZONES).text, ZONES) != {}
    before, other = kept(hub), signed_in(role)
    assert form_on(other.get(ZONES).text, ZONES) == {}
    page = other.get(ONE).text
    assert form_on(page, ONE) == {}
    assert set(form_on(page, READINGS)) == {"celsius", "at"}
    data = {"name": "mine", "assumed_c": "30"}
    assert [other.post(path, data=data).status_code for path in (ZONES, ONE)] == [403, 403]
    assert kept(hub) == before
    refused = other.post(READINGS, data={"celsius": "mild"})
    assert (refused.status_code, form_on(refused.text, ONE)) == (422, {})
    assert other.post(READINGS, data={"celsius": "18"}).status_code == 303


def test_a_zone_that_is_not_on_file(owner: TestClient) -> None:
    assert owner.get("/ways/zones/7").status_code == 404
    assert owner.post("/ways/zones/7", data={"name": "loft", "assumed_c": "9"}).status_code == 404
    assert owner.post("/ways/zones/7/readings", data={"celsius": "18"}).status_code == 404
