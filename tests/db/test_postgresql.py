"""The program as a whole over PostgreSQL: the made-up shop is filled, and its pages and API answer."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

import seed_demo
from shop.app import create_app, open_hub
from shop.clock import Clock
from shop.queries.cure_clock import CureClock
from shop.rules.people import Scope
from shop.services.keys import add_key
from shop.services.tokens import hash_of, new_token
from shop.services.zones import add_readings, add_zone
from shop.web.deps import Hub
from tests.conftest import Hands, quick_settings

PAGES = (
    "/", "/setting", "/cup", "/desk", "/desk/finished", "/desk/customers", "/shelf", "/ways", "/ways/zones",
    "/ways/zones/1",
    "/ways/sequences", "/ways/people", "/ways/keys", "/ways/clock", "/builds/26-005", "/cures/1", "/mixes/1",
    "/events/1", "/desk/customers/1", "/shelf/blanks/1", "/shelf/adhesives/1",
    "/builds/26-007/quote", "/builds/26-007/payments", "/desk/money?from=2026-01-01&until=2026-12-31",
    "/ways/taxes", "/shelf/stock", "/shelf/stock/1", "/shelf/purchases", "/shelf/purchases.csv",
    "/shelf/deliveries", "/shelf/deliveries/1", "/shelf/suppliers", "/builds/26-016/parts",
    "/desk/repairs", "/desk/returns", "/builds/26-020/intake", "/builds/26-020/receipt",
    "/builds/26-002/as-built",
    "/builds/26-002/came-back", "/desk/customers/1/privacy", "/desk/customers/1/privacy.json",
)  # fmt: skip
LISTS = (
    "customers", "blanks", "components", "adhesives", "zones", "sequences", "builds", "mixes", "sensors",
    "suppliers", "stocks", "deliveries", "returns",
)  # fmt: skip


@pytest.fixture
def filled(postgresql_url: str, tmp_path: Path, hands: Hands) -> Iterator[Hub]:
    settings = quick_settings(tmp_path / "data").model_copy(update={"database_url": postgresql_url})
    hub = open_hub(settings, Clock(hands.wall, hands.steady))
    yield hub
    hub.database.close()


def test_the_made_up_shop_works_as_it_does_on_sqlite(filled: Hub, hands: Hands) -> None:
    demo = seed_demo.fill(filled, hands.wall_at)
    key = new_token()
    with filled.database.writing(hands.wall_at) as session:
        add_key(session, now=hands.wall_at, name="desk", scope=Scope.DESK, key_hash=hash_of(key))
    with TestClient(create_app(filled), base_url="https://testserver", follow_redirects=False) as client:
        signing = {"name": demo.owner_name, "password": demo.owner_password}
        assert client.post("/sign-in", data=signing).status_code == 303
        answers = {page: client.get(page).status_code for page in (*PAGES, demo.status_url_path)}
        assert {page: status for page, status in answers.items() if status != 200} == {}
        head = {"authorization": f"Bearer {key}"}
        for name in LISTS:
            listed = client.get(f"/api/v1/{name}?limit=2", headers=head)
            assert listed.status_code == 200, listed.text
            assert listed.json()["items"], name
        bench = client.get("/api/v1/bench", headers=head).json()
        assert all(bench[part] for part in ("free", "curing", "held"))
        saying = {"confirm": "Ilse Varrow", "reason": "the law asks for it", "photos": True}
        erased = client.post("/api/v1/customers/1/erase", headers=head, json=saying)
        assert (erased.status_code, erased.json()["name"]) == (200, "Customer erased")
        assert "Ilse" not in client.get("/search?q=Varrow").text


def test_a_stage_is_logged_once_however_often_it_is_sent(filled: Hub, hands: Hands) -> None:
    seed_demo.fill(filled, hands.wall_at)
    key = new_token()
    with filled.database.writing(hands.wall_at) as session:
        add_key(session, now=hands.wall_at, name="bench", scope=Scope.BENCH, key_hash=hash_of(key))
    head = {"authorization": f"Bearer {key}", "idempotency-key": "once"}
    with TestClient(create_app(filled), base_url="https://testserver", headers=head) as client:
        row = client.get("/api/v1/bench").json()["free"][0]
        address = f"/api/v1/builds/{row['number']}"
        before = len(client.get(f"{address}/events").json()["items"])
        answers = [client.post(f"{address}/advance", json={"to": row["next"]}) for _ in range(2)]
        assert [answer.status_code for answer in answers] == [200, 200], answers[0].text
        assert answers[0].json() == answers[1].json()
        assert answers[0].json()["stage"] == row["next"]
        assert len(client.get(f"{address}/events").json()["items"]) == before + 1
        other = client.post(f"{address}/advance", json={"to": row["next"], "note": "another body"})
        assert other.status_code == 422


def test_a_rod_is_carried_and_late_readings_count(filled: Hub, hands: Hands) -> None:
    seed_demo.fill(filled, hands.wall_at)
    key = new_token()
    with filled.database.writing(hands.wall_at) as session:
        add_key(session, now=hands.wall_at, name="bench", scope=Scope.BENCH, key_hash=hash_of(key))
    head = {"authorization": f"Bearer {key}"}
    with TestClient(create_app(filled), base_url="https://testserver", headers=head) as client:
        number = client.get("/api/v1/bench").json()["curing"][0]["number"]
        zones = {zone["name"]: zone["id"] for zone in client.get("/api/v1/zones").json()["items"]}
        bodies = [{"zone_id": zone_id} for zone_id in zones.values()]
        carried = [client.post(f"/api/v1/builds/{number}/move", json=body) for body in bodies]
        cure = next(answer.json()["items"][0] for answer in reversed(carried) if answer.status_code == 200)
        assert cure["moves"], cure
        undone = client.post(f"/api/v1/moves/{cure['moves'][-1]['id']}/undo", json={"reason": "Not so."})
        assert undone.json()["moves"][-1]["undone"] == "Not so."
        before = client.get("/api/v1/cures/1").json()
        cold = [{"at": before["closed_at"], "celsius": 2.0}]
        for zone_id in zones.values():
            told = client.post(f"/api/v1/zones/{zone_id}/readings", json={"readings": cold})
            assert told.status_code == 201
        assert client.get("/api/v1/cures/1").json()["set_at"] > before["set_at"]


def test_a_reading_counts_that_was_committed_after_a_later_one_of_another_zone(
    filled: Hub, hands: Hands
) -> None:
    database, now = filled.database, hands.wall_at
    with database.writing(now) as session:
        bench, cellar = (add_zone(session, now=now, name=name, assumed_c=15).id for name in ("one", "two"))
    kept, at = CureClock(), now - timedelta(minutes=40)

    def celsius(clock: CureClock) -> float:
        with database.reading() as session:
            return clock.warmth(session).zones[bench].clock.temperature_at(at.timestamp())

    with database.writing(now) as session:
        add_readings(session, bench, now=now, readings=[(at - timedelta(minutes=10), 20.0)])
    late = database.begin()
    add_readings(late, bench, now=now, readings=[(at, 2.0)])
    with database.writing(now) as session:
        add_readings(session, cellar, now=now, readings=[(at, 21.0)])
    assert celsius(kept) == 20.0
    database.finish(late, now)
    assert celsius(kept) == celsius(CureClock()) == 2.0
