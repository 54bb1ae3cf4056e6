"""Search from the head of every page: who sees what, where it leads, marked and escaped, and over the API."""

import re
from collections.abc import Callable
from zoneinfo import ZoneInfo

import pytest
from fastapi.testclient import TestClient

from shop.db.messages import Message
from shop.rules.people import Role, Scope
from shop.services.builds import take_on_build
from shop.services.customers import add_customer
from shop.web.deps import Hub
from tests.api.filled import CUSTOMER, SEQUENCE, fill
from tests.conftest import Hands

HTMX = {"hx-request": "true"}

pytestmark = pytest.mark.usefixtures("filled")


@pytest.fixture
def filled(hub: Hub, hands: Hands) -> Hub:
    with hub.database.writing(hands.wall_at) as session:
        fill(session, hands.wall_at)
        build = take_on_build(
            session, now=hands.wall_at, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="7 ft <i>heron</i>",
            rod_kind="casting", sequence_id=SEQUENCE, notes="Grey heron, wings spread",
        )  # fmt: skip
        add_customer(
            session, now=hands.wall_at, name="Heron & Daughter", email="heron@mail.example", phone="555 0100"
        )
        session.add(Message(build_id=build.id, from_customer=True, text="My heron?", at=hands.wall_at))
    return hub


def links(text: str) -> list[str]:
    """Where the hits of a page, or of the list alone, lead."""
    return re.findall(r'<li><a href="([^"]+)"', text.rsplit("<main", 1)[-1])


def test_every_page_has_the_box_and_a_plain_form_finds(signed_in: Callable[[Role], TestClient]) -> None:
    owner = signed_in(Role.OWNER)
    for page in ("/", "/desk", "/builds/26-001"):
        assert '<form class="search" role="search" action="/search"' in owner.get(page).text
    answer = owner.get("/search", params={"q": "her"})
    assert answer.status_code == 200
    assert links(answer.text) == ["/builds/26-001", "/desk/customers/2", "/builds/26-001"]
    assert "<mark>Her</mark>on &amp; Daughter" in answer.text
    assert "7 ft &lt;i&gt;<mark>her</mark>on&lt;/i&gt;" in answer.text
    assert "Grey <mark>her</mark>on, wings spread" in answer.text
    assert 'name="q" value="her"' in answer.text
    for link in set(links(answer.text)):
        assert owner.get(link).status_code == 200, link


def test_while_one_types_the_list_alone_comes(signed_in: Callable[[Role], TestClient]) -> None:
    owner = signed_in(Role.OWNER)
    part = owner.get("/search", params={"q": "26001"}, headers=HTMX)
    assert part.status_code == 200
    assert "<html" not in part.text
    assert links(part.text) == ["/builds/26-001"]
    assert "<mark>26</mark>-<mark>001</mark>" in part.text
    assert owner.get("/search", params={"q": ""}, headers=HTMX).text.strip() == ""
    assert "Nothing on file has a word" in owner.get("/search", params={"q": "zzz"}, headers=HTMX).text
    assert "Type a name" in owner.get("/search").text


@pytest.mark.parametrize("number", ["26-001", "26001", "1", "001"])
def test_a_number_finds_its_build(signed_in: Callable[[Role], TestClient], number: str) -> None:
    assert links(signed_in(Role.HELPER).get("/search", params={"q": number}).text) == ["/builds/26-001"]


def test_a_helper_sees_no_address_and_no_message(signed_in: Callable[[Role], TestClient]) -> None:
    helper = signed_in(Role.HELPER)
    text = helper.get("/search", params={"q": "heron"}).text
    assert "Daughter" in text
    assert "mail.example" not in text
    assert "My " not in text
    assert links(text) == ["/builds/26-001"]
    for asked in ("mail", "555", "5550100", "heron@mail.example"):
        assert links(helper.get("/search", params={"q": asked}).text) == []
        assert "Nothing on file" in helper.get("/search", params={"q": asked}).text


def test_nothing_typed_is_a_fault(signed_in: Callable[[Role], TestClient]) -> None:
    owner = signed_in(Role.OWNER)
    typed = [
        '"',
        "*",
        "NEAR(",
        "a OR",
        "'",
        "\\",
        "&",
        "<script>",
        "{",
        "x" * 5000,
        "\0",
        "%",
        "²",
        "🎣",
        ":*",
    ]
    for text in typed:
        answer = owner.get("/search", params={"q": text})
        assert answer.status_code == 200, text
        assert "<script>" not in answer.text.split("<main")[1]
    assert owner.get("/search?q=%ff%fe").status_code == 200


def test_nobody_searches_from_outside(client: TestClient) -> None:
    assert client.get("/search", params={"q": "heron"}).status_code in {303, 401}
    assert "search" not in client.get("/sign-in").text


@pytest.mark.parametrize(
    ("scope", "kinds", "path"),
    [
        (Scope.DESK, ["build", "customer", "message"], "/desk/customers/2"),
        (Scope.READ, ["build", "customer"], None),
        (Scope.BENCH, ["build", "customer"], None),
    ],
)
def test_a_program_searches_as_far_as_its_key_goes(
    keyed: Callable[[Scope], TestClient], scope: Scope, kinds: list[str], path: str | None
) -> None:
    program = keyed(scope)
    answer = program.get("/api/v1/search", params={"q": "heron"})
    assert answer.status_code == 200
    items = {item["kind"]: item for item in answer.json()["items"]}
    assert list(items) == kinds
    assert answer.json()["next"] is None
    assert items["build"]["path"] == "/builds/26-001"
    assert items["customer"]["path"] == path
    assert ("mail.example" in items["customer"]["words"]) == (scope is Scope.DESK)
    assert program.get("/api/v1/search", params={"q": "x" * 201}).status_code == 422
    assert program.get("/api/v1/search").json() == {"items": [], "next": None}


def test_a_sensor_searches_nothing(keyed: Callable[[Scope], TestClient]) -> None:
    assert keyed(Scope.SENSOR).get("/api/v1/search", params={"q": "heron"}).status_code == 403
