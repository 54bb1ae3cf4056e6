"""Suppliers, stock, deliveries, purchases and a build's parts over the API, with a real make-up."""

from collections.abc import Callable
from typing import Any

import pytest
from fastapi.testclient import TestClient

from shop.rules.people import Scope
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.make_up_shop import BLANK, FORE, SEAT
from tests.stock_shop import KITS, OTHERS, RINGS, ROD, SEATS, SECOND, THREAD_A, fill_with_stock

V1 = "/api/v1"
PARTS = f"{V1}/builds/{ROD}/parts"


@pytest.fixture
def desk(hub: Hub, hands: Hands, keyed: Callable[[Scope], TestClient]) -> TestClient:
    with hub.database.writing(hands.wall_at) as session:
        fill_with_stock(session, hands.wall_at)
    return keyed(Scope.DESK)


def items(client: TestClient, path: str) -> dict[str, dict[str, Any]]:
    return {item["name"]: item for item in client.get(path).json()["items"]}


def errors(answer: Any) -> dict[str, str]:
    assert answer.status_code == 422, answer.text
    return {item["field"]: item["detail"] for item in answer.json()["errors"]}


def test_suppliers(desk: TestClient) -> None:
    made = desk.post(f"{V1}/suppliers", json={"name": "Fathom Supply", "lead_days": 7})
    assert made.status_code == 201
    path = f"{V1}/suppliers/{made.json()['id']}"
    assert desk.patch(path, json={"lead_days": None, "phone": "12"}).json() == {
        "id": 2, "name": "Fathom Supply", "email": "", "phone": "12", "lead_days": None, "notes": "",
    }  # fmt: skip
    assert desk.get(path).json()["phone"] == "12"
    assert set(items(desk, f"{V1}/suppliers")) == {"Tern Hollow Supply", "Fathom Supply"}
    assert set(errors(desk.post(f"{V1}/suppliers", json={"name": " "}))) == {"name"}
    assert desk.get(f"{V1}/suppliers/9").status_code == 404


def test_stock_is_begun_changed_and_counted(desk: TestClient) -> None:
    said = {"component_id": FORE, "on_shelf": 4, "least": 2, "bin": "drawer 1", "supplier_id": 1}
    made = desk.post(f"{V1}/stocks", json=said)
    assert made.status_code == 201
    stock = made.json()
    assert (stock["kind"], stock["code"], stock["unit"], stock["free"], stock["lead_days"]) == (
        "grip", "C3", "piece", 4, 10,
    )  # fmt: skip
    assert desk.post(f"{V1}/stocks", json=said).status_code == 409
    for body in ({}, {"component_id": SEAT, "blank_id": BLANK}):
        assert "Name one item to count" in errors(desk.post(f"{V1}/stocks", json=body))["component_id"]
    path = f"{V1}/stocks/{stock['id']}"
    assert desk.patch(path, json={"least": 9, "supplier_id": None}).json()["is_below_least"] is True
    assert "reason" in errors(desk.post(f"{path}/count", json={"counted": 3}))
    assert desk.post(f"{path}/count", json={"counted": 3, "reason": "One split."}).json()["on_shelf"] == 3
    moves = desk.get(f"{path}/moves", params={"limit": 1}).json()
    assert [(move["kind"], move["count"], move["note"]) for move in moves["items"]] == [
        ("counted", -1, "One split.")
    ]
    rest = desk.get(f"{path}/moves", params={"before": moves["next"]}).json()
    assert [move["note"] for move in rest["items"]] == ["Counting begins."]
    assert desk.get(f"{V1}/stocks/99/moves").status_code == 404


def test_a_delivery_comes_is_looked_at_and_goes_back_in_part(desk: TestClient) -> None:
    kit = {"stock_id": KITS, "count": 1, "lot_number": "K-77", "use_by": "2026-09-01"}
    said = {
        "supplier_id": 1, "reference": "DN 4471", "received_on": "2026-03-02", "inspect_by": "2026-03-09",
        "return_by": "2026-03-01", "lines": [{"stock_id": RINGS, "count": 4, "unit_cost_cents": 265}, kit],
    }  # fmt: skip
    assert set(errors(desk.post(f"{V1}/deliveries", json=said))) == {"return_by"}
    made = desk.post(f"{V1}/deliveries", json={**said, "return_by": "2026-03-16"})
    assert made.status_code == 201
    delivery = made.json()
    assert (delivery["inspect_days_left"], delivery["return_days_left"]) == (7, 14)
    assert [(line["received"], line["unit_cost_cents"]) for line in delivery["lines"]] == [
        (4, 265),
        (1, None),
    ]
    assert desk.get(f"{V1}/lots").json()["items"][0]["number"] == "K-77"
    path = f"{V1}/deliveries/{delivery['id']}"
    assert desk.post(f"{path}/inspect", json={"note": "All right."}).json()["inspected_by"] == "desk key"
    assert desk.post(f"{path}/inspect", json={}).status_code == 409
    back = {"stock_id": RINGS, "count": 2, "reason": "Cracked."}
    assert desk.post(f"{path}/return", json=back).json()["lines"][0]["returned"] == 2
    assert desk.post(f"{path}/return", json={**back, "count": 3}).status_code == 409
    assert len(desk.get(f"{V1}/deliveries").json()["items"]) == 1
    assert desk.get(path).json()["note"] == "All right."


def test_a_builds_parts_are_set_aside_and_put_back(desk: TestClient) -> None:
    parts = items(desk, PARTS)
    assert {name: (part["needed"], part["missing"], part["free"]) for name, part in parts.items()} == {
        "Heron 70": (1, 0, None), "Cork rear grip": (1, 1, 2), "Casting seat": (1, 1, 1),
        "Cork fore grip": (1, 0, None), "Ring guide 8": (3, 3, 6),
    }  # fmt: skip
    assert parts["Ring guide 8"]["here_by"] == "2026-03-12"
    assert desk.post(f"{PARTS}/set-aside", json={}).status_code == 200
    again = desk.post(f"{PARTS}/set-aside", json={})
    assert (again.status_code, again.json()["detail"]) == (
        409, "26-002 has every counted part that it takes.",
    )  # fmt: skip
    seat = items(desk, f"{V1}/builds/{SECOND}/parts")["Casting seat"]["id"]
    refused = desk.post(f"{V1}/builds/{SECOND}/parts/set-aside", json={"part_id": seat})
    assert refused.json()["detail"].startswith("No Casting seat is free: the one on the shelf is set aside")
    rings = parts["Ring guide 8"]["id"]
    assert desk.post(f"{PARTS}/put-back", json={"part_id": rings, "count": 1}).status_code == 200
    assert items(desk, PARTS)["Ring guide 8"]["set_aside"] == 2
    assert errors(desk.post(f"{PARTS}/set-aside", json={"count": 1})) == {
        "count": "A count goes with a part; say which."
    }
    assert set(errors(desk.post(f"{PARTS}/set-aside", json={"part_id": rings, "count": 5}))) == {"count"}
    assert desk.post(f"{PARTS}/put-back", json={"part_id": 999}).status_code == 404


def test_the_part_in_hand_is_held_against_the_rod(desk: TestClient) -> None:
    wrong = errors(desk.post(f"{PARTS}/confirm", json={"code": "SEAT16L"}))["code"]
    assert "in hand is “Casting seat, long”, and the reel seat of this rod is “Casting seat”." in wrong
    assert set(errors(desk.post(f"{PARTS}/confirm", json={"stock_id": OTHERS}))) == {"stock_id"}
    assert set(errors(desk.post(f"{PARTS}/confirm", json={"code": "SEAT16", "stock_id": SEATS}))) == {"code"}
    assert desk.post(f"{PARTS}/confirm", json={"code": "SEAT16"}).status_code == 200
    seat = items(desk, PARTS)["Casting seat"]
    assert (seat["confirmed_by"], seat["confirmed_at"]) == ("desk key", "2026-03-02T09:00:00Z")
    assert desk.get(f"{V1}/builds/{ROD}/events").json()["items"][-1]["kind"] == "parts"


def log(client: TestClient, stage: str, **more: Any) -> Any:
    return client.post(f"{V1}/builds/{ROD}/advance", json={"to": stage, **more})


def test_parts_are_used_at_their_stage_and_their_cost_kept(desk: TestClient) -> None:
    desk.post(PARTS, json={"component_id": THREAD_A, "count": 1})
    assert log(desk, "agreed").status_code == 200
    held = log(desk, "parts in hand")
    assert held.status_code == 409
    assert {hold["kind"] for hold in held.json()["holds"]} == {"parts"}
    desk.post(f"{PARTS}/set-aside", json={})
    for stage in ("parts in hand", "fitted", "glued", "laid out", "wrapped"):
        assert log(desk, stage).status_code == 200, stage
    assert {part["used"] for part in items(desk, PARTS).values()} == {1, 3}
    # Of the four kinds that are counted only the thread has a cost on file.
    assert desk.get(f"{V1}/builds/{ROD}/cost").json() == {
        "cost": [{"currency": "EUR", "cents": 60}], "unknown_count": 5,
    }  # fmt: skip
    rings = items(desk, PARTS)["Ring guide 8"]["id"]
    assert desk.post(f"{PARTS}/came-off", json={"part_id": rings, "count": 2}).status_code == 200
    spoilt = desk.post(f"{PARTS}/spoilt", json={"part_id": rings, "reason": "Bent."})
    assert items(desk, PARTS)["Ring guide 8"]["missing"] == 3
    assert spoilt.status_code == 200
    assert desk.post(f"{PARTS}/spoilt", json={"part_id": rings}).status_code == 409
    assert set(errors(desk.post(PARTS, json={"component_id": SEAT, "count": 1}))) == {"component_id"}


def test_what_to_buy(desk: TestClient) -> None:
    desk.patch(f"{V1}/builds/{SECOND}", json={"promised_on": "2026-03-27"})
    lines = items(desk, f"{V1}/purchases")
    assert set(lines) == {"Casting seat", "Ring guide 8", "Cork rear grip"}
    seat = lines["Casting seat"]
    assert (seat["count"], seat["short"], seat["builds"], seat["order_by"]) == (1, 1, [ROD], None)
    desk.patch(f"{V1}/builds/{ROD}", json={"promised_on": "2026-03-28"})
    seat = items(desk, f"{V1}/purchases")["Casting seat"]
    # The fourteen days of making and the ten of the order before the promise.
    assert (seat["builds"], seat["order_by"], seat["is_late"]) == ([ROD], "2026-03-04", False)


def test_what_slides_on_from_the_tip_is_on_before_the_guides(desk: TestClient) -> None:
    desk.post(f"{PARTS}/set-aside", json={})

    def slides() -> list[str]:
        answer = log(desk, "laid out", release=[{"kind": "parts", "reason": "They are on the bench."}])
        if answer.status_code == 200:
            return []
        holds = [hold for hold in answer.json()["holds"] if hold["kind"] == "slide_on"]
        assert {(hold["waivable"], hold["cleared_by"]) for hold in holds} == {(False, "never")}
        return [hold["reason"].split(" slides on")[0] for hold in holds]

    assert slides() == ["Cork rear grip", "Casting seat", "Cork fore grip"]
    log(desk, "fitted")
    assert slides() == ["Casting seat"]
    assert log(desk, "laid out", release=[{"kind": "slide_on", "reason": "No."}]).status_code == 422
    log(desk, "glued")
    assert slides() == []
