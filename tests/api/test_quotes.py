"""The API of quotes, payments, tax rules and totals, as a program sees it."""

from typing import Any

import pytest
from fastapi.testclient import TestClient

from shop.rules.people import Scope
from shop.web.deps import Hub
from tests.api.conftest import PROBLEM, Program, new_key
from tests.conftest import Hands
from tests.quote_shop import NUMBER, WORDS, fill_for_quotes, lay_down

QUOTES, PAYMENTS = f"/builds/{NUMBER}/quotes", f"/builds/{NUMBER}/payments"
PARTS = [
    {"name": "Heron 70", "price_cents": 120_00}, {"name": "Ring guide 8", "count": 8, "price_cents": 8_30},
]  # fmt: skip
PAID: dict[str, Any] = {
    "kind": "deposit",
    "cents": 388_67,
    "method": "bank transfer",
    "paid_on": "2026-03-02",
}


@pytest.fixture
def shop(hub: Hub, hands: Hands) -> Hub:
    with hub.database.writing(hands.wall_at) as session:
        fill_for_quotes(session, hands.wall_at)
    return hub


@pytest.fixture
def desk(shop: Hub, hands: Hands, client: TestClient) -> Program:
    return Program(client, new_key(shop, hands, Scope.DESK))


def refused(program: Program, status: int, path: str, body: dict[str, Any]) -> None:
    """A payment's body has a `method` of its own, which `assert_refused` would take for the call's."""
    answer = program.send("POST", path, json=body)
    assert (answer.status_code, answer.headers["content-type"]) == (status, PROBLEM), answer.text


def test_a_quote_from_its_making_to_the_yes(desk: Program, hands: Hands) -> None:
    quote = desk.post(QUOTES, parts=PARTS, note="Thanks for asking.")
    assert {name: quote[name] for name in ("id", "number", "build", "spec_revision", "state", "url")} == {
        "id": 1, "number": 1, "build": NUMBER, "spec_revision": 0, "state": "not sent", "url": None,
    }  # fmt: skip
    # What the body leaves out is what the shop's terms and the stages say.
    assert (quote["hours"], quote["rate_cents"], quote["basis"], quote["percent"]) == (
        6.5,
        38_00,
        "margin",
        30,
    )
    assert (quote["valid_until"], quote["terms"], quote["currency"]) == ("2026-04-01", WORDS, "USD")
    assert (quote["price_cents"], quote["total_cents"], quote["deposit_cents"]) == (722_20, 777_34, 388_67)
    assert [(tax["name"], tax["cents"], tax["capped"]) for tax in quote["taxes"]] == [
        ("Example: US excise on fishing rods", 10_00, True), ("Sales tax", 45_14, False),
    ]  # fmt: skip
    assert "labour = 6.5 h × 38.00 = 247.00" in quote["working"]
    sent = desk.post("/quotes/1/send")
    assert (sent["state"], sent["sent_at"]) == ("sent", "2026-03-02T09:00:00Z")
    assert desk.client.get(sent["url"]).status_code == 200
    desk.assert_refused(409, "/quotes/1/send")
    hands.forward(hours=1)
    said = desk.post("/quotes/1/answer", answer="yes", name="Ada", said_at="2026-03-02T09:30:00Z")
    assert (said["state"], said["answer"], said["answered_by"], said["taken_down_by"]) == (
        "yes", "yes", "Ada", "desk key",
    )  # fmt: skip
    assert said["answered_at"] == "2026-03-02T09:30:00Z"
    desk.assert_refused(409, "/quotes/1/answer", answer="no")
    desk.assert_refused(409, "/quotes/1/withdraw")
    assert [item["number"] for item in desk.get(QUOTES)["items"]] == [1]


def test_a_quote_from_the_make_up_says_what_has_no_price(desk: Program, shop: Hub, hands: Hands) -> None:
    with shop.database.writing(hands.wall_at) as session:
        lay_down(session, hands.wall_at)
    problem = desk.assert_refused(422, QUOTES)
    assert [(error["field"], "Heron 70" in error["detail"]) for error in problem["errors"]] == [
        ("parts", True)
    ]
    reworks = [{"name": "Wraps", "cents": 25_00}]
    quote = desk.post(QUOTES, parts=PARTS, reworks=reworks, valid_until=None, spec_revision=0, newest=0)
    assert (quote["price_cents"], quote["reworks"], quote["valid_until"]) == (747_20, reworks, None)
    desk.assert_refused(409, QUOTES, parts=PARTS, newest=0)
    assert desk.post("/quotes/1/withdraw")["state"] == "withdrawn"


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"percent": 100}, "percent"),
        ({"hours": 6.555}, "hours"),
        ({"hours": True}, "hours"),
        ({"hours": "6.5"}, "hours"),
        ({"rate_cents": 38.5}, "rate_cents"),
        ({"rate_cents": -1}, "rate_cents"),
        ({"basis": "profit"}, "basis"),
        ({"deposit_percent": 101}, "deposit_percent"),
        ({"valid_until": "2026-03-01"}, "valid_until"),
        ({"reworks": [{"name": "", "cents": 1}]}, "reworks.0.name"),
        ({"colour": "red"}, "colour"),
    ],
)
def test_a_quote_that_cannot_be(desk: Program, body: dict[str, Any], field: str) -> None:
    problem = desk.assert_refused(422, QUOTES, parts=PARTS, **body)
    assert [error["field"] for error in problem["errors"]] == [field]
    assert desk.get(QUOTES)["items"] == []
    desk.assert_refused(404, "/builds/26-999/quotes", parts=PARTS)
    for path in ("/quotes/9/send", "/quotes/9/withdraw"):
        desk.assert_refused(404, path)
    desk.assert_refused(404, "/quotes/9/answer", answer="yes")


def test_payments_are_written_down_and_taken_back(desk: Program) -> None:
    headers = {"idempotency-key": "deposit 1"}
    first = desk.send("POST", PAYMENTS, json=PAID, headers=headers)
    again = desk.send("POST", PAYMENTS, json=PAID, headers=headers)
    assert (first.status_code, again.json()) == (201, first.json())
    shown = desk.get(PAYMENTS)
    assert {name: shown[name] for name in ("currency", "agreed_cents", "paid_cents", "owed_cents")} == {
        "currency": "USD", "agreed_cents": None, "paid_cents": 388_67, "owed_cents": 0,
    }  # fmt: skip
    assert (shown["over_cents"], len(shown["items"])) == (388_67, 1)
    refused(desk, 409, PAYMENTS, {**PAID, "newest": 0})
    back = desk.post("/payments/1/take-back", reason="another rod")
    assert (back["cents"], back["corrects_id"], back["note"]) == (-388_67, 1, "another rod")
    desk.assert_refused(409, "/payments/1/take-back", reason="again")
    desk.assert_refused(422, "/payments/1/take-back", reason="")
    desk.assert_refused(404, "/payments/9/take-back", reason="x")
    for wrong in ({"cents": 0}, {"cents": 1.5}, {"method": "barter"}, {"paid_on": "2026-03-03"}):
        refused(desk, 422, PAYMENTS, {**PAID, **wrong})
    assert desk.post(PAYMENTS, **PAID, newest=2)["id"] == 3
    assert desk.post(PAYMENTS, **{**PAID, "cents": 1, "given_back": True})["cents"] == -1


def test_tax_rules_are_on_file_and_on_only_where_switched(desk: Program) -> None:
    rule = desk.post("/tax-rules", name="VAT", percent=19.5, valid_from="2026-01-01", cap_cents=12_50)
    assert (rule["id"], rule["is_on"], rule["percent"], rule["taxed_on"]) == (3, False, 19.5, "price")
    on = desk.send("PATCH", "/tax-rules/3", json={"is_on": True, "version": rule["version"]}).json()
    assert (on["is_on"], on["percent"], on["cap_cents"]) == (True, 19.5, 12_50)
    desk.assert_refused(409, "/tax-rules/3", method="PATCH", percent=20, version=rule["version"])
    desk.assert_refused(422, "/tax-rules/3", method="PATCH", percent=None)
    desk.assert_refused(422, "/tax-rules", name="vat", percent=1, valid_from="2026-01-01", is_on=True)
    ended = desk.send("PATCH", "/tax-rules/3", json={"valid_until": "2026-06-30", "cap_cents": None}).json()
    assert (ended["valid_until"], ended["cap_cents"]) == ("2026-06-30", None)
    assert [item["id"] for item in desk.get("/tax-rules", after=1)["items"]] == [2, 3]
    assert desk.get("/tax-rules/3") == ended
    desk.assert_refused(404, "/tax-rules/9", method="PATCH", percent=1)


def test_totals_of_a_period(desk: Program) -> None:
    desk.post(QUOTES, parts=PARTS)
    desk.post("/quotes/1/send")
    desk.post("/quotes/1/answer", answer="yes")
    desk.post(PAYMENTS, **{**PAID, "cents": 777_34})
    for stage in ("agreed", "begun", "handed over"):
        desk.post(f"/builds/{NUMBER}/advance", to=stage)
    found = desk.get("/totals", **{"from": "2026-03-01", "until": "2026-03-31"})
    assert (found["from"], found["until"]) == ("2026-03-01", "2026-03-31")
    (rod,), (sums,) = found["rods"], found["sums"]
    assert (rod["build"], rod["sold_on"], rod["total_cents"]) == (NUMBER, "2026-03-02", 777_34)
    assert (sums["currency"], sums["rods"], sums["price_cents"], sums["paid_cents"]) == (
        "USD", 1, 722_20, 777_34,
    )  # fmt: skip
    assert [(tax["name"], tax["cents"]) for tax in sums["taxes"]] == [
        ("Example: US excise on fishing rods", 10_00), ("Sales tax", 45_14),
    ]  # fmt: skip
    assert sums["methods"] == [
        {"method": "bank transfer", "in_cents": 777_34, "back_cents": 0, "cents": 777_34}
    ]
    nothing = desk.get("/totals", **{"from": "2026-03-03", "until": "2026-03-31"})
    assert (nothing["rods"], nothing["sums"]) == ([], [])
    for query in ("?from=2026-03-02&until=2026-03-01", "?from=x&until=2026-03-01", "?from=2026-03-02"):
        desk.assert_refused(422, f"/totals{query}", method="GET")


@pytest.mark.parametrize("scope", [Scope.READ, Scope.BENCH, Scope.SENSOR])
def test_only_the_desk_sees_money(
    shop: Hub, hands: Hands, client: TestClient, desk: Program, scope: Scope
) -> None:
    other = Program(client, new_key(shop, hands, scope))
    for path in (QUOTES, PAYMENTS, "/tax-rules", "/totals?from=2026-03-01&until=2026-03-31"):
        other.assert_refused(403, path, method="GET")
    writes: tuple[tuple[str, dict[str, Any]], ...] = (
        (QUOTES, {"parts": PARTS}), (PAYMENTS, PAID), ("/quotes/1/send", {}),
    )  # fmt: skip
    for path, body in writes:
        refused(other, 403, path, body)
    assert desk.get(PAYMENTS)["items"] == []
