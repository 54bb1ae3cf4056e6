"""Carrying a rod to another zone from the page of a cure, and undoing it."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from fastapi.testclient import TestClient

from shop.queries.moves import moves_of_cure
from shop.rules.people import Role
from shop.services.shop import ShopFacts, name_shop
from shop.services.zones import add_zone
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.web.bench_shop import HTMX, ROD, open_bench

SignIn = Callable[[Role], TestClient]
CELLAR = "2"
TO_CELLAR = {"zone_id": CELLAR, "at": ""}
UNDO = {"move_id": "1", "undo_reason": "The wrong rod."}


@pytest.fixture
def bench(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    """A rod whose rear grip was closed at nine; there is a cold cellar besides the bench."""
    open_bench(hub, hands)
    with hub.database.writing(hands.wall_at) as session:
        add_zone(session, now=hands.wall_at, name="cellar", assumed_c=8.0)
    client = signed_in(Role.OWNER)
    client.post("/cup", data={"adhesive_id": "1", "zone_id": "1"})
    client.post("/mixes/1/cures", data={"build": "26-001", "place": "rear grip"})
    hands.forward(hours=2)
    return client


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_a_rod_is_carried_and_its_joint_waits(bench: TestClient, headers: dict[str, str]) -> None:
    answer = bench.post("/cures/1/move", data=TO_CELLAR, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/cures/1")
    page = bench.get("/cures/1").text
    assert "To the zone cellar, 11:00, owner" in page
    assert "stalled: too cold" in page
    assert "Closed in" in page
    assert "Carried to the zone cellar with what was soft: rear grip." in bench.get(ROD).text


def test_of_an_hour_that_came_twice_the_later_is_meant(hub: Hub, hands: Hands, signed_in: SignIn) -> None:
    open_bench(hub, hands)
    with hub.database.writing(hands.wall_at) as session:
        name_shop(session, ShopFacts("Our shop", "Europe/Oslo", "NOK"))
        add_zone(session, now=hands.wall_at, name="loft", assumed_c=30.0)
    # Half past midnight there; at three in the morning the clocks were put back to two.
    hands.forward(hours=(datetime(2026, 10, 24, 22, 30, tzinfo=UTC) - hands.wall_at) / timedelta(hours=1))
    client = signed_in(Role.OWNER)
    client.post("/cup", data={"adhesive_id": "1", "zone_id": "1"})
    client.post("/mixes/1/cures", data={"build": "26-001", "place": "rear grip"})
    hands.forward(hours=5)
    answer = client.post("/cures/1/move", data={"zone_id": "2", "at": "2026-10-25T02:30"})
    assert answer.status_code == 303
    with hub.database.reading() as session:
        assert [move.at for move in moves_of_cure(session, 1)] == [datetime(2026, 10, 25, 1, 30, tzinfo=UTC)]


def test_one_joint_alone_is_carried(bench: TestClient) -> None:
    bench.post("/cup", data={"adhesive_id": "1", "zone_id": "1"})
    bench.post("/mixes/2/cures", data={"build": "26-001", "place": "reel seat"})
    assert bench.post("/cures/2/move", data={**TO_CELLAR, "alone": "on"}).status_code == 303
    assert "To the zone cellar" in bench.get("/cures/2").text
    assert "To the zone cellar" not in bench.get("/cures/1").text


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"zone_id": ""}, "The zone is missing"),
        ({"at": "2026-03-02T11:01"}, "in the future"),
        ({"at": "2026-03-02T08:59"}, "was closed later than that"),
        ({"at": "at noon"}, "must be a date and time"),
        ({"zone_id": "1"}, "lies in the zone bench already"),
    ],
)
def test_a_move_that_cannot_be_comes_back_as_typed(
    bench: TestClient, fields: dict[str, str], says: str
) -> None:
    answer = bench.post("/cures/1/move", data={**TO_CELLAR, "alone": "on", **fields})
    assert answer.status_code == 422
    assert says in answer.text
    assert f'name="at" value="{fields.get("at", "")}"' in answer.text
    assert 'name="alone" value="on" checked' in answer.text


def test_nothing_is_carried_once_it_is_hard(bench: TestClient, hands: Hands) -> None:
    hands.forward(hours=22)
    assert "It is hard by now" in bench.get("/cures/1").text
    answer = bench.post("/cures/1/move", data=TO_CELLAR)
    assert answer.status_code == 409
    assert "Nothing on build 26-001 was soft then" in answer.text
    assert bench.post("/cures/1/move", data={**TO_CELLAR, "at": "2026-03-03T08:59"}).status_code == 303


def test_a_move_of_a_cure_that_is_not_there(bench: TestClient) -> None:
    assert bench.post("/cures/9/move", data=TO_CELLAR).status_code == 404


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_a_move_is_undone_and_stays_to_be_read(bench: TestClient, headers: dict[str, str]) -> None:
    bench.post("/cures/1/move", data=TO_CELLAR)
    answer = bench.post("/cures/1/undo-move", data=UNDO, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/cures/1")
    page = bench.get("/cures/1").text
    assert "<s>To the zone cellar, 11:00, owner</s> undone: The wrong rod." in page
    assert "stalled: too cold" not in page
    assert "undo-move" not in page


def test_undoing_needs_a_reason_and_keeps_the_form_open(bench: TestClient) -> None:
    bench.post("/cures/1/move", data=TO_CELLAR)
    answer = bench.post("/cures/1/undo-move", data={**UNDO, "undo_reason": ""})
    assert answer.status_code == 422
    assert "The reason is missing" in answer.text
    assert '<details class="more" open>' in answer.text


def test_what_is_undone_already_is_refused(bench: TestClient) -> None:
    bench.post("/cures/1/move", data=TO_CELLAR)
    bench.post("/cures/1/undo-move", data=UNDO)
    answer = bench.post("/cures/1/undo-move", data=UNDO)
    assert answer.status_code == 409
    assert "has been undone already" in answer.text


@pytest.mark.usefixtures("bench")
def test_a_helper_carries_rods_but_undoes_nothing(signed_in: SignIn) -> None:
    helper = signed_in(Role.HELPER)
    assert helper.post("/cures/1/move", data=TO_CELLAR).status_code == 303
    assert "undo-move" not in helper.get("/cures/1").text
    assert helper.post("/cures/1/undo-move", data=UNDO).status_code == 403


def test_a_shop_with_one_zone_is_told_where_another_is_made(
    hub: Hub, hands: Hands, signed_in: SignIn
) -> None:
    open_bench(hub, hands)
    client = signed_in(Role.OWNER)
    client.post("/cup", data={"adhesive_id": "1", "zone_id": "1"})
    client.post("/mixes/1/cures", data={"build": "26-001", "place": "rear grip"})
    assert "This shop has one zone" in client.get("/cures/1").text
