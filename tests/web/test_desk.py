"""The desk: customers, builds taken on and changed, lists by promise, and what each refuses."""

import io
import re
from collections.abc import Callable
from zoneinfo import ZoneInfo

import pytest
from fastapi.testclient import TestClient

from shop.outside.csv_files import CsvFile
from shop.rules.imports import ImportKind
from shop.rules.people import Actor, Role
from shop.services.bench import Signer
from shop.services.builds import take_on_build
from shop.services.imports import take_in
from shop.web.deps import Hub
from shop.web.pages.desk import MOST, MOST_CUSTOMERS
from tests.api.filled import CUSTOMER, SEQUENCE, fill
from tests.conftest import Hands
from tests.web.bench_shop import HTMX

SignIn = Callable[[Role], TestClient]
PLAN = {"customer_id": "1", "title": "7 ft casting", "sequence_id": "1", "thread_colour": "#1f4e7a"}
WHY = {"promise_reason": "A guide came bent."}


@pytest.fixture
def desk(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    with hub.database.writing(hands.wall_at) as session:
        fill(session, hands.wall_at)
    return signed_in(Role.OWNER)


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_a_build_is_taken_on_and_shown(desk: TestClient, headers: dict[str, str]) -> None:
    answer = desk.post(
        "/desk/builds/new", data={**PLAN, "promised_on": "2026-04-02", "notes": "left hand"}, headers=headers
    )
    assert (answer.status_code, answer.headers["location"]) == (303, "/builds/26-001")
    assert "Build 26-001 is taken on." in desk.get("/builds/26-001").text
    row = desk.get("/desk").text
    assert "Ada Thorn" in row
    assert "Thu 2 Apr" in row
    assert "left hand" in desk.get("/builds/26-001/edit").text


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"title": ""}, "The title is missing"),
        ({"title": "x" * 121}, "at most 120 fit"),
        ({"customer_id": ""}, "The customer is missing"),
        ({"sequence_id": ""}, "The sequence is missing"),
        ({"customer_id": "99"}, "There is no customer 99 on file. Please choose another."),
        ({"blank_id": "99"}, "Please choose another."),
        ({"sequence_id": "99"}, "Please choose another."),
        ({"customer_id": str(2**31)}, "not one of the list; please choose one."),
        ({"promised_on": "2026-02-30"}, "must be a day"),
        ({"thread_colour": "red"}, "written #rrggbb"),
    ],
)
def test_a_plan_that_cannot_be_comes_back_as_typed(
    desk: TestClient, changes: dict[str, str], says: str
) -> None:
    answer = desk.post("/desk/builds/new", data={**PLAN, "notes": "keep this", **changes})
    assert answer.status_code == 422
    assert says in answer.text
    assert "keep this" in answer.text
    assert "26-001" not in desk.get("/desk").text


def test_a_plan_is_changed_but_not_its_sequence(desk: TestClient) -> None:
    desk.post("/desk/builds/new", data=PLAN)
    told = {**PLAN, "title": "7 ft 2 in casting", "sequence_id": "9", "promised_on": "2026-03-01"}
    assert desk.post("/builds/26-001/edit", data=told).status_code == 303
    page = desk.get("/builds/26-001").text
    assert "7 ft 2 in casting" in page
    assert "overdue" in page
    refused = desk.post("/builds/26-001/edit", data={**PLAN, "title": ""})
    assert refused.status_code == 422
    assert "The title is missing" in refused.text


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_of_two_people_at_one_plan_neither_wins_unseen(desk: TestClient, headers: dict[str, str]) -> None:
    desk.post("/desk/builds/new", data=PLAN)
    path = "/builds/26-001/edit"
    seen = seen_on(desk.get(path).text)
    # A stage that is logged meanwhile is no change of the plan.
    assert desk.post("/builds/26-001/advance", data={"to": "agreed"}).status_code == 303
    first = desk.post(path, data={**PLAN, "seen": seen, "notes": "mine"}, headers=headers)
    assert first.status_code == 303
    late = desk.post(path, data={**PLAN, "seen": seen, "notes": "theirs"}, headers=headers)
    assert late.status_code == 409
    assert "Somebody has changed this plan meanwhile" in late.text
    assert "theirs</textarea>" in late.text
    assert "<dd>mine</dd>" in late.text
    again = desk.post(path, data={**PLAN, "seen": seen_on(late.text), "notes": "theirs"}, headers=headers)
    assert again.status_code == 303
    assert "theirs</textarea>" in desk.get(path).text


def seen_on(page: str) -> str:
    """Which plan a form says that it was made on."""
    found = re.search(r'name="seen" value="(\w+)"', page)
    assert found is not None
    return found[1]


def test_a_customer_is_taken_down_changed_and_listed(desk: TestClient) -> None:
    answer = desk.post("/desk/customers/new", data={"name": "Bo Lind", "email": "bo@example.org"})
    assert (answer.status_code, answer.headers["location"]) == (303, "/desk/customers/2")
    assert "Bo Lind" in desk.get("/desk/customers").text
    changed = {"name": "Bo Lindh", "email": "", "phone": "555 0100", "notes": ""}
    assert desk.post("/desk/customers/2", data=changed).status_code == 303
    assert "Bo Lindh" in desk.get("/desk/customers/2").text
    for path in ("/desk/customers/new", "/desk/customers/2"):
        refused = desk.post(path, data={"name": "", "email": "nowhere", "notes": "typed with care"})
        assert refused.status_code == 422
        assert "The name is missing" in refused.text
        assert "typed with care" in refused.text
        assert 'value="nowhere"' in refused.text


def test_a_promise_that_is_over_is_taken_and_said(desk: TestClient) -> None:
    over = "The promised day is over already."
    desk.post("/desk/builds/new", data={**PLAN, "promised_on": "2026-03-01"})
    assert over in desk.get("/builds/26-001").text
    desk.post("/builds/26-001/edit", data={**PLAN, **WHY, "promised_on": "2026-03-02"})
    assert over not in desk.get("/builds/26-001").text
    desk.post("/builds/26-001/edit", data={**PLAN, **WHY, "promised_on": "2026-02-28"})
    assert over in desk.get("/builds/26-001").text


def test_nobody_is_the_customer_until_one_is_chosen(desk: TestClient) -> None:
    page = desk.get("/desk/builds/new").text
    assert (
        '<option value="">choose a customer' in page or '<option value="" selected>choose a customer' in page
    )
    assert '<option value="1" selected>' not in page


def test_a_new_customer_on_the_way_to_a_build_leads_back_to_it(desk: TestClient) -> None:
    assert 'href="/desk/customers/new?then=build"' in desk.get("/desk/builds/new").text
    assert 'name="then" value="build"' in desk.get("/desk/customers/new?then=build").text
    refused = desk.post("/desk/customers/new", data={"name": "", "then": "build"})
    assert 'name="then" value="build"' in refused.text
    answer = desk.post("/desk/customers/new", data={"name": "Bo Lind", "then": "build"})
    assert answer.headers["location"] == "/desk/builds/new?customer=2"
    elsewhere = desk.post("/desk/customers/new", data={"name": "Cy Marsh", "then": "//elsewhere.example"})
    assert elsewhere.headers["location"] == "/desk/customers/3"


def test_finished_builds_are_listed_by_key_and_on_their_customers_page(
    desk: TestClient, hub: Hub, hands: Hands
) -> None:
    with hub.database.writing(hands.wall_at) as session:
        for running in range(1, MOST + 2):
            title = f"rod {running:03d}"
            build = take_on_build(
                session, now=hands.wall_at, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title=title,
                rod_kind="casting", sequence_id=SEQUENCE,
            )  # fmt: skip
            build.closed_at = hands.wall_at
    newest = desk.get("/desk/finished").text
    assert "rod 051" in newest
    assert "rod 001" not in newest
    older = desk.get(re.search(r'href="(/desk/finished\?before=\d+)"', newest)[1]).text  # type: ignore[index]
    assert re.findall(r"rod \d{3}", older) == ["rod 001"]
    assert "Older ones" not in older
    assert "No build is open" in desk.get("/desk").text
    assert "rod 051" in desk.get("/desk/customers/1").text


def test_a_customer_is_chosen_for_the_next_build(desk: TestClient) -> None:
    page = desk.get("/desk/builds/new?customer=1").text
    assert '<option value="1" selected>Ada Thorn' in page


@pytest.mark.parametrize("path", ["/desk/builds/new", "/desk/customers/new", "/builds/26-001/edit"])
def test_a_helper_has_no_business_at_the_desk(desk: TestClient, signed_in: SignIn, path: str) -> None:
    desk.post("/desk/builds/new", data=PLAN)
    assert desk.get(path).status_code == 200
    helper = signed_in(Role.HELPER)
    assert helper.get(path).status_code == 403
    assert helper.post(path, data=PLAN).status_code == 403
    assert helper.get("/desk").status_code == 200


@pytest.mark.parametrize("path", ["/desk", "/desk/finished", "/desk/customers"])
def test_a_helper_is_shown_no_way_that_is_shut_to_them(
    desk: TestClient, signed_in: SignIn, path: str
) -> None:
    ways = ("/desk/builds/new", "/desk/customers/new")
    assert all(f'href="{way}"' in desk.get(path).text for way in ways)
    helper = signed_in(Role.HELPER)
    page = helper.get(path).text
    assert not any(f'href="{way}"' in page for way in ways)
    assert "/desk/customers/1" not in page


def test_a_helper_sees_who_a_customer_is_and_no_address(desk: TestClient, signed_in: SignIn) -> None:
    desk.post("/desk/customers/new", data={"name": "Bo Lind", "email": "bo@example.org", "phone": "555 0100"})
    text = desk.get("/desk/customers").text
    assert ("Bo Lind" in text, "bo@example.org" in text, "555 0100" in text) == (True, True, True)
    page = signed_in(Role.HELPER).get("/desk/customers").text
    assert ("Bo Lind" in page, "bo@example.org" in page, "555 0100" in page) == (True, False, False)


def test_of_very_many_customers_the_first_are_listed(hub: Hub, desk: TestClient, hands: Hands) -> None:
    rows = "".join(f"Person {number:04d}\r\n" for number in range(MOST_CUSTOMERS + 1))
    signer = Signer(hands.wall_at, Actor("Nell", frozenset()))
    with hub.database.writing(hands.wall_at) as session:
        take_in(session, signer, ImportKind.CUSTOMERS, CsvFile(io.BytesIO(f"name\r\n{rows}".encode())))
    text = desk.get("/desk/customers").text
    assert text.count('data-label="Customer"') == MOST_CUSTOMERS
    assert "type the beginning of a name into the search" in text
    assert 'href="/desk/import?kind=customers"' in text
