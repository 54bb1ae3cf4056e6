"""A logger's file on the page of its zone: looked at first, then taken in whole, or refused by line."""

from collections.abc import Callable
from typing import Any

import pytest
from fastapi.testclient import TestClient
from httpx2 import Response

from shop.queries.zones import latest_readings
from shop.rules.people import Role
from shop.services.sensors import add_sensor, end_sensor
from shop.services.zones import add_zone
from shop.web.deps import Hub
from shop.web.looked_at import MOST_FILES
from shop.web.uploads import MOST_FILE_BYTES, MOST_UPLOAD_BYTES
from tests.conftest import Hands
from tests.web.bench_shop import HTMX
from tests.web.forms_read import form_on

SignIn = Callable[[Role], TestClient]
ZONE, LOOK, TAKE = "/ways/zones/1", "/ways/zones/1/file", "/ways/zones/1/file/take"
FILE = "Time;Temperature °C\n2026-03-02 08:00;18,5\n2026-03-02 08:30;19\n"
either_way = pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])


@pytest.fixture
def helper(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    with hub.database.writing(hands.wall_at) as session:
        for name in ("bench", "loft"):
            add_zone(session, now=hands.wall_at, name=name, assumed_c=16.0)
        add_sensor(session, now=hands.wall_at, zone_id=1, name="probe")
    return signed_in(Role.HELPER)


def look(client: TestClient, text: str | bytes = FILE, headers: Any = None, **typed: str) -> Response:
    body = text.encode() if isinstance(text, str) else text
    data = {"sensor": "", "time_zone": "", **typed}
    return client.post(LOOK, data=data, files={"file": ("night.csv", body, "text/csv")}, headers=headers)


def token_on(page: str) -> dict[str, str]:
    return {"token": form_on(page, TAKE)["token"][0]}


def stored(hub: Hub) -> list[tuple[str, float, str | None]]:
    with hub.database.reading() as session:
        return [(f"{read.at:%H:%M}", read.celsius, read.sensor) for read in latest_readings(session, 1, 9)]


@either_way
def test_a_file_is_looked_at_and_then_taken_in(helper: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    assert 'type="file"' in helper.get(ZONE).text
    answer = look(helper, headers=headers, sensor="probe")
    assert answer.status_code == 200
    for words in ("Nothing is stored yet", "night.csv", "probe", "08:00", "08:30", "18.5 °C", "19.0 °C"):
        assert words in answer.text
    assert stored(hub) == []
    token = token_on(answer.text)
    taken = helper.post(TAKE, data=token, headers=headers)
    assert (taken.status_code, taken.headers["location"]) == (303, ZONE)
    assert stored(hub) == [("08:30", 19.0, "probe"), ("08:00", 18.5, "probe")]
    assert "2 readings are taken in." in helper.get(ZONE).text
    assert helper.post(TAKE, data=token, headers=headers).status_code == 303
    assert "0 readings are taken in. 2 were on file already." in helper.get(ZONE).text


def test_the_loggers_clock_may_go_by_another_time_zone(helper: TestClient, hub: Hub) -> None:
    helper.post(TAKE, data=token_on(look(helper, time_zone="Europe/Berlin").text))
    assert [at for at, _, _ in stored(hub)] == ["07:30", "07:00"]


@pytest.mark.parametrize(
    ("text", "typed", "field", "says"),
    [
        ("", {}, "file", "No file came, or an empty one"),
        ("a,b\n1,2\n", {}, "file", "headed as the time or the temperature"),
        (b"time,c\n1,\x00\n", {}, "file", "not plain text"),
        (FILE, {"sensor": "nobody"}, "sensor", "No sensor called nobody hangs in bench"),
        (FILE, {"time_zone": "Mars"}, "time_zone", "“Mars” is no time zone"),
        (b"x" * (MOST_FILE_BYTES + 1), {}, "file", "more than 8 MB"),
    ],
)
def test_a_file_that_is_none_is_refused_beside_its_field(
    helper: TestClient, hub: Hub, text: str | bytes, typed: dict[str, str], field: str, says: str
) -> None:
    answer = look(helper, text, **typed)
    assert answer.status_code == 422
    assert says in answer.text.split(f'id="e-{field}"')[1].split("</p>")[0]
    shown = form_on(answer.text, LOOK)
    assert typed.get("time_zone", "") == shown["time_zone"][0]
    assert TAKE not in answer.text
    assert stored(hub) == []


def test_bad_lines_are_listed_and_nothing_is_kept(helper: TestClient, hub: Hub) -> None:
    answer = look(helper, FILE + "03/04/2026 10:00;20\n" + "noon;20\n" * 60)
    assert answer.status_code == 422
    assert "61 lines are not in order, so nothing is taken in" in answer.text
    assert "may mean day and month or month and day" in answer.text
    assert "11 more lines are not in order." in answer.text
    assert answer.text.count("is read here") == 49
    assert TAKE not in answer.text
    assert stored(hub) == []


def test_a_form_without_a_file_or_with_a_far_too_large_one(helper: TestClient) -> None:
    answer = helper.post(LOOK, data={"sensor": "", "time_zone": ""})
    assert (answer.status_code, "No file came" in answer.text) == (422, True)
    assert look(helper, b"x" * MOST_UPLOAD_BYTES).status_code == 413
    assert helper.post(f"{ZONE}/readings", content=b"x" * 2_000_001).status_code == 413


def test_a_file_that_is_kept_no_longer_is_chosen_again(helper: TestClient, hub: Hub, hands: Hands) -> None:
    token = token_on(look(helper).text)
    answer = helper.post("/ways/zones/2/file/take", data=token)
    assert (answer.status_code, "not kept any more" in answer.text) == (422, True)
    for _ in range(MOST_FILES):
        later = token_on(look(helper).text)
    assert helper.post(TAKE, data=token).status_code == 422
    hands.forward(minutes=31)
    assert helper.post(TAKE, data=later).status_code == 422
    assert helper.post(TAKE).status_code == 422
    assert stored(hub) == []


def test_a_sensor_that_ended_meanwhile_takes_nothing_in(helper: TestClient, hub: Hub, hands: Hands) -> None:
    token = token_on(look(helper, sensor="probe").text)
    with hub.database.writing(hands.wall_at) as session:
        end_sensor(session, 1, now=hands.wall_at)
    answer = helper.post(TAKE, data=token)
    assert (answer.status_code, "no sensor called probe" in answer.text) == (422, True)
    assert stored(hub) == []


def test_a_zone_that_is_not_on_file(helper: TestClient) -> None:
    assert helper.post("/ways/zones/7/file").status_code == 404
    assert helper.post("/ways/zones/7/file/take").status_code == 404
