"""The API of turners, as a program sees it: places, stays, looks, stops, and what is refused."""

from collections.abc import Callable
from typing import Any

import pytest

from shop.rules.people import Scope
from tests.api.conftest import Program
from tests.api.filled import FINISH, ZONE
from tests.conftest import Hands

RACK = {"name": "Rack", "places": 3, "zone_id": ZONE}


@pytest.fixture
def desk(desk: Program) -> Program:
    """The desk's program, with a turner and two rods on file; the sheet says to turn for four hours."""
    desk.send("PATCH", f"/adhesives/{FINISH}", json={"turn_minutes": 240})
    desk.post("/turners", **RACK)
    for _ in range(2):
        desk.build()
    return desk


def coated(desk: Program, number: str = "26-001", place: int = 1) -> Any:
    desk.glue(number, "guide wraps", FINISH)
    return desk.post("/turners/1/stays", build=number, place_number=place)


def test_a_turner_is_put_on_file_and_changed(desk: Program) -> None:
    turner = desk.get("/turners/1")
    assert {name: turner[name] for name in ("name", "places", "free", "check_minutes", "zone_id")} == {
        **RACK, "free": 3, "check_minutes": 120,
    }  # fmt: skip
    assert (turner["on"], turner["stop_id"], turner["last_seen_at"], turner["look_at"]) == (
        [],
        None,
        None,
        None,
    )
    changed = desk.send("PATCH", "/turners/1", json={"places": 8, "zone_id": None}).json()
    assert (changed["places"], changed["zone_id"], changed["name"]) == (8, None, "Rack")
    assert [item["id"] for item in desk.get("/turners")["items"]] == [1]
    desk.post("/turners", name="Spare", places=1)
    assert [item["name"] for item in desk.get("/turners", after=1)["items"]] == ["Spare"]


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"name": "Rack", "places": 1}, "name"),
        ({"name": "Spare", "places": 0}, "places"),
        ({"name": "Spare", "places": 1, "check_minutes": 4}, "check_minutes"),
        ({"name": "Spare", "places": False}, "places"),
        ({"name": "Spare"}, "places"),
    ],
)
def test_a_turner_that_cannot_be(desk: Program, body: dict[str, Any], field: str) -> None:
    problem = desk.assert_refused(422, "/turners", **body)
    assert [error["field"] for error in problem["errors"]] == [field]
    desk.assert_refused(404, "/turners", name="Spare", places=1, zone_id=9)
    desk.assert_refused(422, "/turners/1", method="PATCH", places=None)
    assert len(desk.get("/turners")["items"]) == 1


def test_a_rod_goes_on_turns_and_comes_off(desk: Program, hands: Hands) -> None:
    stay = coated(desk)
    assert {name: stay[name] for name in ("id", "turner_id", "place_number", "build", "section")} == {
        "id": 1, "turner_id": 1, "place_number": 1, "build": "26-001", "section": 0,
    }  # fmt: skip
    assert (stay["turns_until"], stay["by_sheet"], stay["no_end"]) == ("2026-03-02T13:00:00Z", True, False)
    turner = desk.get("/turners/1")
    assert (turner["free"], turner["look_at"]) == (2, "2026-03-02T11:00:00Z")
    assert [on["build"] for on in turner["on"]] == ["26-001"]
    held = desk.assert_refused(409, "/stays/1/off")
    assert [(hold["kind"], hold["clears_at"], hold["cleared_by"]) for hold in held["holds"]] == [
        ("turner", "2026-03-02T13:00:00Z", "time")
    ]
    hands.forward(hours=4)
    assert desk.post("/stays/1/off", by="Ott")["off_by"] == "Ott"
    assert desk.get("/turners/1")["free"] == 3
    desk.assert_refused(409, "/stays/1/off")
    desk.assert_refused(404, "/stays/9/off")
    notes = [
        entry["note"] for entry in desk.get("/builds/26-001/events")["items"] if entry["kind"] == "turner"
    ]
    assert notes == ["Put on Rack, place 1: the whole rod.", "Taken off Rack, place 1, after 4 h 00 min."]


def test_a_rod_comes_off_early_for_a_reason(desk: Program) -> None:
    coated(desk)
    assert desk.post("/stays/1/off", reason="The chuck slips.")["off_at"] == "2026-03-02T09:00:00Z"


def test_two_rods_on_one_place_and_one_rod_on_two_are_refused(desk: Program) -> None:
    coated(desk)
    desk.assert_refused(409, "/turners/1/stays", build="26-002", place_number=1)
    desk.assert_refused(409, "/turners/1/stays", build="26-001", place_number=2)
    desk.assert_refused(422, "/turners/1/stays", build="26-002", place_number=4)
    desk.assert_refused(422, "/turners/1/stays", build="26-002", place_number=2, section=3)
    desk.assert_refused(404, "/turners/1/stays", build="26-777", place_number=2)
    desk.assert_refused(404, "/turners/9/stays", build="26-002", place_number=2)
    assert len(desk.get("/turners/1")["on"]) == 1


def test_a_rod_is_moved(desk: Program) -> None:
    coated(desk)
    moved = desk.post("/stays/1/move", turner_id=1, place_number=3)
    assert (moved["id"], moved["place_number"]) == (2, 3)
    desk.assert_refused(422, "/stays/2/move", turner_id=1, place_number=3)
    desk.assert_refused(404, "/stays/2/move", turner_id=9, place_number=3)


def test_a_look_is_written_down(desk: Program, hands: Hands) -> None:
    coated(desk)
    hands.forward(hours=1)
    turner = desk.post("/turners/1/checks", at="2026-03-02T09:50:00Z")
    assert (turner["last_seen_at"], turner["look_at"]) == ("2026-03-02T09:50:00Z", "2026-03-02T11:50:00Z")
    desk.assert_refused(422, "/turners/1/checks", at="2026-03-02T10:01:00Z")
    desk.assert_refused(404, "/turners/9/checks")


def test_a_stop_from_its_beginning_to_the_last_inspection(desk: Program, hands: Hands) -> None:
    coated(desk)
    hands.forward(hours=1)
    coated(desk, "26-002", 2)
    hands.forward(minutes=10)
    stop = desk.post("/turners/1/stops", stopped_at="2026-03-02T10:05:00Z", note="breaker")
    rods = [(rod["build"], rod["place_number"], rod["by_hand"]) for rod in stop["rods"]]
    assert rods == [("26-002", 2, True), ("26-001", 1, True)]
    assert desk.get("/turners/1")["stop_id"] == stop["id"] == 1
    assert desk.kinds("26-001") == ["check"]
    turned = desk.post("/stops/1/rods", build="26-002", turned=True)
    assert [(rod["build"], rod["turned_at"]) for rod in turned["rods"]] == [
        ("26-001", None), ("26-002", "2026-03-02T10:10:00Z"),
    ]  # fmt: skip
    held = desk.assert_refused(409, "/stops/1/rods", build="26-001", outcome="good")
    assert [(hold["kind"], hold["cleared_by"]) for hold in held["holds"]] == [("check", "work")]
    desk.assert_refused(409, "/turners/1/stops")
    assert desk.post("/stops/1/end")["ended_at"] == "2026-03-02T10:10:00Z"
    desk.assert_refused(409, "/stops/1/end")
    found = desk.post("/stops/1/rods", build="26-001", outcome="flawed", note="a run")["rods"]
    assert [(rod["build"], rod["outcome"], rod["note"]) for rod in found if rod["outcome"]] == [
        ("26-001", "flawed", "a run")
    ]
    assert desk.kinds("26-001") == []
    desk.post("/stops/1/rods", build="26-002", outcome="good")
    assert [rod["outcome"] for rod in desk.get("/stops/1")["rods"]].count("") == 0


@pytest.mark.parametrize(
    ("body", "status"),
    [
        ({"build": "26-001"}, 422),
        ({"build": "26-001", "turned": True, "outcome": "good"}, 422),
        ({"build": "26-001", "outcome": "fine"}, 422),
        ({"build": "26-001", "outcome": "flawed"}, 422),
        ({"build": "26-001", "outcome": "good", "at": "2026-03-02T09:00:00Z"}, 422),
        ({"build": "26-001", "turned": True, "at": "2026-03-02T08:59:00Z"}, 422),
        ({"build": "26-002", "turned": True}, 404),
        ({"build": "26-001", "section": 1, "turned": True}, 404),
    ],
)
def test_what_cannot_be_done_with_a_stopped_rod(desk: Program, body: dict[str, Any], status: int) -> None:
    coated(desk)
    desk.post("/turners/1/stops")
    desk.assert_refused(status, "/stops/1/rods", **body)
    (rod,) = desk.get("/stops/1")["rods"]
    assert (rod["turned_at"], rod["outcome"]) == (None, "")


def test_what_each_scope_may(desk: Program, program: Callable[..., Program]) -> None:
    coated(desk)
    reading = program(Scope.READ)
    assert reading.get("/turners/1")["free"] == 2
    refused: list[tuple[str, dict[str, Any]]] = [
        ("/turners/1/checks", {}),
        ("/stays/1/off", {}),
        ("/turners/1/stops", {}),
        ("/turners/1/stays", {"build": "26-002", "place_number": 2}),
    ]
    for path, body in refused:
        reading.assert_refused(403, path, **body)
    bench = program(Scope.BENCH)
    bench.assert_refused(403, "/turners", name="Spare", places=1)
    bench.assert_refused(403, "/turners/1", method="PATCH", places=9)
    bench.post("/turners/1/checks")


def test_a_stop_that_contradicts_a_look_is_refused(desk: Program, hands: Hands) -> None:
    hands.forward(minutes=30)
    coated(desk)
    early = desk.assert_refused(422, "/turners/1/stops", stopped_at="2026-03-02T09:20:00Z")
    assert [(error["field"], error["detail"]) for error in early["errors"]] == [
        ("stopped_at", "That time lies 10 min before the first rod was put on Rack.")
    ]
    hands.forward(hours=1)
    desk.post("/turners/1/checks")
    hands.forward(minutes=10)
    seen = desk.assert_refused(422, "/turners/1/stops", stopped_at="2026-03-02T10:29:00Z")
    assert [error["detail"] for error in seen["errors"]] == [
        "That time lies 60 s before Rack was last seen turning."
    ]
    assert desk.post("/turners/1/stops", stopped_at="2026-03-02T10:30:00Z")["id"] == 1
