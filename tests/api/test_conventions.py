"""What holds for every call: keys, problems, and what the framework itself refuses."""

from collections.abc import Callable
from typing import Any

import pytest
from fastapi.testclient import TestClient
from httpx2 import Response

from shop.app import MOST_BODY_BYTES, create_app
from shop.rules.people import Scope
from shop.services.keys import end_key
from shop.web.deps import Hub
from shop.web.problems import BROKEN
from tests.api.conftest import PROBLEM, Program
from tests.conftest import Hands


def assert_problem(response: Response, status: int) -> dict[str, Any]:
    """The problem of an answer, held to the shape that RFC 9457 gives it."""
    assert (response.status_code, response.headers["content-type"]) == (status, PROBLEM), response.text
    problem: dict[str, Any] = response.json()
    assert (problem["type"], problem["status"]) == ("about:blank", status)
    assert problem["title"]
    assert problem["detail"].endswith("."), "a sentence"
    return problem


@pytest.mark.parametrize(
    "header", [None, "", "Bearer", "Bearer ", "Bearer nonsense", "Basic abc", "nonsense"]
)
def test_without_a_live_key_it_is_401(client: TestClient, header: str | None) -> None:
    headers = {} if header is None else {"authorization": header}
    response = client.get("/api/v1/bench", headers=headers)
    assert_problem(response, 401)
    assert response.headers["www-authenticate"] == "Bearer"


def test_a_key_that_has_ended_is_401(filled: Hub, hands: Hands, program: Callable[..., Program]) -> None:
    reader = program(Scope.READ)
    reader.get("/bench")
    with filled.database.writing(hands.wall_at) as session:
        end_key(session, 1, now=hands.wall_at)
    assert_problem(reader.send("GET", "/bench"), 401)


def test_the_scheme_is_read_in_any_case(desk: Program) -> None:
    desk.headers = {"Authorization": desk.headers["authorization"].replace("Bearer", "bEARER")}
    assert desk.send("GET", "/bench").status_code == 200


def test_a_scope_that_may_not_is_403_and_hears_which_may(program: Callable[..., Program]) -> None:
    problem = assert_problem(program(Scope.READ).send("POST", "/customers", json={"name": "Bo Lind"}), 403)
    assert "scope desk" in problem["detail"]


@pytest.mark.parametrize(
    "path", ["/api/v1", "/api/v1/", "/api/v2/customers", "/api/v1/nonsense", "/api/nonsense"]
)
def test_an_unknown_address_below_the_api_is_404(desk: Program, path: str) -> None:
    assert_problem(desk.client.get(path, headers=desk.headers), 404)


@pytest.mark.parametrize(
    "path", ["/builds/99-999", "/builds/99-999/next", "/builds/99-999/events", "/cures/9", "/mixes/9"]
)
def test_a_record_that_is_not_there_is_404(desk: Program, path: str) -> None:
    assert_problem(desk.send("GET", path), 404)


@pytest.mark.parametrize(
    "number",
    ["2147483648", "-2147483648", "9223372036854775808", "1" * 400, "9_999_999_999_999_999", "99999999999.0"],
)
@pytest.mark.parametrize("folder", ["customers", "cures", "mixes", "builds"])
def test_a_number_beyond_every_id_is_404(desk: Program, folder: str, number: str) -> None:
    assert_problem(desk.send("GET", f"/{folder}/{number}"), 404)


def test_an_address_with_nul_is_404(desk: Program) -> None:
    assert_problem(desk.send("GET", "/builds/26%00001"), 404)


def test_an_id_that_is_no_number_is_422(desk: Program) -> None:
    assert assert_problem(desk.send("GET", "/cures/first"), 422)["errors"][0]["field"] == "cure_id"


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH"])
def test_a_method_that_is_not_taken_is_405(desk: Program, method: str) -> None:
    response = desk.send(method, "/bench")
    assert_problem(response, 405)
    assert "GET" in response.headers["allow"]


def test_a_body_that_is_too_large_is_413(desk: Program) -> None:
    body = b'{"name": "' + b"a" * MOST_BODY_BYTES + b'"}'
    headers = {"content-type": "application/json"}
    assert_problem(desk.send("POST", "/customers", content=body, headers=headers), 413)

    def pieces() -> Any:
        for start in range(0, len(body), 65536):
            yield body[start : start + 65536]

    assert_problem(desk.send("POST", "/customers", content=pieces(), headers=headers), 413)


def test_a_refusal_by_the_state_of_things_is_409(desk: Program) -> None:
    mix = desk.post("/mixes", adhesive_id=1, zone_id=1)
    desk.post(f"/mixes/{mix['id']}/suspect", reason="Poured by eye.")
    problem = assert_problem(desk.send("POST", f"/mixes/{mix['id']}/suspect", json={"reason": "Again."}), 409)
    assert problem["detail"] == "This mix is under suspicion already; it awaits an owner's verdict."


def test_a_database_that_is_gone_is_503(filled: Hub, desk: Program) -> None:
    filled.database.close()
    (filled.settings.data / "tackfree.sqlite3").unlink()
    response = desk.send("GET", "/bench")
    assert_problem(response, 503)
    assert response.headers["retry-after"] == "5"


def test_a_mistake_of_ours_is_a_problem_for_a_program_and_a_sentence_for_a_person(hub: Hub) -> None:
    app = create_app(hub)
    for path in ("/api/v1/broken", "/broken"):
        app.add_api_route(path, lambda: 1 // 0)
    quiet = TestClient(app, raise_server_exceptions=False)
    assert_problem(quiet.get("/api/v1/broken"), 500)
    assert quiet.get("/broken").text == BROKEN


def test_every_answer_carries_the_guards_headers(desk: Program) -> None:
    response = desk.send("GET", "/bench")
    assert response.headers["x-content-type-options"] == "nosniff"
    assert response.headers["content-type"] == "application/json"
