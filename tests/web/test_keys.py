"""The owner's page of keys: a key is shown once, works for its scope, and stops when it is ended."""

import re
from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.queries.keys import list_keys
from shop.rules.people import Role
from shop.web.deps import Hub

either_way = pytest.mark.parametrize("headers", [{}, {"hx-request": "true"}], ids=["plain", "htmx"])


@pytest.fixture
def owner(signed_in: Callable[[Role], TestClient]) -> TestClient:
    return signed_in(Role.OWNER)


def given(owner: TestClient, scope: str = "desk", **headers: str) -> str:
    """A key, read off the page as a person does."""
    answer = owner.post("/ways/keys", data={"name": "lamp sensor", "scope": scope}, headers=headers)
    assert answer.status_code == 200
    assert answer.headers["cache-control"] == "no-store"
    found = re.search(r'id="key">([^<]+)<', answer.text)
    assert found is not None
    return found.group(1)


def call(owner: TestClient, key: str) -> int:
    return owner.get("/api/v1/customers", headers={"authorization": f"Bearer {key}"}).status_code


@either_way
def test_a_key_is_shown_once_and_works(hub: Hub, owner: TestClient, headers: dict[str, str]) -> None:
    key = given(owner, **headers)
    assert call(owner, key) == 200
    page = owner.get("/ways/keys").text
    assert "lamp sensor" in page
    assert key not in page
    assert key.encode() not in (hub.settings.data / "tackfree.sqlite3").read_bytes()


def test_a_key_does_what_its_scope_says(owner: TestClient) -> None:
    assert call(owner, given(owner, "sensor")) == 403


@pytest.mark.parametrize(
    ("form", "field"),
    [
        ({"name": "", "scope": "read"}, "name"),
        ({"name": "x" * 81, "scope": "read"}, "name"),
        ({"name": "lamp", "scope": "all"}, "scope"),
        ({"name": "lamp"}, "scope"),
    ],
)
def test_a_key_that_cannot_be_comes_back(
    hub: Hub, owner: TestClient, form: dict[str, str], field: str
) -> None:
    answer = owner.post("/ways/keys", data=form)
    assert answer.status_code == 422
    assert f'id="e-{field}"' in answer.text
    assert f'value="{form["name"]}"' in answer.text
    with hub.database.reading() as session:
        assert list_keys(session) == []


@either_way
def test_an_ended_key_opens_nothing(owner: TestClient, headers: dict[str, str]) -> None:
    key = given(owner)
    for _ in range(2):
        answer = owner.post("/ways/keys/1/end", headers=headers)
        assert (answer.status_code, answer.headers["location"]) == (303, "/ways/keys")
    assert call(owner, key) == 401
    assert "ended Mon 2 Mar" in owner.get("/ways/keys").text


def test_an_unknown_key_is_not_on_file(owner: TestClient) -> None:
    assert owner.post("/ways/keys/99/end").status_code == 404


@pytest.mark.parametrize("path", ["", "/1/end"])
def test_only_an_owner_keeps_the_keys(signed_in: Callable[[Role], TestClient], path: str) -> None:
    answer = signed_in(Role.BUILDER).post(f"/ways/keys{path}", data={"name": "lamp", "scope": "read"})
    assert answer.status_code == 403
