"""The page that asks since when a turner turns again: the time said, what cannot be, and a second answer."""

from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.queries.cure_clock import CureClock
from shop.queries.turner_stops import StopView, stops_to_see
from shop.rules.people import Role
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.turner_shop import RODS, bench_at, fill_with_turner, lay_coat
from tests.web.bench_shop import HTMX
from tests.web.forms_read import form_on

TURNER, END = "/turner", "/turner/stops/1/end"
either_way = pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])


@pytest.fixture
def stopped(hub: Hub, hands: Hands, signed_in: Callable[[Role], TestClient]) -> TestClient:
    """The owner's browser, half an hour after a wet rod was put on a turner that stands still since."""
    with hub.database.writing(hands.wall_at) as session:
        fill_with_turner(session, hands.wall_at)
        lay_coat(session, bench_at(session, hands.wall_at), RODS[0])
    owner = signed_in(Role.OWNER)
    assert owner.post("/turner/stays", data={"rod": f"{RODS[0]}/0", "place": "1/1"}).status_code == 303
    hands.forward(minutes=30)
    assert owner.post("/turner/1/stop", data={"ago": "", "note": "breaker"}).status_code == 303
    return owner


def stops(hub: Hub) -> list[StopView]:
    with hub.database.reading() as session:
        return stops_to_see(session, CureClock().warmth(session))


def words(page: str) -> str:
    return " ".join(page.split())


@either_way
@pytest.mark.parametrize(
    ("data", "ended"),
    [
        ({"ago": "10"}, "09:40"),
        ({"ago": "0"}, "09:50"),
        ({"ago": "0", "at": "2026-03-02T09:12"}, "09:12"),
        ({"ago": "", "at": "2026-03-02T09:00"}, "09:00"),
    ],
)
def test_it_is_said_when_it_turned_again(
    stopped: TestClient, hands: Hands, headers: dict[str, str], data: dict[str, str], ended: str
) -> None:
    hands.forward(minutes=20)
    assert f'href="{END}"' in stopped.get(TURNER).text
    page = stopped.get(END)
    assert (page.status_code, "It stood still since 09:00" in words(page.text)) == (200, True)
    answer = stopped.post(END, data=data, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, TURNER)
    assert f"From 09:00 to {ended}" in stopped.get(TURNER).text


@pytest.mark.parametrize(
    ("data", "field", "says"),
    [
        ({"ago": "0", "at": "2026-03-02T09:51"}, "at", "in the future"),
        ({"ago": "0", "at": "2026-03-02T08:59"}, "at", "before it stopped"),
        ({"ago": "0", "at": "noon"}, "at", "must be a date and time"),
        ({"ago": "soon", "at": "2026-03-02T09:12"}, "ago", "How long ago"),
    ],
)
def test_an_end_that_cannot_be_comes_back_as_typed(
    stopped: TestClient, hub: Hub, hands: Hands, data: dict[str, str], field: str, says: str
) -> None:
    hands.forward(minutes=20)
    answer = stopped.post(END, data=data)
    assert (answer.status_code, says in answer.text) == (422, True)
    assert f'id="e-{field}"' in answer.text
    assert f'value="{data["at"]}"' in answer.text
    assert stops(hub)[0].ended_at is None


def test_a_second_end_is_refused_with_what_is_on_record(stopped: TestClient) -> None:
    assert stopped.post(END).status_code == 303
    again = stopped.post(END, data={"ago": "10", "at": ""})
    assert (again.status_code, "has said already" in again.text) == (409, True)
    assert "It turns again since 09:30, said by owner." in words(again.text)
    assert form_on(again.text, END) == {}
    assert stopped.get("/turner/stops/9/end").status_code == 404
