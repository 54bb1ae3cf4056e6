"""The calendar feed: who gets in, that its times are the cure clock's, and that they move with the warmth."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta

import pytest
import vobject
from fastapi.testclient import TestClient
from httpx2 import Response
from icalendar import Calendar, Event

from shop.rules.people import Role
from shop.services.adhesives import change_adhesive
from shop.services.zones import change_zone
from shop.web.deps import Hub
from tests.api.filled import FINISH, ZONE
from tests.conftest import Hands
from tests.web.bench_shop import HTMX, open_bench

SignIn = Callable[[Role], TestClient]
YOU = "/ways/you"
MAKE, END = f"{YOU}/calendar", f"{YOU}/calendar/end"


@pytest.fixture
def bench(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    """One rod, whose rear grip was closed at nine and takes ten hours at twenty degrees."""
    open_bench(hub, hands)
    client = signed_in(Role.OWNER)
    client.post("/cup", data={"adhesive_id": "1", "zone_id": "1"})
    client.post("/mixes/1/cures", data={"build": "26-001", "place": "rear grip"})
    return client


def feed_of(client: TestClient) -> str:
    """The path of one's live address, as the page shows it."""
    return "/calendar/" + client.get(YOU).text.split("/calendar/")[1].split('"')[0]


def made(client: TestClient) -> str:
    assert client.post(MAKE).status_code == 303
    return feed_of(client)


def events(answer: Response) -> list[Event]:
    """The events as the strict reader has them; it keeps a list of what it could not read."""
    calendar = Calendar.from_ical(answer.content)
    assert isinstance(calendar, Calendar)
    assert calendar.errors == []
    return calendar.events


def times(answer: Response) -> dict[str, datetime]:
    """When each event begins, by the part of its id that names the cure."""
    return {event.uid.partition("@")[0]: instant(event.start) for event in events(answer)}


def instant(value: date) -> datetime:
    assert isinstance(value, datetime)
    return value


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_an_address_is_made_shown_again_replaced_and_ended(
    bench: TestClient, headers: dict[str, str]
) -> None:
    assert "You have no calendar address" in bench.get(YOU).text
    answer = bench.post(MAKE, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, f"{YOU}#calendar")
    first = feed_of(bench)
    assert first == feed_of(bench)
    assert first.endswith(".ics")
    assert bench.get(first).status_code == 200
    second = made(bench)
    assert second != first
    replaced = bench.get(first)
    assert bench.post(END, headers=headers).status_code == 303
    assert "You have no calendar address" in bench.get(YOU).text
    odd = ["unknown", "%00", "9" * 43, "%F0%9F%8E%A3", "x" * 5000, " "]
    answers = [replaced, bench.get(second), *(bench.get(f"/calendar/{token}.ics") for token in odd)]
    assert {answer.status_code for answer in answers} == {404}
    assert len({answer.content for answer in answers}) == 1
    assert len({str(sorted(answer.headers.items())) for answer in answers}) == 1


def test_a_program_may_ask_for_the_heads_alone(bench: TestClient) -> None:
    path = made(bench)
    whole, heads = bench.get(path), bench.head(path)
    assert heads.status_code == 200
    assert heads.headers["etag"] == whole.headers["etag"]
    assert heads.headers["content-type"] == whole.headers["content-type"]
    assert bench.head("/calendar/unknown.ics").status_code == 404


def test_a_window_of_less_than_a_second_does_not_take_the_feed_down(
    bench: TestClient, hub: Hub, hands: Hands
) -> None:
    path = made(bench)
    with hub.database.writing(hands.wall_at) as session:
        change_adhesive(
            session, FINISH, now=hands.wall_at, by="Nell", recoat_from_minutes=120.0,
            recoat_until_minutes=120.005,
        )  # fmt: skip
    bench.post("/cup", data={"adhesive_id": str(FINISH), "zone_id": "1"})
    closed = bench.post("/mixes/2/cures", data={"build": "26-001", "place": "guide wraps"})
    assert closed.status_code == 303
    answer = bench.get(path)
    assert answer.status_code == 200
    assert {"cure-2-set", "cure-2-full"} <= set(times(answer))
    assert "cure-2-window" not in times(answer)


def test_a_wrong_password_leaves_the_address_on_the_page(bench: TestClient) -> None:
    path = made(bench)
    answer = bench.post(f"{YOU}/password", data={"current": "not mine", "password": "short"})
    assert answer.status_code == 422
    assert path in answer.text


def test_an_address_opens_without_signing_in_and_sets_no_cookie(bench: TestClient, signed_in: SignIn) -> None:
    path = made(bench)
    assert "You have no calendar address" in signed_in(Role.HELPER).get(YOU).text
    bench.cookies.clear()
    answer = bench.get(path)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    assert "noindex" in answer.headers["x-robots-tag"]
    assert answer.headers["referrer-policy"] == "no-referrer"
    assert "set-cookie" not in answer.headers
    for path in (MAKE, END):
        assert bench.post(path).headers["location"].startswith("/sign-in")


def test_its_instants_are_those_of_the_cure_clock_in_two_readers(bench: TestClient) -> None:
    answer = bench.get(made(bench))
    nine = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
    found = times(answer)
    assert set(found) == {"cure-1-set", "cure-1-full"}
    for key, hours in (("cure-1-set", 10), ("cure-1-full", 24)):
        assert timedelta() <= found[key] - nine - timedelta(hours=hours) <= timedelta(seconds=1)
    other = vobject.readOne(answer.text)
    assert {event.uid.value.partition("@")[0]: event.dtstart.value for event in other.vevent_list} == found
    summaries = [event.summary.value for event in other.vevent_list]
    assert summaries == ["26-001 rear grip: set", "26-001 rear grip: fully cured"]
    assert other.vevent.description.value == "7 ft casting\nRiverbed"


def test_a_cold_reading_moves_the_event_and_does_not_make_another(
    bench: TestClient, hub: Hub, hands: Hands
) -> None:
    path = made(bench)
    before = bench.get(path)
    hands.forward(minutes=30)
    assert bench.post("/ways/zones/1/readings", data={"celsius": "14"}).status_code == 303
    after = bench.get(path)
    assert set(times(after)) == set(times(before))
    assert times(after)["cure-1-set"] > times(before)["cure-1-set"] + timedelta(minutes=10)
    assert {event.uid for event in events(before)} == {event.uid for event in events(after)}
    assert events(before)[0].last_modified < events(after)[0].last_modified
    with hub.database.writing(hands.forward(hours=2)) as session:
        change_zone(session, ZONE, assumed_c=5.0)
    assert times(bench.get(path)) == {}


def test_who_has_it_already_is_told_so_until_a_time_moves(bench: TestClient, hub: Hub, hands: Hands) -> None:
    path = made(bench)
    tag = {"if-none-match": bench.get(path).headers["etag"]}
    bench.post("/moments/seen", data={"all": hands.wall_at.isoformat()})
    hands.forward(hours=5)
    assert bench.get(path, headers=tag).status_code == 304
    with hub.database.writing(hands.wall_at) as session:
        change_zone(session, ZONE, assumed_c=18.0)
    assert bench.get(path, headers=tag).status_code == 200


def test_a_window_is_in_it_while_a_coat_is_to_come_and_nothing_tacky_is(bench: TestClient) -> None:
    path = made(bench)
    bench.post("/cup", data={"adhesive_id": str(FINISH), "zone_id": "1"})
    bench.post("/mixes/2/cures", data={"build": "26-001", "place": "guide wraps"})
    (window,) = (event for event in events(bench.get(path)) if "window" in event.uid)
    assert window.summary == "26-001 guide wraps: recoat window"
    length = instant(window.end) - instant(window.start)
    assert timedelta(hours=14) - timedelta(seconds=1) <= length <= timedelta(hours=14)
    bench.post("/mixes/1/suspect", data={"suspect_reason": "streaks in the cup"})
    assert set(times(bench.get(path))) == {"cure-2-set", "cure-2-window", "cure-2-full"}
