"""`Idempotency-Key`: a retried write is done once and answered as the first time."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any

import httpx
import pytest
from httpx2 import Response

from shop.rules.people import Scope
from shop.web.deps import Hub
from tests.api.conftest import API, Program, new_key
from tests.conftest import Hands


def names(program: Program) -> list[str]:
    return [item["name"] for item in program.get("/customers")["items"][1:]]


def send(program: Program, key: str, path: str = "/customers", **body: Any) -> Response:
    return program.send("POST", path, json=body, headers={"idempotency-key": key})


def test_the_same_key_and_body_is_one_record_and_one_answer(desk: Program) -> None:
    first, second = send(desk, "k", name="Bo"), send(desk, "k", name="Bo")
    assert (first.status_code, second.status_code) == (201, 201)
    assert first.json() == second.json()
    assert second.headers["content-type"] == "application/json"
    assert names(desk) == ["Bo"]


def test_the_order_of_fields_and_the_spaces_do_not_matter(desk: Program) -> None:
    headers = {"idempotency-key": "k", "content-type": "application/json"}
    bodies = [
        b'{"name": "Bo", "phone": "1"}',
        b'{"phone":"1","name":"Bo"}',
        b'{"phone":"1","name":"\\u0042o"}',
    ]
    answers = [desk.send("POST", "/customers", content=body, headers=headers).json() for body in bodies]
    assert answers[0] == answers[1] == answers[2]
    assert names(desk) == ["Bo"]


def test_another_body_with_the_key_is_refused(desk: Program) -> None:
    send(desk, "k", name="Bo")
    answer = send(desk, "k", name="Ed")
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == "Idempotency-Key"
    assert names(desk) == ["Bo"]


def test_another_call_with_the_key_is_refused(desk: Program) -> None:
    number = desk.build()
    assert send(desk, "k", f"/builds/{number}/advance", to="agreed").status_code == 200
    assert send(desk, "k", f"/builds/{desk.build()}/advance", to="agreed").status_code == 422
    patched = desk.send("PATCH", "/customers/1", json={"name": "A"}, headers={"idempotency-key": "k"})
    assert patched.status_code == 422


def test_another_program_may_use_the_same_key(program: Callable[..., Program]) -> None:
    one, other = program(Scope.DESK, "one"), program(Scope.DESK, "other")
    assert send(one, "k", name="Bo").json() != send(other, "k", name="Ed").json()
    assert names(one) == ["Bo", "Ed"]


def test_a_refusal_is_not_kept(desk: Program) -> None:
    number = desk.build()
    path = f"/builds/{number}/advance"
    assert send(desk, "k", path, to="fitted", measurements={"rear bore": "12 mm"}).status_code == 409
    desk.post(path, to="agreed")
    assert send(desk, "k", path, to="fitted", measurements={"rear bore": "12 mm"}).status_code == 200


def test_the_answer_stays_the_first_though_the_record_moved_on(desk: Program) -> None:
    number = desk.build()
    first = send(desk, "k", f"/builds/{number}/advance", to="agreed").json()
    desk.post(f"/builds/{number}/advance", to="fitted", measurements={"rear bore": "12 mm"})
    assert send(desk, "k", f"/builds/{number}/advance", to="agreed").json() == first
    assert desk.get(f"/builds/{number}")["stage"] == "fitted"


def test_without_a_key_a_write_is_done_as_often_as_it_is_sent(desk: Program) -> None:
    desk.post("/customers", name="Bo")
    desk.post("/customers", name="Bo")
    assert names(desk) == ["Bo", "Bo"]


def test_a_key_on_a_reading_call_does_nothing(desk: Program) -> None:
    for _ in range(2):
        assert desk.send("GET", "/bench", headers={"idempotency-key": "k"}).status_code == 200
    assert send(desk, "k", name="Bo").status_code == 201


@pytest.mark.parametrize("key", ["", "k" * 201])
def test_a_key_has_bounds(desk: Program, key: str) -> None:
    answer = send(desk, key, name="Bo")
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == "Idempotency-Key"
    assert names(desk) == []


def test_a_key_is_of_no_use_without_a_right(program: Callable[..., Program], desk: Program) -> None:
    send(desk, "k", name="Bo")
    assert send(program(Scope.READ), "k", name="Bo").status_code == 403


def test_eight_at_once_are_one(filled: Hub, hands: Hands, server: str) -> None:
    headers = {"authorization": f"Bearer {new_key(filled, hands, Scope.DESK)}", "idempotency-key": "k"}
    together = Barrier(8)

    def post(_: int) -> httpx.Response:
        with httpx.Client(base_url=server + API, headers=headers, timeout=60) as client:
            together.wait(30)
            return client.post("/customers", json={"name": "Bo"})

    with ThreadPoolExecutor(8) as threads:
        answers = list(threads.map(post, range(8)))
    assert {(answer.status_code, answer.text) for answer in answers} == {(201, answers[0].text)}
    with httpx.Client(base_url=server + API, headers=headers) as client:
        assert [item["name"] for item in client.get("/customers").json()["items"]] == ["Ada Thorn", "Bo"]
