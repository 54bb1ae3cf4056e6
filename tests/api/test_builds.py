"""Builds: taking them on, their printed numbers, and changes of plan."""

from typing import Any

import pytest

from shop.queries.shop import shop_record
from shop.web.deps import Hub
from tests.api.conftest import Program
from tests.conftest import Hands


def test_a_new_build_says_all_that_is_known(desk: Program) -> None:
    build = desk.post(
        "/builds", customer_id=1, title="7 ft casting rod", rod_kind="casting", sequence_id=1,
        promised_on="2026-04-17", thread_colour="#00ff7f", notes="left-handed",
    )  # fmt: skip
    assert build == {
        "number": "26-001", "title": "7 ft casting rod", "rod_kind": "casting", "customer_id": 1,
        "sequence_id": 1, "blank_id": None, "promised_on": "2026-04-17", "thread_colour": "#00ff7f",
        "notes": "left-handed", "stage": None, "pass": 1, "created_at": "2026-03-02T09:00:00Z",
        "closed_at": None, "is_enquiry": False, "closed_as": "", "change_by": None,
    }  # fmt: skip
    assert desk.get("/builds/26-001") == build
    assert desk.get("/builds")["items"] == [build]


@pytest.mark.parametrize(
    ("status", "field", "value"),
    [
        (404, "customer_id", 99), (404, "sequence_id", 99), (404, "blank_id", 99), (422, "title", "  "),
        (422, "rod_kind", "pole"), (422, "thread_colour", "red"), (422, "thread_colour", "#00FF7F"),
        (422, "promised_on", "soon"), (422, "number", "26-999"),
    ],
)  # fmt: skip
def test_a_plan_that_cannot_be_is_refused(desk: Program, status: int, field: str, value: object) -> None:
    plan: dict[str, Any] = {"customer_id": 1, "title": "7 ft", "sequence_id": 1}
    problem = desk.assert_refused(status, "/builds", **{**plan, field: value})
    assert status == 404 or problem["errors"][0]["field"] == field
    assert desk.get("/builds")["items"] == []


def test_without_a_sequence_the_present_one_for_the_kind_is_followed(desk: Program) -> None:
    assert desk.post("/builds", customer_id=1, title="7 ft", rod_kind="casting")["sequence_id"] == 1


def test_numbers_run_through_the_year(desk: Program) -> None:
    assert [desk.build() for _ in range(3)] == ["26-001", "26-002", "26-003"]


@pytest.mark.parametrize(
    ("zone", "hours_before_new_year_in_utc", "number"),
    [
        ("UTC", 1, "26-002"),
        ("UTC", 0, "27-001"),
        ("Europe/Berlin", 2, "26-002"),
        ("Europe/Berlin", 1, "27-001"),
        ("Pacific/Kiritimati", 14, "27-001"),
        ("Pacific/Kiritimati", 15, "26-002"),
        ("America/Los_Angeles", 0, "26-002"),
        ("America/Los_Angeles", -7, "26-002"),
        ("America/Los_Angeles", -8, "27-001"),
    ],
)
def test_the_year_of_a_number_is_that_of_the_shops_calendar(
    filled: Hub, hands: Hands, desk: Program, zone: str, hours_before_new_year_in_utc: int, number: str
) -> None:
    with filled.database.writing(hands.wall_at) as session:
        shop_record(session).time_zone = zone
    assert desk.build() == "26-001"
    # From 2 March 2026, 09:00 UTC, to 1 January 2027, 00:00 UTC, are 304 days and 15 hours.
    hands.forward(days=304, hours=15 - hours_before_new_year_in_utc)
    assert desk.build() == number


def test_the_second_year_counts_from_one_and_the_first_is_kept(hands: Hands, desk: Program) -> None:
    desk.build()
    hands.forward(days=365)
    assert [desk.build(), desk.build()] == ["27-001", "27-002"]
    assert [build["number"] for build in desk.get("/builds")["items"]] == ["26-001", "27-001", "27-002"]


def test_the_thousandth_build_of_a_year_has_four_digits(filled: Hub, desk: Program) -> None:
    number = desk.build()
    assert filled.database.embedded
    with filled.database.engine.begin() as connection:
        connection.exec_driver_sql("UPDATE builds SET running = 999, number = '26-999'")
    assert (number, desk.build()) == ("26-001", "26-1000")


def patched(desk: Program, number: str, **changes: Any) -> Any:
    response = desk.send("PATCH", f"/builds/{number}", json=changes)
    assert response.status_code == 200, response.text
    return response.json()


def test_a_change_leaves_the_rest_as_it_was(desk: Program) -> None:
    number = desk.build(promised_on="2026-04-17", notes="left-handed")
    before = desk.get(f"/builds/{number}")
    assert patched(desk, number, title="8 ft") == {**before, "title": "8 ft"}
    assert patched(desk, number) == {**before, "title": "8 ft"}
    taken_back = patched(desk, number, promised_on=None, promise_reason="No blank in sight.", notes="")
    assert taken_back["promised_on"] is None


@pytest.mark.parametrize("field", ["customer_id", "title", "thread_colour", "notes"])
def test_what_a_build_needs_cannot_be_taken_away(desk: Program, field: str) -> None:
    number = desk.build()
    response = desk.send("PATCH", f"/builds/{number}", json={field: None})
    assert response.status_code == 422
    assert response.json()["errors"][0]["field"] == field


@pytest.mark.parametrize("field", ["rod_kind", "sequence_id", "number", "stage"])
def test_what_a_build_started_with_stays(desk: Program, field: str) -> None:
    response = desk.send("PATCH", f"/builds/{desk.build()}", json={field: "casting"})
    assert response.status_code == 422


def test_a_bench_key_takes_no_builds_on(bench: Program, desk: Program) -> None:
    bench.assert_refused(403, "/builds", customer_id=1, title="7 ft", sequence_id=1)
    assert bench.send("PATCH", f"/builds/{desk.build()}", json={"title": "8 ft"}).status_code == 403
