"""Setting: what is soft on open builds, in which order, and what is said of what time alone does not free."""

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from fastapi.testclient import TestClient

from shop.rules.people import Role
from shop.services.zones import add_zone
from shop.web.deps import Hub
from tests.api.filled import BOND, FINISH, ZONE
from tests.conftest import Hands
from tests.web.bench_shop import open_bench

SignIn = Callable[[Role], TestClient]
# Below the 13 °C at which an epoxy whose sheet is silent is taken to stop.
COLD_C = 5.0


@pytest.fixture
def bench(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    open_bench(hub, hands)
    return signed_in(Role.OWNER)


def close(bench: TestClient, place: str, mix: int, adhesive: int = BOND, zone: int = ZONE) -> None:
    """Mix a cup, which is the `mix`th of the shop, and close a place of the one rod with it."""
    cup = {"adhesive_id": f"{adhesive}", "zone_id": f"{zone}"}
    assert bench.post("/cup", data=cup).status_code == 303
    closed = bench.post(f"/mixes/{mix}/cures", data={"build": "26-001", "place": place})
    assert closed.status_code == 303


def rows_of(page: str) -> list[tuple[str, str, str]]:
    """Each row of the ruler: whose joint it is, the word for it, and its times."""
    rows = re.findall(
        r'<a href="/builds/26-001">(26-001 [^<]+)</a>.*?<b>([^<]+)</b>.*?ruler-times">([^<]+)<', page, re.S
    )
    return [(label.removeprefix("26-001 "), word, times) for label, word, times in rows]


def test_an_empty_bench_says_so(bench: TestClient) -> None:
    page = bench.get("/setting")
    assert page.status_code == 200
    assert "Nothing is soft" in page.text
    assert rows_of(page.text) == []


def test_the_next_instant_comes_first_and_each_row_says_its_times(bench: TestClient, hands: Hands) -> None:
    close(bench, "rear grip", 1)
    hands.forward(hours=1)
    close(bench, "reel seat", 2)
    close(bench, "guide wraps", 3, adhesive=FINISH)
    assert rows_of(bench.get("/setting").text) == [
        # A coat: set after 5 h, to be coated again from 6 h to 20 h, hard after 24 h.
        ("guide wraps", "setting", "sets 15:00 · full Tue 3 Mar 10:00 · recoat 16:00 to Tue 3 Mar 06:00"),
        ("rear grip", "setting", "sets 19:00 · full Tue 3 Mar 09:00"),
        ("reel seat", "setting", "sets 20:00 · full Tue 3 Mar 10:00"),
    ]


@pytest.mark.parametrize(
    ("after", "found"),
    [
        (timedelta(hours=10) - timedelta(minutes=1), [("rear grip", "setting")]),
        (timedelta(hours=10), [("rear grip", "set")]),
        (timedelta(hours=24) - timedelta(minutes=1), [("rear grip", "set")]),
        (timedelta(hours=24), []),
    ],
)
def test_a_joint_stays_until_it_is_fully_cured(
    bench: TestClient, hands: Hands, after: timedelta, found: list[tuple[str, str]]
) -> None:
    close(bench, "rear grip", 1)
    hands.forward(seconds=after.total_seconds())
    assert [row[:2] for row in rows_of(bench.get("/setting").text)] == found


def test_what_is_stalled_comes_first_and_has_no_time(bench: TestClient, hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        cellar = add_zone(session, now=hands.wall_at, name="cellar", assumed_c=COLD_C).id
    close(bench, "rear grip", 1)
    close(bench, "reel seat", 2, zone=cellar)
    assert rows_of(bench.get("/setting").text) == [
        ("reel seat", "stalled", "too cold, no time"),
        ("rear grip", "setting", "sets 19:00 · full Tue 3 Mar 09:00"),
    ]


def test_a_tacky_puddle_keeps_its_joint_here_whatever_the_sum_says(bench: TestClient, hands: Hands) -> None:
    close(bench, "rear grip", 1)
    hands.forward(hours=30)
    assert rows_of(bench.get("/setting").text) == []
    assert bench.post("/mixes/1/puddle", data={"state": "tacky"}).status_code == 303
    tacky = ("rear grip", "tacky", "puddle found tacky: leave alone until it is firm")
    assert rows_of(bench.get("/setting").text) == [tacky]
    hands.forward(hours=1)
    assert bench.post("/mixes/1/puddle", data={"state": "firm"}).status_code == 303
    assert rows_of(bench.get("/setting").text) == []


@pytest.mark.parametrize("role", [Role.OWNER, Role.BUILDER, Role.HELPER])
def test_everybody_at_the_bench_may_look(bench: TestClient, signed_in: SignIn, role: Role) -> None:
    close(bench, "rear grip", 1)
    if role is not Role.OWNER:
        signed_in(role)
    assert [row[0] for row in rows_of(bench.get("/setting").text)] == ["rear grip"]
    bench.cookies.clear()
    assert bench.get("/setting").status_code == 303
