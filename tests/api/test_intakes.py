"""The API of what comes after: intakes, the same again, returns, and privacy, as a program sees it."""

from typing import Any

import pytest
from fastapi.testclient import TestClient

from shop.rules.people import Scope
from shop.web.deps import Hub
from tests.api.conftest import Program, new_key
from tests.conftest import Hands
from tests.repair_shop import ROD, STILL_HERE, open_repairs_desk, take_in
from tests.spec_shop import bench_of

REPAIR = "26-003"
INTAKE = f"/builds/{REPAIR}/intake"
LIST = {
    "brought_on": "2026-03-02", "rod": "the blue one", "wish": "A new ring.",
    "conditions": [{"item": "guide 1 ring", "state": "cracked", "note": "grooved"}, {"item": "blank"}],
}  # fmt: skip
RETURN: dict[str, Any] = {
    "build": ROD,
    "returned_on": "2026-03-02",
    "cause": "rust",
    "person": "Nell",
    "cost_cents": 500,
}


@pytest.fixture
def shop(hub: Hub, hands: Hands) -> Hub:
    with hub.database.writing(hands.wall_at) as session:
        bench = open_repairs_desk(hub, session, hands.wall_at)
        assert take_in(session, bench) == REPAIR
    return hub


@pytest.fixture
def desk(shop: Hub, hands: Hands, client: TestClient) -> Program:
    return Program(client, new_key(shop, hands, Scope.DESK))


def put(program: Program, body: dict[str, Any], status: int = 200) -> Any:
    answer = program.send("PUT", INTAKE, json=body)
    assert answer.status_code == status, answer.text
    return answer.json()


def test_an_intake_is_written_anew_and_signed(desk: Program) -> None:
    first = desk.get(INTAKE)
    assert (first["version"], first["signed_at"], len(first["conditions"])) == (1, None, 13)
    kept = put(desk, {**LIST, "version": 1})
    assert (kept["version"], kept["rod"], kept["conditions"]) == (
        2, "the blue one",
        [
            {"item": "guide 1 ring", "state": "cracked", "note": "grooved"},
            {"item": "blank", "state": "not looked at", "note": ""},
        ],
    )  # fmt: skip
    put(desk, {**LIST, "version": 1}, 409)
    signed = desk.post(f"{INTAKE}/sign", signed_name="Ada Thorn", version=2)
    assert (signed["signed_name"], signed["signed_at"]) == ("Ada Thorn", "2026-03-02T09:00:00Z")
    desk.assert_refused(409, f"{INTAKE}/sign", signed_name="Ada Thorn")
    put(desk, LIST, 409)
    assert desk.get(f"/builds/{REPAIR}/next")["allowed"]


@pytest.mark.parametrize(
    "changes",
    [
        {"brought_on": "2026-03-03"},
        {"wish": ""},
        {"conditions": [{"item": "handlebar"}]},
        {"conditions": [{"item": "blank", "state": "so so"}]},
        {"version": True},
        {"colour": "blue"},
    ],
)
def test_an_intake_that_cannot_be_is_refused(desk: Program, changes: dict[str, Any]) -> None:
    assert put(desk, {**LIST, **changes}, 422)["errors"]


def test_what_has_no_intake_says_so(desk: Program) -> None:
    desk.assert_refused(404, f"/builds/{ROD}/intake", method="GET")
    assert desk.send("PUT", f"/builds/{ROD}/intake", json=LIST).status_code == 409


def test_what_is_to_be_done_is_chosen(desk: Program) -> None:
    before = desk.get(f"/builds/{REPAIR}")["sequence_id"]
    chosen = desk.post(f"/builds/{REPAIR}/work", work="new tip-top")
    assert chosen["sequence_id"] != before
    desk.assert_refused(422, f"/builds/{REPAIR}/work", work="a miracle")
    desk.assert_refused(409, f"/builds/{ROD}/work", work="new tip-top")
    desk.assert_refused(404, "/builds/26-099/work", work="new tip-top")


def test_the_same_again(desk: Program) -> None:
    made = desk.post(f"/builds/{ROD}/same-again")
    assert (made["build"]["number"], made["changes"], made["left_out"]) == ("26-004", [], "")
    assert made["build"]["is_enquiry"]
    desk.assert_refused(409, f"/builds/{STILL_HERE}/same-again")
    desk.assert_refused(404, f"/builds/{ROD}/same-again", customer_id=99)
    desk.assert_refused(422, f"/builds/{ROD}/same-again", customer_id="1")


def test_returns_are_written_down_and_listed(desk: Program, shop: Hub, hands: Hands) -> None:
    for wrong in ({"cause": "bad luck"}, {"returned_on": "2026-03-03"}, {"cost_cents": 5.5}, {"lot_id": 9}):
        desk.assert_refused(422, "/returns", **{**RETURN, **wrong})
    kept = desk.post("/returns", **RETURN, repair_wish="Oil it.", repair_work="new tip-top")
    assert (kept["repair"], kept["under_warranty"], kept["by"]) == ("26-004", True, "desk key")
    desk.assert_refused(409, "/returns", **RETURN)
    assert [item["id"] for item in desk.get("/returns")["items"]] == [kept["id"]]
    hands.forward(days=1)
    with shop.database.writing(hands.wall_at) as session:
        bench_of(shop, session, hands.wall_at)
    desk.post("/returns", **{**RETURN, "returned_on": "2026-03-03"})
    page = desk.get("/returns", limit=1)
    assert (len(page["items"]), page["next"]) == (1, "1")


def test_a_customer_is_shown_whole_and_erased(desk: Program) -> None:
    desk.send("PATCH", "/customers/1", json={"photo_consent_on": "2026-03-01"})
    assert desk.get("/customers/1")["photo_consent_on"] == "2026-03-01"
    desk.send("PATCH", "/customers/1", json={"photo_consent_on": None})
    assert desk.get("/customers/1")["photo_consent_on"] is None
    kept = desk.get("/customers/1/privacy")
    records = {item["name"]: item["records"] for item in kept["items"]}
    assert records["customer"][0]["name"] == "Ada Thorn"
    assert [row["number"] for row in records["builds"]] == [STILL_HERE, ROD, REPAIR]
    problem = desk.assert_refused(422, "/customers/1/erase", confirm="Ada Thorn")
    assert "is still open" in problem["detail"]
    desk.assert_refused(422, "/customers/1/erase", confirm="Ada Thorn", reason="a whim")
    erased = desk.post("/customers/1/erase", confirm="Ada Thorn", reason="the law asks for it")
    assert (erased["name"], erased["email"], erased["erased_at"]) == (
        "Customer erased", "", "2026-03-02T09:00:00Z",
    )  # fmt: skip
    desk.assert_refused(409, "/customers/1/erase", confirm="Ada Thorn", reason="the law asks for it")
    assert desk.send("PATCH", "/customers/1", json={"name": "Ada"}).status_code == 409


def test_only_the_desks_key_comes_in(shop: Hub, hands: Hands, client: TestClient) -> None:
    bench = Program(client, new_key(shop, hands, Scope.BENCH))
    for path in (INTAKE, "/returns", "/customers/1/privacy"):
        bench.assert_refused(403, path, method="GET")
