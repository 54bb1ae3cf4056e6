"""A filled shop, programs that speak to it, and a real server for what only threads can show."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from fastapi.testclient import TestClient
from httpx2 import Response

from shop.rules.people import Scope
from shop.services.keys import add_key
from shop.services.tokens import hash_of, new_token
from shop.web.deps import Hub
from tests.api.filled import BOND, CUSTOMER, SEQUENCE, ZONE, fill
from tests.conftest import Hands
from tests.live_server import served

API = "/api/v1"
PROBLEM = "application/problem+json"


class Program:
    """A program with a key of its own."""

    def __init__(self, client: TestClient, key: str) -> None:
        self.client = client
        self.headers = {"authorization": f"Bearer {key}"}

    def send(self, method: str, path: str, **more: Any) -> Response:
        headers = {**self.headers, **more.pop("headers", {})}
        return self.client.request(method, API + path, headers=headers, **more)

    def get(self, path: str, **query: Any) -> Any:
        """The answer's JSON; fails when it is a refusal."""
        response = self.send("GET", path, params=query)
        assert response.status_code == 200, response.text
        return response.json()

    def post(self, path: str, **body: Any) -> Any:
        """The answer's JSON; fails when it is a refusal."""
        response = self.send("POST", path, json=body)
        assert response.status_code in (200, 201), response.text
        return response.json()

    def assert_refused(self, status: int, path: str, *, method: str = "POST", **body: Any) -> Any:
        """The problem; fails when it is not one of this status."""
        response = self.send(method, path, **({"json": body} if method != "GET" else {}))
        assert (response.status_code, response.headers["content-type"]) == (status, PROBLEM), response.text
        problem = response.json()
        assert problem["status"] == status
        assert problem["detail"]
        return problem

    def build(self, **more: Any) -> str:
        """The number of a new build."""
        plan = {"customer_id": CUSTOMER, "title": "7 ft", "sequence_id": SEQUENCE, "rod_kind": "casting"}
        number: str = self.post("/builds", **{**plan, **more})["number"]
        return number

    def glue(self, number: str, place: str, adhesive: int = BOND) -> dict[str, Any]:
        """A fresh mix, and a place closed with it at once: the cure."""
        mix = self.post("/mixes", adhesive_id=adhesive, zone_id=ZONE)
        cure: dict[str, Any] = self.post(f"/mixes/{mix['id']}/cures", build=number, place=place)
        return cure

    def kinds(self, number: str) -> list[str]:
        """The kinds of the holds on a build's next stage."""
        return [hold["kind"] for hold in self.get(f"/builds/{number}/next")["holds"]]


@pytest.fixture
def filled(hub: Hub, hands: Hands) -> Hub:
    with hub.database.writing(hands.wall_at) as session:
        fill(session, hands.wall_at)
    return hub


@pytest.fixture
def program(filled: Hub, hands: Hands, client: TestClient) -> Callable[..., Program]:
    """Makes a program with a new key of a scope."""

    def make(scope: Scope, name: str = "") -> Program:
        return Program(client, new_key(filled, hands, scope, name))

    return make


def new_key(hub: Hub, hands: Hands, scope: Scope, name: str = "") -> str:
    key = new_token()
    with hub.database.writing(hands.wall_at) as session:
        add_key(session, now=hands.wall_at, name=name or f"{scope} key", scope=scope, key_hash=hash_of(key))
    return key


@pytest.fixture
def desk(program: Callable[..., Program]) -> Program:
    return program(Scope.DESK)


@pytest.fixture
def bench(program: Callable[..., Program]) -> Program:
    return program(Scope.BENCH)


@pytest.fixture
def server(filled: Hub) -> Iterator[str]:
    """The address of a real server around the filled shop, in a thread of its own."""
    with served(filled) as address:
        yield address
