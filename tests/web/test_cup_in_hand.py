"""A cup in hand: two quick taps mix one, and a lot of it that is quarantined meanwhile is told."""

from concurrent.futures import ThreadPoolExecutor
from datetime import date

import pytest
from fastapi.testclient import TestClient

from shop.rules.people import Role
from shop.services.lots import quarantine_lot
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.lot_shop import bench_at
from tests.web.bench_shop import HTMX
from tests.web.test_cup import CHOSEN, CUP, ONE, SignIn, put_on_shelf, two_rods

LOOSE = {**CHOSEN, "volume_ml": "6", "work": "1"}


@pytest.fixture
def bench(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    return two_rods(hub, hands, signed_in)


@pytest.mark.parametrize("cup", [LOOSE, CHOSEN, CUP, {**LOOSE, "mixed_at": "2026-03-02T08:50"}])
def test_a_second_tap_mixes_no_second_cup(bench: TestClient, hands: Hands, cup: dict[str, str]) -> None:
    first = bench.post("/cup", data=cup).headers["location"]
    hands.forward(seconds=29)
    assert bench.post("/cup", data=cup, headers=HTMX).headers["location"] == first
    assert bench.get("/mixes/2").status_code == 404


@pytest.mark.parametrize(
    "changes",
    [
        {"volume_ml": "7"},
        {"volume_ml": ""},
        {"minutes": "5"},
        {"mixed_at": "2026-03-02T08:50"},
        {"serve": [ONE]},
    ],
)
def test_another_cup_a_moment_later_is_another_cup(bench: TestClient, changes: dict[str, str]) -> None:
    assert bench.post("/cup", data=LOOSE).status_code == 303
    assert bench.post("/cup", data={**LOOSE, **changes}).status_code == 303
    assert bench.get("/mixes/2").status_code == 200


def test_the_same_cup_later_by_somebody_else_or_after_a_closing_is_another(
    bench: TestClient, hands: Hands, signed_in: SignIn
) -> None:
    bench.post("/cup", data=LOOSE)
    bench.post("/mixes/1/cures", data={"build": "26-001", "place": "rear grip"})
    assert bench.post("/cup", data=LOOSE).headers["location"] == "/mixes/2"
    hands.forward(seconds=30)
    assert bench.post("/cup", data=LOOSE).headers["location"] == "/mixes/3"
    assert signed_in(Role.BUILDER).post("/cup", data=LOOSE).headers["location"] == "/mixes/4"


def test_two_taps_at_the_very_same_moment_mix_one_cup(bench: TestClient) -> None:
    with ThreadPoolExecutor(2) as threads:
        answers = list(threads.map(lambda _: bench.post("/cup", data=LOOSE), range(2)))
    assert [answer.headers["location"] for answer in answers] == ["/mixes/1", "/mixes/1"]
    assert bench.get("/mixes/2").status_code == 404


def test_a_lot_quarantined_with_the_cup_in_hand_is_warned_of(
    hub: Hub, hands: Hands, bench: TestClient
) -> None:
    lots = {f"lot_{part.lower()}_id": str(put_on_shelf(hub, hands, part, date(2027, 1, 1))) for part in "AB"}
    assert bench.post("/cup", data={**CUP, **lots}).status_code == 303
    says = "Lot L-A (part A), which is in this cup, is quarantined: stringy."
    pages = ("/mixes/1", "/mixes/1/closing")
    assert [says in bench.get(path).text for path in pages] == [False, False]
    with hub.database.writing(hands.wall_at) as session:
        quarantine_lot(session, bench_at(session, hands.wall_at), 1, reason="stringy", suspect_mixes=False)
    assert [says in bench.get(path).text for path in pages] == [True, True]
    again = bench.post("/mixes/1/closing", data={"when_1": "soon", "when_2": "not yet"})
    assert (again.status_code, says in again.text) == (422, True)
    assert bench.post("/mixes/1/closing", data={"when_1": "now", "when_2": "not yet"}).status_code == 303
