"""What stands before every request: posts from other sites are refused, and answers carry their headers."""

from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.rules.people import Role, Scope
from shop.web.guards import HEADERS

ADDRESS = "/ways/you/sign-out"
REFUSED = [
    {"sec-fetch-site": "cross-site"},
    {"sec-fetch-site": "same-site"},
    {"sec-fetch-site": "cross-site", "origin": "https://testserver"},
    {"origin": "https://elsewhere.example"},
    {"origin": "https://testserver.elsewhere.example"},
    {"origin": "https://testserver:8443"},
    {"origin": "null"},
]
TAKEN = [
    {},
    {"sec-fetch-site": "same-origin"},
    {"sec-fetch-site": "none"},
    {"origin": "https://testserver"},
    {"sec-fetch-site": "same-origin", "origin": "https://behind-a-proxy.example"},
]


@pytest.mark.parametrize("headers", REFUSED, ids=str)
def test_a_post_from_another_site_is_refused(
    signed_in: Callable[[Role], TestClient], headers: dict[str, str]
) -> None:
    browser = signed_in(Role.OWNER)
    answer = browser.post(ADDRESS, headers=headers)
    assert answer.status_code == 403
    assert "another site" in answer.text
    # Nothing was done: the person is still signed in.
    assert browser.get("/ways").status_code == 200


@pytest.mark.parametrize("headers", TAKEN, ids=str)
def test_a_post_from_our_own_pages_is_taken(
    signed_in: Callable[[Role], TestClient], headers: dict[str, str]
) -> None:
    answer = signed_in(Role.OWNER).post(ADDRESS, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/sign-in")


def test_a_link_from_another_site_may_be_followed(signed_in: Callable[[Role], TestClient]) -> None:
    answer = signed_in(Role.OWNER).get("/ways", headers={"sec-fetch-site": "cross-site"})
    assert answer.status_code == 200


def test_a_write_of_the_api_from_another_site_is_refused(keyed: Callable[[Scope], TestClient]) -> None:
    program = keyed(Scope.DESK)
    answer = program.post(
        "/api/v1/customers", json={"name": "Ines"}, headers={"origin": "https://elsewhere.example"}
    )
    assert answer.status_code == 403
    assert program.get("/api/v1/customers").json()["items"] == []


@pytest.mark.parametrize("path", ["/sign-in", "/no-such-page", "/api/v1/customers", "/static/css/base.css"])
def test_every_answer_carries_the_headers(client: TestClient, path: str) -> None:
    headers = client.get(path).headers
    assert {name: headers.get(name) for name in HEADERS} == HEADERS


def test_a_refusal_carries_the_headers_too(client: TestClient) -> None:
    headers = client.post("/sign-in", headers={"sec-fetch-site": "cross-site"}).headers
    assert {name: headers.get(name) for name in HEADERS} == HEADERS


def test_the_policy_lets_nothing_in_from_elsewhere() -> None:
    policy = dict(part.strip().split(" ", 1) for part in HEADERS["content-security-policy"].split(";"))
    assert policy["default-src"] == "'self'"
    assert policy["frame-ancestors"] == policy["object-src"] == policy["base-uri"] == "'none'"
    assert policy["form-action"] == "'self'"
    assert "unsafe" not in HEADERS["content-security-policy"]
