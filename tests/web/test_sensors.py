"""The pages of sensors: put on file, changed, moved and ended; and all that the zone's page says of them."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from fastapi.testclient import TestClient

from shop.queries.sensors import SensorView, sensors_after
from shop.rules.people import Role
from shop.services.sensors import add_sensor
from shop.services.zones import add_reading, add_readings, add_zone
from shop.web.deps import Hub
from tests.conftest import START, Hands
from tests.web.bench_shop import HTMX
from tests.web.forms_read import form_on

SignIn = Callable[[Role], TestClient]
ZONE, NEW, ONE = "/ways/zones/1", "/ways/zones/1/sensors/new", "/ways/sensors/1"
MOVE, END = f"{ONE}/move", f"{ONE}/end"
MINUTE = timedelta(minutes=1)
either_way = pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])


@pytest.fixture
def owner(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    with hub.database.writing(hands.wall_at) as session:
        for name in ("bench", "loft"):
            add_zone(session, now=hands.wall_at, name=name, assumed_c=16.0)
        add_sensor(session, now=hands.wall_at, zone_id=1, name="probe", topic="shop/t")
    return signed_in(Role.OWNER)


def kept(hub: Hub) -> list[SensorView]:
    with hub.database.reading() as session:
        return sensors_after(session, 0, 9)


def read(hub: Hub, hands: Hands, celsius: float, sensor: str = "probe", late: int = 0) -> None:
    """A reading that comes alone, now."""
    with hub.database.writing(hands.wall_at) as session:
        told = [(hands.wall_at - late * MINUTE, celsius)]
        add_readings(session, 1, now=hands.wall_at, readings=told, sensor=sensor)


@either_way
def test_a_sensor_is_put_on_file(owner: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    assert set(form_on(owner.get(NEW).text, NEW)) == {"name", "topic"}
    answer = owner.post(NEW, data={"name": "left", "topic": ""}, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, ZONE)
    assert [(sensor.name, sensor.topic) for sensor in kept(hub)] == [("probe", "shop/t"), ("left", None)]
    page = owner.get(ZONE).text
    assert "The sensor left is on file." in page
    assert "has not read anything yet" in page


@either_way
def test_saving_a_sensor_as_it_is_shown_changes_nothing(
    owner: TestClient, hub: Hub, headers: dict[str, str]
) -> None:
    before = kept(hub)
    answer = owner.post(ONE, data=form_on(owner.get(ONE).text, ONE), headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, ZONE)
    assert kept(hub) == before


@either_way
def test_a_sensor_is_moved(owner: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    answer = owner.post(MOVE, data={"zone_id": "2"}, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/ways/zones/2")
    assert [(sensor.name, sensor.zone_id) for sensor in kept(hub)] == [
        ("probe (ended 2026-03-02)", 1),
        ("probe", 2),
    ]
    assert "It has ended" in owner.get(ONE).text


@either_way
def test_a_sensor_is_ended(owner: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    answer = owner.post(END, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, ZONE)
    assert kept(hub)[0].ended_at == START
    assert "No sensor is on file here" in owner.get(ZONE).text


@pytest.mark.parametrize(
    ("path", "data", "field", "says"),
    [
        (NEW, {"name": "", "topic": "a"}, "name", "The name is missing"),
        (NEW, {"name": "x" * 37, "topic": ""}, "name", "at most 36 fit"),
        (NEW, {"name": "probe", "topic": ""}, "name", "a sensor called probe already"),
        (NEW, {"name": "left", "topic": "shop/t"}, "topic", "“probe” publishes there already"),
        (NEW, {"name": "left", "topic": "shop/#"}, "topic", "stands for many"),
        (ONE, {"name": "", "topic": "b", "version": "1"}, "name", "The name is missing"),
        (MOVE, {"zone_id": ""}, "zone_id", "The zone is missing"),
        (MOVE, {"zone_id": "1"}, "zone_id", "It hangs in bench already"),
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
    assert all(typed[name] == [value] for name, value in data.items() if name in typed)
    assert kept(hub) == before


def test_whoever_comes_late_is_refused(owner: TestClient, hub: Hub) -> None:
    assert owner.post(ONE, data={"name": "left", "topic": "", "version": "1"}).status_code == 303
    answer = owner.post(ONE, data={"name": "right", "topic": "", "version": "1"})
    assert (answer.status_code, "Somebody else changed this sensor" in answer.text) == (409, True)
    assert owner.post(END).status_code == 303
    assert [owner.post(path, data={"zone_id": "2"}).status_code for path in (END, MOVE)] == [409, 409]
    assert [sensor.name for sensor in kept(hub)] == ["left (ended 2026-03-02)"]


@pytest.mark.parametrize("role", [Role.BUILDER, Role.HELPER])
def test_sensors_are_the_owners_to_change(owner: TestClient, hub: Hub, signed_in: SignIn, role: Role) -> None:
    before, owner_page = kept(hub), owner.get(ZONE).text
    other = signed_in(role)
    assert ONE in owner_page
    page = other.get(ZONE).text
    assert "probe" in page
    assert ONE not in page
    assert [other.get(path).status_code for path in (NEW, ONE)] == [403, 403]
    assert [other.post(path).status_code for path in (NEW, ONE, MOVE, END)] == [403] * 4
    assert kept(hub) == before


def test_what_is_not_on_file(owner: TestClient) -> None:
    assert owner.get("/ways/sensors/7").status_code == 404
    assert owner.get("/ways/zones/7/sensors/new").status_code == 404
    assert owner.post("/ways/sensors/7/end").status_code == 404
    assert owner.post(MOVE, data={"zone_id": "7"}).status_code == 404


def test_a_silent_sensor_says_since_when_and_what_counts_instead(
    owner: TestClient, hub: Hub, hands: Hands
) -> None:
    read(hub, hands, 20.5)
    assert "20.5 °C, 09:00" in owner.get(ZONE).text
    hands.forward(minutes=59)
    assert "silent since" not in owner.get(ZONE).text
    hands.forward(minutes=1)
    assert "silent since 09:00: the assumed temperature counts" in owner.get(ZONE).text
    with hub.database.writing(hands.wall_at) as session:
        add_reading(session, 1, now=hands.wall_at, at=hands.wall_at, celsius=18.0)
    assert "silent since 09:00: what else is read here counts" in owner.get(ZONE).text


def test_a_clock_an_hour_slow_is_said_after_three_readings(owner: TestClient, hub: Hub, hands: Hands) -> None:
    for _ in range(3):
        assert "clock seems" not in owner.get(ZONE).text
        hands.forward(minutes=5)
        read(hub, hands, 20.0, late=60)
    assert "its clock seems 60 min slow: set it" in owner.get(ZONE).text
    hands.forward(minutes=5)
    read(hub, hands, 20.0)
    assert "clock seems" not in owner.get(ZONE).text


def test_two_that_contradict_each_other_are_both_named(owner: TestClient, hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        add_sensor(session, now=hands.wall_at, zone_id=1, name="left")
    read(hub, hands, 20.0)
    read(hub, hands, 17.0, sensor="left")
    assert "the colder one counts" not in owner.get(ZONE).text
    hands.forward(minutes=1)
    read(hub, hands, 16.9, sensor="left")
    page = owner.get(ZONE).text
    assert "“left” says 16.9 °C and “probe” says 20.0 °C: the colder one counts for every cure" in page
    assert '<span class="figure-value">16.9 °C</span>' in page


def test_a_refused_payload_and_a_broker_are_spoken_of(owner: TestClient, hub: Hub, hands: Hands) -> None:
    assert "No broker is set (TACKFREE_MQTT_URL)" in owner.get(ZONE).text
    assert hub.heard.refuse(1, "“warm” is no number.", hands.wall_at)
    assert "last refused, 09:00: “warm” is no number." in owner.get(ZONE).text
    assert not hub.heard.refuse(1, "“warm” is no number.", hands.forward(minutes=1))
    assert "last refused, 09:01 (2 in all): “warm” is no number." in owner.get(ZONE).text
