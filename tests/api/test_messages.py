"""The API of messages and promises: read, written, marked, by page, and only for who may."""

from collections.abc import Callable

import pytest

from shop.rules.people import Scope
from shop.services.messages import write_from_customer
from shop.web.deps import Hub
from tests.api.conftest import Program
from tests.conftest import Hands


@pytest.fixture
def number(desk: Program, hub: Hub, hands: Hands) -> str:
    """A build whose customer has asked two questions."""
    number = desk.build()
    for text in ("Is it started?", "And the guides?"):
        with hub.database.writing(hands.wall_at) as session:
            write_from_customer(session, 1, now=hands.wall_at, text=text)
    return number


def test_messages_are_read_answered_and_marked(desk: Program, number: str) -> None:
    first, second = desk.get("/messages", unread="true")["items"]
    assert first == {
        "id": 1, "build": number, "from_customer": True, "text": "Is it started?",
        "at": "2026-03-02T09:00:00Z", "by": "", "read_at": None, "read_by": "", "is_answered": False,
    }  # fmt: skip
    marked = desk.post("/messages/1/read")
    assert marked == {**first, "read_at": "2026-03-02T09:00:00Z", "read_by": "desk key"}
    assert desk.get("/messages", unread="true")["items"] == [second]
    said = desk.post(f"/builds/{number}/messages", text="  Yes, since Monday. ")
    assert (said["text"], said["from_customer"], said["by"]) == ("Yes, since Monday.", False, "desk key")
    assert desk.get("/messages", unread="true")["items"] == []
    thread = desk.get(f"/builds/{number}/messages")["items"]
    assert thread == desk.get("/messages")["items"]
    assert [(item["id"], item["is_answered"]) for item in thread] == [(1, True), (2, True), (3, False)]
    assert [item["id"] for item in desk.get("/messages", limit=1, after=1)["items"]] == [2]
    assert desk.get(f"/builds/{number}/messages", limit=1)["next"] == "1"


@pytest.mark.parametrize(
    ("status", "text"),
    [(422, ""), (422, "  "), (422, "x" * 2001), (422, "a\x07b"), (422, None), (422, 7)],
)
def test_what_is_no_message_is_refused(desk: Program, number: str, status: int, text: object) -> None:
    desk.assert_refused(status, f"/builds/{number}/messages", text=text)
    assert len(desk.get("/messages")["items"]) == 2


def test_half_a_sign_is_refused(desk: Program, number: str) -> None:
    raw, kind = b'{"text": "\\ud800"}', {"content-type": "application/json"}
    answer = desk.send("POST", f"/builds/{number}/messages", content=raw, headers=kind)
    assert answer.status_code == 422
    assert len(desk.get("/messages")["items"]) == 2


def test_what_cannot_be_marked_or_found(desk: Program, number: str) -> None:
    desk.post(f"/builds/{number}/messages", text="Yes.")
    desk.assert_refused(409, "/messages/3/read")
    desk.assert_refused(404, "/messages/4/read")
    for method in ("GET", "POST"):
        desk.assert_refused(404, "/builds/26-099/messages", method=method, text="x")


def test_only_a_key_for_the_desk_reads_them(program: Callable[..., Program], number: str) -> None:
    for scope in (Scope.READ, Scope.BENCH):
        program(scope).assert_refused(403, "/messages", method="GET")
        program(scope).assert_refused(403, f"/builds/{number}/messages", method="GET")


def test_every_promise_is_told_with_its_reason(desk: Program) -> None:
    number = desk.build(promised_on="2026-04-02")
    why = {"promised_on": "2026-04-09", "promise_reason": "A guide came bent."}
    refused = desk.assert_refused(422, f"/builds/{number}", method="PATCH", promised_on="2026-04-09")
    assert refused["errors"][0]["field"] == "promise_reason"
    assert desk.send("PATCH", f"/builds/{number}", json=why).json()["promised_on"] == "2026-04-09"
    said = {"at": "2026-03-02T09:00:00Z", "by": "desk key"}
    moved = {"promised_on": "2026-04-09", "was_on": "2026-04-02", "reason": "A guide came bent."}
    assert desk.get(f"/builds/{number}/promises")["items"] == [
        {"id": 1, "promised_on": "2026-04-02", "was_on": None, "reason": "", **said},
        {"id": 2, **moved, **said},
    ]  # fmt: skip
    assert desk.get(f"/builds/{number}/promises", limit=1)["next"] == "1"
    desk.assert_refused(404, "/builds/26-099/promises", method="GET")
