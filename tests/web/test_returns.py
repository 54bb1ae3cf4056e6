"""The pages of what comes after: rods that came back, as built, the same again, the shop's figures."""

import csv
import io
from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.queries.shop import read_shop
from shop.rules.people import Role
from shop.services.customers import add_customer
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.repair_shop import ROD, STILL_HERE, open_repairs_desk
from tests.web.bench_shop import HTMX
from tests.web.test_specs import error
from tests.web.test_ticket import words

SignIn = Callable[[Role], TestClient]
HERE = f"/builds/{ROD}/came-back"
SAID = {
    "returned_on": "2026-03-02", "cause": "joint came loose", "stage_name": "wrapped", "lot_id": "",
    "person": "Nell", "cost_cents": "12,50", "note": "=rang twice",
}  # fmt: skip
each_way = pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])


@pytest.fixture
def people(hub: Hub, hands: Hands, signed_in: SignIn) -> SignIn:
    with hub.database.writing(hands.wall_at) as session:
        open_repairs_desk(hub, session, hands.wall_at)
    return signed_in


@pytest.fixture
def desk(people: SignIn) -> TestClient:
    return people(Role.OWNER)


@each_way
def test_a_rod_that_came_back_is_written_down_counted_and_listed(
    desk: TestClient, headers: dict[str, str]
) -> None:
    assert f'href="{HERE}"' in desk.get(f"/builds/{ROD}").text
    assert "The warranty runs until 2027-03-02." in words(desk.get(HERE).text)
    answer = desk.post(HERE, data=SAID, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, HERE)
    page = words(desk.get("/desk/returns").text)
    assert "1 rod came back." in page
    assert "joint came loose 1 1 12.50" in page
    assert "Nell 1 1 12.50" in page
    assert "It came back before" in desk.get(HERE).text
    text = desk.get("/desk/returns.csv?from=2026-01-01&until=2026-12-31").text
    (row,) = csv.DictReader(io.StringIO(text, newline=""))
    assert (row["build"], row["cause"], row["cost"], row["under_warranty"]) == (
        ROD, "joint came loose", "12.50", "yes",
    )  # fmt: skip
    assert row["note"] == "'=rang twice"
    assert "No rod came back" in desk.get("/desk/returns?from=2026-01-01&until=2026-02-01").text


def test_with_a_tick_it_is_taken_in_for_repair(desk: TestClient) -> None:
    answer = desk.post(HERE, data={**SAID, "repair": "on", "wish": "Glue the seat again."})
    assert (answer.status_code, answer.headers["location"]) == (303, "/desk/repairs")
    assert f"Repair of {ROD}" in desk.get("/desk/repairs").text
    assert "26-003" in words(desk.get("/desk/returns").text)


@pytest.mark.parametrize(
    ("data", "key", "says"),
    [
        ({"returned_on": ""}, "returned_on", "missing"),
        ({"returned_on": "2026-03-01"}, "returned_on", "was handed over on 2026-03-02"),
        ({"cause": ""}, "cause", "must be one of"),
        ({"stage_name": "begun"}, "stage_name", "is not a stage"),
        ({"lot_id": "99"}, "lot_id", "lot 99"),
        ({"cost_cents": "1.234,56"}, "cost_cents", "must be an amount"),
        ({"repair": "on", "wish": ""}, "wish", "Say what is to be done"),
        ({"repair": "on", "wish": "x", "work": "a miracle"}, "work", "Choose what is to be done"),
    ],
)
def test_bad_input_is_said_beside_its_field_and_nothing_typed_is_lost(
    desk: TestClient, data: dict[str, str], key: str, says: str
) -> None:
    answer = desk.post(HERE, data={**SAID, **data})
    assert answer.status_code == 422
    assert says in error(answer.text, key)
    assert "=rang twice" in answer.text
    assert "No rod came back" in desk.get("/desk/returns").text


def test_what_cannot_have_come_back_is_refused(desk: TestClient) -> None:
    refused = desk.post(f"/builds/{STILL_HERE}/came-back", data=SAID)
    assert (refused.status_code, "was never handed over" in refused.text) == (409, True)
    assert "=rang twice" in refused.text
    desk.post(HERE, data=SAID)
    assert desk.post(HERE, data=SAID).status_code == 409
    assert desk.get("/desk/returns?from=2026-02-01&until=2026-01-01").status_code == 422


@each_way
def test_one_tap_on_a_finished_rod_takes_the_same_again_down(
    desk: TestClient, headers: dict[str, str]
) -> None:
    assert f'action="/builds/{ROD}/same-again"' in desk.get(f"/builds/{ROD}").text
    assert f'href="/builds/{ROD}/as-built"' in desk.get("/desk/customers/1").text
    answer = desk.post(f"/builds/{ROD}/same-again", headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/builds/26-003/as-built")
    assert f"To be like {ROD} 8 ft casting" in words(desk.get("/builds/26-003/as-built").text)
    assert "26-003" in desk.get("/desk/enquiries").text


def test_the_same_again_for_somebody_else(hub: Hub, hands: Hands, desk: TestClient) -> None:
    with hub.database.writing(hands.wall_at) as session:
        other = add_customer(session, now=hands.wall_at, name="Ines Wald").id
    desk.post(f"/builds/{ROD}/same-again", data={"customer_id": str(other)})
    assert "for Ines Wald" in words(desk.get("/builds/26-003/as-built").text)


def test_a_second_press_orders_nothing_further(hub: Hub, hands: Hands, desk: TestClient) -> None:
    with hub.database.writing(hands.wall_at) as session:
        other = add_customer(session, now=hands.wall_at, name="Ines Wald").id
    presses: tuple[dict[str, str], ...] = ({}, {}, {"customer_id": "1"}, {"customer_id": str(other)})
    went = [desk.post(f"/builds/{ROD}/same-again", data=data).headers["location"] for data in presses]
    assert went == [f"/builds/{number}/as-built" for number in ("26-003", "26-003", "26-003", "26-004")]
    hands.forward(minutes=2)
    later = desk.post(f"/builds/{ROD}/same-again")
    assert later.headers["location"] == "/builds/26-005/as-built"


def test_the_rod_of_an_erased_customer_goes_to_nobody_by_default(
    hub: Hub, hands: Hands, desk: TestClient
) -> None:
    with hub.database.writing(hands.wall_at) as session:
        add_customer(session, now=hands.wall_at, name="Ines Wald")
    saying = {"confirm": "Ada Thorn", "reason": "the law asks for it"}
    assert desk.post("/desk/customers/1/erase", data=saying).status_code == 303
    assert '<option value="">choose a customer' in desk.get(f"/builds/{ROD}/as-built").text
    refused = desk.post(f"/builds/{ROD}/same-again", data={"customer_id": ""})
    assert (refused.status_code, "choose the customer it is for" in refused.text) == (409, True)
    back = desk.post(HERE, data={**SAID, "repair": "on", "wish": "mend it"})
    assert back.status_code == 422
    assert "was erased. Untick this" in error(back.text, "repair")
    assert desk.post(HERE, data=SAID).status_code == 303


@pytest.mark.parametrize(
    ("number", "data", "status", "says"),
    [
        (STILL_HERE, {}, 409, "was never ordered"),
        (ROD, {"customer_id": "x"}, 422, "must be a number"),
        (ROD, {"customer_id": "99"}, 404, "no customer 99"),
        ("26-099", {}, 404, "no build"),
    ],
)
def test_what_cannot_be_made_again_is_refused(
    desk: TestClient, number: str, data: dict[str, str], status: int, says: str
) -> None:
    answer = desk.post(f"/builds/{number}/same-again", data=data)
    assert answer.status_code == status
    assert says in answer.text


@pytest.mark.parametrize(
    ("months", "days", "kept"), [("24", "30", (24, 30)), ("0", "1", (0, 1)), ("", "", (12, 60))]
)
def test_how_long_is_the_shops_to_say(
    hub: Hub, desk: TestClient, months: str, days: str, kept: tuple[int, int]
) -> None:
    said = {
        "shop_name": "The Long Bench", "time_zone": "UTC", "currency": "EUR", "credit_cap": "1",
        "reading_gap_minutes": "60", "version": "1", "warranty_months": months, "unclaimed_days": days,
    }  # fmt: skip
    assert desk.post("/ways/shop", data=said).status_code == 303
    with hub.database.reading() as session:
        shop = read_shop(session)
    assert (shop.warranty_months, shop.unclaimed_days) == kept
    wrong = desk.post("/ways/shop", data={**said, "version": "2", "warranty_months": "601"})
    assert (wrong.status_code, "between 0 and 600" in error(wrong.text, "warranty_months")) == (422, True)


def test_a_helper_has_no_business_there(people: SignIn) -> None:
    helper = people(Role.HELPER)
    for path in ("/desk/returns", HERE, f"/builds/{ROD}/as-built"):
        assert helper.get(path).status_code == 403
