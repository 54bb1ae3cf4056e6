"""Taking in a file on the Desk: looked through, refused with line and column, then taken in whole."""

import re
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import pytest
from fastapi.testclient import TestClient
from httpx2 import Response

from shop.queries.customers import customers_after
from shop.rules.people import Role
from shop.services.customers import add_customer
from shop.web.deps import Hub
from tests.conftest import Hands

HEAD = "Name;E-mail;Notes\r\n"
GOOD = HEAD + 'Ada Thorn;ada@thorn.example;"two\r\nlines"\r\nBo Reed;;\r\n'


@pytest.fixture
def desk(signed_in: Callable[[Role], TestClient]) -> TestClient:
    return signed_in(Role.BUILDER)


def look(client: TestClient, text: str | bytes, kind: str = "customers", **headers: str) -> Response:
    body = text.encode() if isinstance(text, str) else text
    return client.post(
        "/desk/import", data={"kind": kind}, files={"file": ("list.csv", body, "text/csv")}, headers=headers
    )


def token_in(answer: Response) -> str:
    found = re.search(r'name="token" value="([^"]+)"', answer.text)
    assert found, answer.text
    return found[1]


def names(hub: Hub) -> list[str]:
    with hub.database.reading() as session:
        return [customer.name for customer in customers_after(session, 0, 100)]


@pytest.mark.parametrize("headers", [{}, {"hx-request": "true"}], ids=["plain", "htmx"])
def test_a_file_is_looked_through_and_then_taken_in(
    desk: TestClient, hub: Hub, headers: dict[str, str]
) -> None:
    answer = look(desk, "﻿" + GOOD, **headers)
    assert answer.status_code == 200
    assert "Nothing is stored yet. 2 lines (customers)" in answer.text
    assert "Import these 2 lines" in answer.text
    assert names(hub) == []
    token = token_in(answer)
    taken = desk.post("/desk/import/take", data={"token": token}, headers=headers)
    assert (taken.status_code, taken.headers["location"]) == (303, "/desk/customers")
    assert names(hub) == ["Ada Thorn", "Bo Reed"]
    # A double press shows the second answer: it must not say that the file is lost.
    again = desk.post("/desk/import/take", data={"token": token}, headers=headers)
    assert (again.status_code, again.headers["location"]) == (303, "/desk/customers")
    assert "2%20lines%20taken%20in" in again.headers["set-cookie"]
    assert len(names(hub)) == 2


def test_two_presses_at_once_take_it_in_once(desk: TestClient, hub: Hub) -> None:
    token = token_in(look(desk, GOOD))

    def press(_: int) -> tuple[int, str]:
        answer = desk.post("/desk/import/take", data={"token": token})
        return answer.status_code, answer.headers.get("location", answer.text)

    with ThreadPoolExecutor(4) as threads:
        assert set(threads.map(press, range(4))) == {(303, "/desk/customers")}
    assert names(hub) == ["Ada Thorn", "Bo Reed"]


def test_faults_are_said_by_line_and_column_and_nothing_is_kept(desk: TestClient, hub: Hub) -> None:
    lines = "".join(f"Person {number};wrong\r\n" for number in range(130))
    answer = look(desk, HEAD + "<b>Ada</b>;ada@thorn.example\r\n" + lines)
    assert answer.status_code == 422
    assert "130 things are not in order" in answer.text
    assert 'data-label="Line">line 3<' in answer.text
    assert "“wrong” is not an e-mail" in answer.text
    assert answer.text.count('data-label="Line"') == 100
    assert "30 more are not listed" in answer.text
    assert 'name="token"' not in answer.text
    # What was chosen is still chosen.
    assert '<option value="customers" selected>' in answer.text
    assert names(hub) == []


@pytest.mark.parametrize(
    ("text", "kind", "said"),
    [
        (GOOD, "rods", "Say what the file lists."),
        ("", "customers", "No file came"),
        (GOOD.encode("utf-16"), "customers", "Line 1: This is not UTF-8 text"),
        (HEAD + 'Ada;"ada', "customers", "Line 2: From here on the cells cannot be told apart"),
        (HEAD, "customers", "no line below the names"),
        ("Mood\r\nGood\r\n", "customers", "There is no column “Mood”"),
        ("x" * 8_000_001, "customers", "more than 8 MB"),
    ],
    ids=["kind", "none", "encoding", "quote", "empty", "column", "large"],
)
def test_what_is_no_such_file_is_refused(
    desk: TestClient, hub: Hub, text: str | bytes, kind: str, said: str
) -> None:
    answer = look(desk, text, kind)
    assert answer.status_code == 422
    assert said in answer.text.replace("&#34;", '"')
    assert names(hub) == []


def test_a_customer_who_came_meanwhile_stops_it(desk: TestClient, hub: Hub, hands: Hands) -> None:
    token = token_in(look(desk, GOOD))
    with hub.database.writing(hands.wall_at) as session:
        add_customer(session, now=hands.wall_at, name="Ada", email="ADA@thorn.example")
    answer = desk.post("/desk/import/take", data={"token": token})
    assert answer.status_code == 422
    assert "would be there twice: it is on file already" in answer.text
    assert 'data-label="Line">line 2<' in answer.text
    assert "What is wrong in list.csv" in answer.text
    assert '<option value="customers" selected>' in answer.text
    assert names(hub) == ["Ada"]


def test_a_file_is_not_kept_for_long(desk: TestClient, hands: Hands) -> None:
    token = token_in(look(desk, GOOD))
    hands.forward(minutes=31)
    assert desk.post("/desk/import/take", data={"token": token}).status_code == 422


def test_a_helper_takes_in_nothing(signed_in: Callable[[Role], TestClient], hub: Hub) -> None:
    helper = signed_in(Role.HELPER)
    assert look(helper, GOOD).status_code == 403
    assert helper.post("/desk/import/take", data={"token": "x"}).status_code == 403
    assert helper.get("/desk/import").status_code == 403
    assert names(hub) == []


def test_the_page_says_every_column(desk: TestClient) -> None:
    text = desk.get("/desk/import?kind=blanks").text
    assert '<option value="blanks" selected>' in text
    assert "od at butt, od at 12 in, od at tip" in text
    assert "8 MB and 200,000 lines" in text


@pytest.mark.parametrize(
    ("page", "kind"),
    [
        ("/desk/customers", "customers"),
        ("/shelf", "blanks"),
        ("/shelf/components", "components"),
        ("/shelf/stock", "stock"),
    ],
)
def test_each_list_leads_to_it_for_whoever_may(
    desk: TestClient, signed_in: Callable[[Role], TestClient], page: str, kind: str
) -> None:
    link = f'href="/desk/import?kind={kind}"'
    assert link in desk.get(page).text
    assert link not in signed_in(Role.HELPER).get(page).text
