"""The order's page: taken on by hand, closed with a reason, taken up again; and what each refuses."""

from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.rules.people import Role
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.spec_shop import ENQUIRY, ORDER, open_desk
from tests.web.bench_shop import HTMX
from tests.web.test_specs import error
from tests.web.test_ticket import words

SignIn = Callable[[Role], TestClient]
HERE = f"/builds/{ENQUIRY}"
each_way = pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])


@pytest.fixture
def people(hub: Hub, hands: Hands, signed_in: SignIn) -> SignIn:
    with hub.database.writing(hands.wall_at) as session:
        open_desk(hub, session, hands.wall_at)
    return signed_in


@pytest.fixture
def desk(people: SignIn) -> TestClient:
    return people(Role.BUILDER)


def test_the_page_says_where_the_order_stands(desk: TestClient) -> None:
    page = words(desk.get(f"{HERE}/order").text)
    assert "An enquiry: nobody has ordered it yet" in page
    assert "Waits for: A quote." in page
    assert "Take it up again" not in page
    order = words(desk.get(f"/builds/{ORDER}/order").text)
    assert "An order; work has not begun." in order
    assert "Waits for" not in order
    assert "Take it on" not in order
    assert f'href="{HERE}/order"' in desk.get(HERE).text


@each_way
def test_an_enquiry_is_taken_on(desk: TestClient, headers: dict[str, str]) -> None:
    answer = desk.post(f"{HERE}/take-on", headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, HERE)
    assert f"{ENQUIRY} is taken on as an order." in desk.get(HERE).text
    assert ENQUIRY in desk.get("/").text
    assert ENQUIRY not in desk.get("/desk/enquiries").text


@each_way
@pytest.mark.parametrize(("number", "closed_as"), [(ENQUIRY, "declined"), (ORDER, "cancelled")])
def test_it_is_closed_and_taken_up_again(
    desk: TestClient, headers: dict[str, str], number: str, closed_as: str
) -> None:
    here = f"/builds/{number}"
    assert f"Close it as {closed_as}" in desk.get(f"{here}/order").text
    closed = desk.post(f"{here}/close", data={"reason": "the price", "note": "too dear"}, headers=headers)
    assert (closed.status_code, closed.headers["location"]) == (303, f"{here}/order")
    page = words(desk.get(f"{here}/order").text)
    assert f"{number} is {closed_as}." in page
    assert f"{closed_as.capitalize()}, 09:00." in page
    assert f"{closed_as.capitalize()}: the price." in words(desk.get(here).text)
    assert number not in desk.get("/desk").text + desk.get("/desk/enquiries").text + desk.get("/").text
    assert closed_as in desk.get("/desk/finished").text
    assert closed_as in desk.get("/desk/customers/1").text
    opened = desk.post(f"{here}/reopen", headers=headers)
    assert (opened.status_code, opened.headers["location"]) == (303, f"{here}/order")
    assert f"{number} is taken up again." in desk.get(f"{here}/order").text
    assert number in desk.get("/desk").text + desk.get("/desk/enquiries").text


def test_a_closed_order_shows_no_next_stage_and_logs_none(desk: TestClient) -> None:
    desk.post(f"/builds/{ORDER}/close", data={"reason": "ordered elsewhere"})
    page = words(desk.get(f"/builds/{ORDER}").text)
    assert "done cancelled" in page
    assert "Next:" not in page
    refused = desk.post(f"/builds/{ORDER}/advance", data={"to": "agreed"})
    assert refused.status_code == 409
    assert "The order was cancelled; reopen it first" in words(refused.text)


@pytest.mark.parametrize(
    ("data", "key", "says"),
    [
        ({"reason": ""}, "reason", "must be one of the price"),
        ({"reason": "a whim"}, "reason", "must be one of the price"),
        ({"reason": "the price", "note": "x" * 1001}, "note", "at most 1000"),
    ],
)
def test_bad_input_is_said_beside_its_field_and_nothing_typed_is_lost(
    desk: TestClient, data: dict[str, str], key: str, says: str
) -> None:
    answer = desk.post(f"{HERE}/close", data={"note": "rang twice", **data})
    assert answer.status_code == 422
    assert says in error(answer.text, key)
    assert data.get("note", "rang twice") in answer.text
    assert ENQUIRY in desk.get("/desk/enquiries").text


@pytest.mark.parametrize(
    ("number", "verb", "says"),
    [
        (ORDER, "take-on", "has been taken on as an order already"),
        (ORDER, "reopen", "is open"),
        ("26-003", "close", ""),
    ],
)
def test_what_cannot_be_done_is_refused_with_the_reason(
    desk: TestClient, number: str, verb: str, says: str
) -> None:
    answer = desk.post(f"/builds/{number}/{verb}", data={"reason": "the price"})
    assert answer.status_code == (409 if says else 404)
    assert says in answer.text


def test_a_closed_enquiry_is_not_closed_twice_nor_taken_on(desk: TestClient) -> None:
    desk.post(f"{HERE}/close", data={"reason": "the price"})
    twice = desk.post(f"{HERE}/close", data={"reason": "the price", "note": "kept as typed"})
    assert twice.status_code == 409
    assert f"{ENQUIRY} is declined already." in words(twice.text)
    assert desk.post(f"{HERE}/take-on").status_code == 409


@pytest.mark.parametrize("verb", ["take-on", "close", "reopen"])
def test_a_helper_has_no_business_with_orders(people: SignIn, verb: str) -> None:
    helper = people(Role.HELPER)
    assert helper.get(f"{HERE}/order").status_code == 403
    assert helper.post(f"{HERE}/{verb}", data={"reason": "the price"}).status_code == 403
