"""Every route has a door or is on the list of those that need none, and every door shuts.

Walks all routes of the app, so that a page or call that somebody adds is held to this without being asked.
"""

import re
from collections.abc import Callable, Iterator
from typing import NamedTuple

import pytest
from annotated_types import Le
from fastapi import FastAPI
from fastapi.dependencies.models import Dependant
from fastapi.routing import iter_route_contexts
from fastapi.testclient import TestClient
from httpx2 import Response
from starlette.routing import Mount

from shop.rules.people import ROLE_RIGHTS, SCOPE_RIGHTS, Right, Role, Scope
from shop.services.tokens import hash_of, new_token
from shop.services.users import start_session
from shop.web.addresses import MOST_WHOLE
from shop.web.deps import Hub
from tests.conftest import Hands, House

API = "/api/v1/"
# Open to everybody: each shows nothing of the shop, or asks for a secret of its own in its address.
PUBLIC = {
    "/sign-in",
    "/first-run/{token}",
    "/rod/{token:path}",
    "/rod/{token}/photos/{picture}",
    "/rod/{token}/messages",
    "/rod/{token}/messages/seen",
    "/quote/{token:path}",
    "/calendar/{token}.ics",
    "/api/openapi.json",
    "/api",
}
PUBLIC_FOLDERS = {"/static"}


class Way(NamedTuple):
    """One method of one path, and the right that its door asks for; none where there is no door."""

    method: str
    path: str
    right: Right | None

    @property
    def address(self) -> str:
        return re.sub(r"\{[^}]+\}", "999999", self.path)


def rights_of(dependant: Dependant) -> Iterator[Right]:
    """The rights that a route's dependencies ask for, in the order in which they are asked."""
    for inner in dependant.dependencies:
        right = getattr(inner.call, "right", None)
        if right is not None:
            yield right
        yield from rights_of(inner)


def ways_of(app: FastAPI) -> list[Way]:
    """Every method of every route of the app."""
    found = []
    for route in iter_route_contexts(app.routes):
        dependant = getattr(route, "dependant", None)
        rights = [] if dependant is None else list(rights_of(dependant))
        for method in sorted(getattr(route, "methods", None) or ()):
            assert route.path is not None
            found.append(Way(method, route.path, rights[0] if rights else None))
    return found


@pytest.fixture
def ways(house: House) -> list[Way]:
    return [way for way in ways_of(house.app) if way.path not in PUBLIC]


def sent(client: TestClient, way: Way) -> Response:
    """The answer to a way, with an empty body of the kind that it takes."""
    takes_json = way.path.startswith(API) and way.method not in {"GET", "DELETE"}
    return client.request(way.method, way.address, json={} if takes_json else None)


def test_every_route_has_a_door_or_is_public(house: House) -> None:
    ways = ways_of(house.app)
    assert len(ways) > 40
    assert [way for way in ways if way.right is None and way.path not in PUBLIC] == []
    assert [way for way in ways if way.right is not None and way.path in PUBLIC] == []


def test_no_number_behind_an_address_is_too_large_for_the_database(house: House) -> None:
    asked = [
        (
            route.path,
            field.name,
            [int(f"{item.le}") for item in field.field_info.metadata if isinstance(item, Le)],
        )
        for route in iter_route_contexts(house.app.routes)
        for field in getattr(getattr(route, "dependant", None), "query_params", ())
        if field.field_info.annotation is int
    ]
    assert len(asked) > 10
    assert [found for found in asked if not found[2] or max(found[2]) > MOST_WHOLE] == []


def test_only_known_folders_are_served(house: House) -> None:
    mounted = {route.path for route in house.app.routes if isinstance(route, Mount)}
    assert mounted == PUBLIC_FOLDERS


def test_nobody_comes_in_unknown(client: TestClient, ways: list[Way]) -> None:
    wrong = []
    for way in ways:
        answer = sent(client, way)
        if way.path.startswith(API):
            kind = answer.headers.get("content-type")
            right = answer.status_code == 401 and kind == "application/problem+json"
        else:
            right = answer.status_code == 303 and answer.headers["location"].startswith("/sign-in")
        if not right:
            wrong.append((way, answer.status_code))
    assert wrong == []


def test_an_unknown_key_and_an_ended_session_are_nobody(client: TestClient) -> None:
    assert client.get("/api/v1/customers", headers={"authorization": "Bearer x"}).status_code == 401
    assert client.get("/api/v1/customers", headers={"authorization": "Basic x"}).status_code == 401
    client.cookies.set("tackfree", "x")
    assert client.get("/ways").headers["location"] == "/sign-in?next=/ways"


@pytest.mark.parametrize("role", Role)
def test_a_role_gets_in_where_it_may_and_nowhere_else(
    hub: Hub, hands: Hands, signed_in: Callable[[Role], TestClient], ways: list[Way], role: Role
) -> None:
    browser, wrong = signed_in(role), []
    for way in ways:
        if way.path.startswith(API):
            continue
        # A cookie for each, since some of the ways sign out.
        token = new_token()
        with hub.database.writing(hands.wall_at) as session:
            start_session(session, now=hands.wall_at, user_id=1, token_hash=hash_of(token))
        browser.cookies.set("tackfree", token)
        answer = sent(browser, way)
        shut = answer.status_code == 403
        if shut != (way.right not in ROLE_RIGHTS[role]) or (shut and "may not do this" not in answer.text):
            wrong.append((way, answer.status_code))
    assert wrong == []


@pytest.mark.parametrize("scope", Scope)
def test_a_key_gets_in_where_its_scope_may_and_nowhere_else(
    keyed: Callable[[Scope], TestClient], ways: list[Way], scope: Scope
) -> None:
    program, wrong = keyed(scope), []
    for way in ways:
        if not way.path.startswith(API):
            continue
        answer = sent(program, way)
        shut = answer.status_code == 403
        kind = answer.headers.get("content-type")
        expected = way.right not in SCOPE_RIGHTS[scope]
        if shut != expected or answer.status_code == 401 or (shut and kind != "application/problem+json"):
            wrong.append((way, answer.status_code))
    assert wrong == []


def test_a_key_opens_no_page_and_a_session_no_call(
    client: TestClient, signed_in: Callable[[Role], TestClient], keyed: Callable[[Scope], TestClient]
) -> None:
    assert keyed(Scope.DESK).get("/ways").status_code == 303
    del client.headers["authorization"]
    assert signed_in(Role.OWNER).get("/api/v1/customers").status_code == 401


def test_the_refusal_says_who_may(
    signed_in: Callable[[Role], TestClient], keyed: Callable[[Scope], TestClient]
) -> None:
    page = signed_in(Role.HELPER).get("/ways/people")
    assert "helper may not do this; it takes the role owner, not helper." in page.text
    answer = keyed(Scope.READ).post("/api/v1/customers", json={"name": "Ines"})
    assert answer.json()["detail"] == "The key “read key” may not do this; it takes a key of scope desk."
