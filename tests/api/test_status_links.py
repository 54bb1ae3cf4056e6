"""The API of status links: given, shown again, replaced, ended, and only for who may."""

from collections.abc import Callable
from urllib.parse import urlsplit

import pytest

from shop.rules.people import Scope
from tests.api.conftest import Program


@pytest.fixture
def link(desk: Program) -> str:
    """The path of a build's status link."""
    return f"/builds/{desk.build()}/status-link"


def test_an_address_is_given_and_shown_again(desk: Program, link: str) -> None:
    given = desk.send("POST", link)
    assert given.status_code == 201
    assert desk.get(link) == given.json()
    url = given.json()["url"]
    assert url.startswith("https://testserver/rod/")
    news = desk.client.get(urlsplit(url).path)
    assert (news.status_code, "7 ft" in news.text) == (200, True)


def test_a_new_address_ends_the_one_before(desk: Program, link: str) -> None:
    first, second = (urlsplit(desk.post(link)["url"]).path for _ in range(2))
    assert first != second
    assert desk.client.get(first).status_code == 404
    assert desk.client.get(second).status_code == 200


def test_an_ended_address_is_gone_and_cannot_be_ended_twice(desk: Program, link: str) -> None:
    path = urlsplit(desk.post(link)["url"]).path
    ended = desk.send("DELETE", link)
    assert (ended.status_code, ended.content) == (204, b"")
    assert desk.client.get(path).status_code == 404
    for method in ("DELETE", "GET"):
        assert "no live status link" in desk.assert_refused(404, link, method=method)["detail"]


def test_the_same_key_gives_the_first_address_again(desk: Program, link: str) -> None:
    headers = {"idempotency-key": "one tap"}
    first, again = (desk.send("POST", link, headers=headers) for _ in range(2))
    assert first.json() == again.json()
    assert desk.client.get(urlsplit(first.json()["url"]).path).status_code == 200


@pytest.mark.parametrize("method", ["POST", "DELETE", "GET"])
def test_a_build_that_is_not_on_file_has_no_link(desk: Program, method: str) -> None:
    desk.assert_refused(404, "/builds/26-099/status-link", method=method)


@pytest.mark.parametrize("scope", [Scope.READ, Scope.BENCH, Scope.SENSOR])
@pytest.mark.parametrize("method", ["POST", "DELETE", "GET"])
def test_only_a_key_for_the_desk_has_to_do_with_links(
    program: Callable[..., Program], link: str, scope: Scope, method: str
) -> None:
    program(scope).assert_refused(403, link, method=method)
