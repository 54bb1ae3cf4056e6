"""The API of sensors, and readings that name one."""

from typing import Any

import pytest

from shop.rules.people import Scope
from tests.api.conftest import Program
from tests.api.filled import ZONE
from tests.conftest import Hands

READINGS = f"/zones/{ZONE}/readings"
NOW = "2026-03-02T09:00:00Z"
PROBE: dict[str, Any] = {"zone_id": ZONE, "name": "loft probe"}


def fields(problem: Any) -> list[str]:
    return [error["field"] for error in problem["errors"]]


def test_a_sensor_is_kept_and_listed(desk: Program) -> None:
    made = desk.post("/sensors", **PROBE, topic="shop/loft/t")
    assert made == {
        "id": 1, "name": "loft probe", "zone_id": ZONE, "zone": "bench", "topic": "shop/loft/t",
        "created_at": NOW, "ended_at": None, "last_read_at": None, "last_celsius": None,
    }  # fmt: skip
    assert desk.get("/sensors/1") == made
    assert desk.get("/sensors")["items"] == [made]
    desk.assert_refused(404, "/sensors/2", method="GET")


def test_readings_name_their_sensor(desk: Program, program: Any) -> None:
    desk.post("/sensors", **PROBE)
    sensor: Program = program(Scope.SENSOR)
    told = [{"at": NOW, "celsius": 20}]
    assert sensor.post(READINGS, sensor="loft probe", readings=told) == {"accepted": 1, "repeated": 0}
    assert sensor.post(READINGS, sensor="loft probe", readings=told) == {"accepted": 0, "repeated": 1}
    assert sensor.post(READINGS, readings=told) == {"accepted": 1, "repeated": 0}
    assert desk.get("/sensors/1")["last_celsius"] == 20
    problem = sensor.assert_refused(422, READINGS, sensor="attic probe", readings=told)
    assert fields(problem) == ["sensor"]
    assert problem["detail"].startswith("There is no sensor called attic probe")


def test_a_sensor_of_another_zone_reads_nothing_here(desk: Program) -> None:
    desk.post("/sensors", **PROBE)
    loft = desk.post("/zones", name="loft", assumed_c=9)["id"]
    moved = desk.post("/sensors/1/move", zone_id=loft)
    assert (moved["id"], moved["name"], moved["zone"]) == (2, "loft probe", "loft")
    problem = desk.assert_refused(422, READINGS, sensor="loft probe", readings=[{"at": NOW, "celsius": 20}])
    assert problem["detail"] == "The sensor loft probe does not hang in the zone bench."


def test_a_sensor_is_changed_and_ended(desk: Program) -> None:
    desk.post("/sensors", **PROBE, topic="shop/t")
    changed = desk.send("PATCH", "/sensors/1", json={"name": "probe"}).json()
    assert (changed["name"], changed["topic"]) == ("probe", "shop/t")
    assert desk.send("PATCH", "/sensors/1", json={"topic": None}).json()["topic"] is None
    assert fields(desk.assert_refused(422, "/sensors/1", method="PATCH", name=None)) == ["name"]
    ended = desk.send("DELETE", "/sensors/1").json()
    assert (ended["name"], ended["ended_at"]) == ("probe (ended 2026-03-02)", NOW)
    desk.assert_refused(409, "/sensors/1", method="PATCH", name="left")
    desk.assert_refused(409, "/sensors/1/move", zone_id=ZONE)


@pytest.mark.parametrize("told", [{"name": "x" * 37}, {"name": ""}, {"topic": "a/#"}, {"zone_id": "1"}])
def test_a_sensor_that_cannot_be_is_refused_by_field(desk: Program, told: dict[str, Any]) -> None:
    assert fields(desk.assert_refused(422, "/sensors", **dict(PROBE, **told))) == list(told)
    assert desk.get("/sensors")["items"] == []


def test_who_may_hang_sensors(program: Any) -> None:
    for scope in (Scope.SENSOR, Scope.READ, Scope.BENCH):
        other: Program = program(scope)
        other.assert_refused(403, "/sensors", **PROBE)


def test_a_reading_of_a_sensor_moves_the_cures_by_the_coldest(desk: Program, hands: Hands) -> None:
    for name in ("left", "right"):
        desk.post("/sensors", zone_id=ZONE, name=name)
    cure = desk.glue(desk.build(), "rear grip")
    assert cure["set_at"] == "2026-03-02T19:00:00Z"
    hands.forward(hours=2)
    at = "2026-03-02T10:00:00Z"
    desk.post(READINGS, sensor="left", readings=[{"at": at, "celsius": 20}])
    assert desk.get(f"/cures/{cure['id']}")["set_at"] == "2026-03-02T19:00:00Z"
    desk.post(READINGS, sensor="right", readings=[{"at": at, "celsius": 5}])
    assert desk.get(f"/cures/{cure['id']}")["set_at"] == "2026-03-02T20:00:00Z"
