"""The API of zones: a sensor posts what it reads, and every cure in the zone goes by it at once."""

from datetime import timedelta
from typing import Any

import pytest

from shop.rules.people import Scope
from tests.api.conftest import Program
from tests.api.filled import ZONE
from tests.conftest import START, Hands

READINGS = f"/zones/{ZONE}/readings"
NOW = "2026-03-02T09:00:00Z"


@pytest.fixture
def sensor(program: Any) -> Program:
    made: Program = program(Scope.SENSOR)
    return made


def fields(problem: Any) -> list[str]:
    return [error["field"] for error in problem["errors"]]


def reading(at: str = NOW, celsius: float = 20.0) -> dict[str, Any]:
    return {"at": at, "celsius": celsius}


def test_a_zone_is_kept(desk: Program) -> None:
    made = desk.post("/zones", name="warm cabinet", assumed_c=22.5)
    assert made == {"id": 2, "name": "warm cabinet", "assumed_c": 22.5, "last_read_at": None}
    assert desk.get("/zones/2") == made
    assert [zone["name"] for zone in desk.get("/zones")["items"]] == ["bench", "warm cabinet"]


def test_a_sensor_posts_readings_in_any_order(desk: Program, sensor: Program) -> None:
    told = [reading("2026-03-02T10:00:00+01:00"), reading("2026-03-02T08:30:00Z", 18.5)]
    response = sensor.send("POST", READINGS, json={"readings": told})
    assert (response.status_code, response.json()) == (201, {"accepted": 2, "repeated": 0})
    assert desk.get("/zones/1")["last_read_at"] == NOW


def test_a_sensor_does_nothing_else(sensor: Program) -> None:
    sensor.assert_refused(403, "/zones", method="GET")
    sensor.assert_refused(403, "/zones", name="loft", assumed_c=9)
    sensor.assert_refused(403, "/zones/1", method="PATCH", assumed_c=9)


@pytest.mark.parametrize(("scope", "status"), [(Scope.READ, 403), (Scope.BENCH, 201), (Scope.DESK, 201)])
def test_who_may_post_readings(program: Any, scope: Scope, status: int) -> None:
    other: Program = program(scope)
    assert other.send("POST", READINGS, json={"readings": [reading()]}).status_code == status


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        (reading("2026-03-02T09:01:01Z"), "readings.1.at"),
        (reading("2024-03-02T08:59:59Z"), "readings.1.at"),
        (reading("2026-03-02T09:00:00"), "readings.1.at"),
        (reading("yesterday"), "readings.1.at"),
        (reading(celsius=-40.5), "readings.1.celsius"),
        (reading(celsius=80.5), "readings.1.celsius"),
        ({"at": NOW, "celsius": "20"}, "readings.1.celsius"),
        ({"at": NOW}, "readings.1.celsius"),
        ({**reading(), "unit": "C"}, "readings.1.unit"),
    ],
)
def test_one_reading_that_cannot_be_keeps_the_batch_out(
    desk: Program, sensor: Program, wrong: dict[str, Any], field: str
) -> None:
    assert fields(sensor.assert_refused(422, READINGS, readings=[reading(), wrong])) == [field]
    assert desk.get("/zones/1")["last_read_at"] is None


@pytest.mark.parametrize(
    "last", [reading("2026-03-02T09:01:00Z"), reading("2024-03-02T09:00:00Z"), reading(celsius=-40)]
)
def test_the_last_reading_that_can_be_is_accepted(sensor: Program, last: dict[str, Any]) -> None:
    assert sensor.post(READINGS, readings=[last]) == {"accepted": 1, "repeated": 0}


def test_ten_thousand_readings_come_in_one_post_and_twenty_thousand_at_most(
    desk: Program, sensor: Program
) -> None:
    assert fields(sensor.assert_refused(422, READINGS, readings=[])) == ["readings"]
    many = [reading((START - timedelta(seconds=n)).isoformat()) for n in range(20_001)]
    assert fields(sensor.assert_refused(422, READINGS, readings=many)) == ["readings"]
    assert desk.get("/zones/1")["last_read_at"] is None
    assert sensor.post(READINGS, readings=many[:10_000]) == {"accepted": 10_000, "repeated": 0}
    assert sensor.post(READINGS, readings=many[:20_000]) == {"accepted": 10_000, "repeated": 10_000}


def test_more_than_the_server_takes_is_said_plainly(sensor: Program) -> None:
    body = b'{"readings": [' + b" " * 2_000_000 + b"]}"
    answer = sensor.send("POST", READINGS, content=body, headers={"content-type": "application/json"})
    assert (answer.status_code, answer.json()["title"]) == (413, "Content Too Large")


def test_every_reading_that_cannot_be_is_named_by_its_place(desk: Program, sensor: Program) -> None:
    told = [reading(), reading("2026-03-02T10:01:00Z", 99), *[reading(celsius=-41) for _ in range(25)]]
    problem = sensor.assert_refused(422, READINGS, readings=told)
    assert fields(problem)[:3] == ["readings.1.at", "readings.1.celsius", "readings.2.celsius"]
    assert fields(problem)[-1] == "readings"
    assert problem["errors"][0]["detail"] == (
        "That reading comes from the future, 61 min ahead of the server's clock; set the thermometer's clock."
    )
    assert problem["errors"][-1]["detail"].startswith("Beside these, 7 more")
    assert desk.get("/zones/1")["last_read_at"] is None


def test_a_retried_batch_is_taken_in_once(sensor: Program) -> None:
    headers = {"Idempotency-Key": "minute 540"}
    body = {"readings": [reading()]}
    answers = [sensor.send("POST", READINGS, json=body, headers=headers) for _ in range(2)]
    assert [(answer.status_code, answer.json()) for answer in answers] == [
        (201, {"accepted": 1, "repeated": 0})
    ] * 2
    other = {"readings": [reading(celsius=5)]}
    assert sensor.send("POST", READINGS, json=other, headers=headers).status_code == 422


def test_what_is_read_moves_the_cures_of_the_zone(desk: Program, sensor: Program, hands: Hands) -> None:
    cure = desk.glue(desk.build(), "rear grip")
    assert cure["set_at"] == "2026-03-02T19:00:00Z"
    hands.forward(hours=2)
    # Below the coldest temperature that counts (13 °C) for the one hour that a lone reading speaks.
    sensor.post(READINGS, readings=[reading("2026-03-02T10:00:00Z", 5.0)])
    assert desk.get(f"/cures/{cure['id']}")["set_at"] == "2026-03-02T20:00:00Z"


def test_what_is_assumed_moves_the_cures_of_the_zone(desk: Program) -> None:
    cure = desk.get(f"/cures/{desk.glue(desk.build(), 'rear grip')['id']}")
    desk.send("PATCH", "/zones/1", json={"assumed_c": 12})
    assert desk.get(f"/cures/{cure['id']}")["stalled"] is True
    desk.send("PATCH", "/zones/1", json={"assumed_c": 20})
    assert desk.get(f"/cures/{cure['id']}") == cure


@pytest.mark.parametrize(
    ("told", "field"),
    [
        ({"name": "bench", "assumed_c": 9}, "name"),
        ({"name": " ", "assumed_c": 9}, "name"),
        ({"name": "loft", "assumed_c": -41}, "assumed_c"),
        ({"name": "loft", "assumed_c": 81}, "assumed_c"),
        ({"name": "loft", "assumed_c": "9"}, "assumed_c"),
        ({"name": "loft"}, "assumed_c"),
    ],
)
def test_a_zone_that_cannot_be_is_refused_by_field(desk: Program, told: dict[str, Any], field: str) -> None:
    assert fields(desk.assert_refused(422, "/zones", **told)) == [field]


@pytest.mark.parametrize("changes", [{}, {"name": "long bench"}, {"assumed_c": 0}])
def test_a_change_leaves_the_rest(desk: Program, changes: dict[str, Any]) -> None:
    before = desk.get("/zones/1")
    response = desk.send("PATCH", "/zones/1", json=changes)
    assert (response.status_code, response.json()) == (200, {**before, **changes})


@pytest.mark.parametrize("field", ["name", "assumed_c"])
def test_null_is_no_value_for_what_every_zone_has(desk: Program, field: str) -> None:
    assert fields(desk.assert_refused(422, "/zones/1", method="PATCH", **{field: None})) == [field]


def test_a_zone_that_is_not_on_file(desk: Program) -> None:
    desk.assert_refused(404, "/zones/7", method="GET")
    desk.assert_refused(404, "/zones/7", method="PATCH", assumed_c=9)
    desk.assert_refused(404, "/zones/7/readings", readings=[reading()])
