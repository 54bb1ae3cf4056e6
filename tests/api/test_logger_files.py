"""A logger's file by the API: taken in whole, or refused by line with nothing stored."""

from typing import Any
from urllib.parse import urlencode

import pytest

from shop.rules.people import Scope
from shop.services.shop import ShopFacts, name_shop
from shop.web.deps import Hub
from shop.web.uploads import MOST_FILE_BYTES, MOST_UPLOAD_BYTES
from tests.api.conftest import Program
from tests.api.filled import ZONE
from tests.conftest import Hands

CSV = {"content-type": "text/csv"}
FILE = b"time,celsius\n2026-03-02 08:00,18.5\n2026-03-02 08:30,19\n"


def send(program: Program, body: bytes = FILE, headers: dict[str, str] = CSV, **query: str) -> Any:
    path = f"/zones/{ZONE}/readings.csv" + (f"?{urlencode(query)}" if query else "")
    return program.send("POST", path, content=body, headers=headers)


@pytest.fixture
def sensor(program: Any) -> Program:
    made: Program = program(Scope.SENSOR)
    return made


def test_a_file_is_taken_in_once(desk: Program, sensor: Program) -> None:
    answers = [send(sensor) for _ in range(2)]
    assert [(answer.status_code, answer.json()) for answer in answers] == [
        (201, {"accepted": 2, "repeated": 0}),
        (201, {"accepted": 0, "repeated": 2}),
    ]
    assert desk.get("/zones/1")["last_read_at"] == "2026-03-02T08:30:00Z"


def test_a_file_may_be_that_of_a_sensor(desk: Program, sensor: Program) -> None:
    desk.post("/sensors", zone_id=ZONE, name="loft probe")
    assert send(sensor, sensor="loft probe").json() == {"accepted": 2, "repeated": 0}
    assert desk.get("/sensors/1")["last_celsius"] == 19
    refused = send(sensor, sensor="nobody")
    assert (refused.status_code, refused.json()["errors"][0]["field"]) == (422, "sensor")


@pytest.mark.parametrize(
    ("zone", "last"), [("", "07:30"), ("UTC", "08:30"), ("America/Chicago", None), ("+01:30", "07:00")]
)
def test_the_loggers_clock_is_the_shops_unless_said(
    hub: Hub, hands: Hands, desk: Program, zone: str, last: str | None
) -> None:
    with hub.database.writing(hands.wall_at) as session:
        name_shop(session, ShopFacts("Alder", "Europe/Berlin", "EUR"))
    answer = send(desk, time_zone=zone) if zone else send(desk)
    if last is None:  # 08:30 there is yet to come
        assert "comes from the future" in answer.json()["detail"]
    else:
        assert answer.status_code == 201, answer.text
        assert desk.get("/zones/1")["last_read_at"] == f"2026-03-02T{last}:00Z"


@pytest.mark.parametrize(
    ("body", "field", "says"),
    [
        (FILE + b"noon,20\n", "line 4", "not a date and time"),
        (FILE + b"03/04/2026 10:00,20\n", "line 4", "ISO 8601"),
        (FILE + b'"2026-03-02 08:45,20\n', "line 4", "a quote does not end"),
        (FILE + b"\xff,20\n", "line 4", "not UTF-8"),
        (b"time,humidity\n1,2\n", "file", "headed as the temperature"),
        (b"", "file", "is empty"),
    ],
)
def test_a_file_that_is_not_in_order_is_refused_by_line(
    desk: Program, sensor: Program, body: bytes, field: str, says: str
) -> None:
    answer = send(sensor, body)
    assert answer.status_code == 422
    (error,) = answer.json()["errors"]
    assert error["field"] == field
    assert says in error["detail"]
    assert desk.get("/zones/1")["last_read_at"] is None


def test_of_many_bad_lines_fifty_are_said(sensor: Program) -> None:
    errors = send(sensor, b"time,celsius\n" + b"noon,20\n" * 60).json()["errors"]
    assert [error["field"] for error in errors] == [*(f"line {n}" for n in range(2, 52)), "lines"]
    assert "10 more" in errors[-1]["detail"]


@pytest.mark.parametrize(
    ("headers", "query", "field"),
    [
        ({"content-type": "application/json"}, {}, "body"),
        (CSV, {"time_zone": "Mars"}, "time_zone"),
        (CSV, {"time_zone": "+15:00"}, "time_zone"),
        (CSV, {"zone": "UTC"}, "zone"),
    ],
)
def test_a_call_that_cannot_be(sensor: Program, headers: dict[str, str], query: Any, field: str) -> None:
    answer = send(sensor, headers=headers, **query)
    assert (answer.status_code, answer.json()["errors"][0]["field"]) == (422, field)


def test_a_file_may_be_large_but_not_larger(sensor: Program) -> None:
    padded = b"time,celsius,note\n" + b"".join(
        b"2026-03-02 08:%02d:%02d,18.5,%s\n" % (second // 60, second % 60, b"x" * 1000)
        for second in range(3000)
    )
    assert send(sensor, padded).json() == {"accepted": 3000, "repeated": 0}
    answer = send(sensor, b"x" * (MOST_FILE_BYTES + 1))
    assert (answer.status_code, answer.json()["detail"]) == (422, "The file has more than 8 MB; split it.")
    answer = send(sensor, b"x" * (MOST_UPLOAD_BYTES + 1))
    assert (answer.status_code, answer.json()["title"]) == (413, "Content Too Large")


def test_another_question_with_the_same_key_is_another_request(desk: Program, sensor: Program) -> None:
    desk.post("/sensors", zone_id=ZONE, name="probe")
    headers = {**CSV, "Idempotency-Key": "night"}
    assert send(sensor, headers=headers).json()["accepted"] == 2
    assert send(sensor, headers=headers).json() == {"accepted": 2, "repeated": 0}
    assert send(sensor, headers=headers, sensor="probe").status_code == 422


def test_a_zone_that_is_not_on_file(sensor: Program) -> None:
    answer = sensor.send("POST", "/zones/7/readings.csv", content=FILE, headers=CSV)
    assert answer.status_code == 404
