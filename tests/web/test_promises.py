"""Promises at the desk: moved on the form of the plan with a reason, and listed with the first day beside."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from fastapi.testclient import TestClient

from shop.queries.builds import build_record, build_view
from shop.queries.promises import promises_of_build
from shop.rules.people import Role
from shop.web.deps import Hub
from tests.api.filled import fill
from tests.conftest import Hands
from tests.web.bench_shop import HTMX, ROD

SignIn = Callable[[Role], TestClient]
PLAN = {"customer_id": "1", "title": "7 ft casting", "sequence_id": "1", "thread_colour": "#1f4e7a"}
EDIT = f"{ROD}/edit"
MOVED = {**PLAN, "promised_on": "2026-04-09", "promise_reason": "A guide came bent."}


@pytest.fixture
def desk(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    """An owner at the desk, and one rod that is promised for 2 April."""
    with hub.database.writing(hands.wall_at) as session:
        fill(session, hands.wall_at)
    client = signed_in(Role.OWNER)
    client.post("/desk/builds/new", data={**PLAN, "promised_on": "2026-04-02"})
    return client


def promised(hub: Hub) -> list[tuple[str, str, str]]:
    with hub.database.reading() as session:
        rows = promises_of_build(session, build_view(session, "26-001").id)
    return [(str(row.promised_on), row.reason, row.by) for row in rows]


FIRST = ("2026-04-02", "", "owner")


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_a_promise_is_moved_with_its_reason(desk: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    answer = desk.post(EDIT, data={**MOVED, "change_by": "2026-03-20"}, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, ROD)
    assert promised(hub) == [FIRST, ("2026-04-09", "A guide came bent.", "owner")]
    rod = desk.get(ROD).text
    assert "Promised later: from Thursday 2 April 2026 to Thursday 9 April 2026. A guide came bent." in rod
    form = desk.get(EDIT).text
    assert 'name="change_by" value="2026-03-20"' in form
    assert 'name="promise_reason" value=""' in form
    assert "Thu 9 Apr · first promised Thu 2 Apr" in desk.get("/desk").text


@pytest.mark.parametrize(
    ("said", "status", "words"),
    [
        ({"promise_reason": ""}, 422, "A promise that moves needs a reason"),
        ({"promise_reason": "x" * 301}, 422, "301 characters"),
        ({"promised_on": "2026-04-02", "promise_reason": "For nothing."}, 422, "stays as it is"),
        ({"promised_on": "", "promise_reason": ""}, 422, "A promise that moves needs a reason"),
        ({"change_by": "soon"}, 422, "must be a day"),
    ],
)
def test_what_cannot_be_comes_back_as_typed(
    desk: TestClient, hub: Hub, said: dict[str, str], status: int, words: str
) -> None:
    answer = desk.post(EDIT, data={**MOVED, "notes": "typed with care", **said})
    assert answer.status_code == status
    assert words in answer.text
    assert "typed with care</textarea>" in answer.text
    for name, value in said.items():
        assert f'name="{name}" value="{value}"' in answer.text
    assert promised(hub) == [FIRST]


def test_a_closed_build_is_promised_no_more(desk: TestClient, hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        build_record(session, "26-001").closed_at = hands.wall_at
    answer = desk.post(EDIT, data=MOVED)
    assert answer.status_code == 409
    assert "nothing is promised for it any more" in answer.text
    assert 'name="promise_reason" value="A guide came bent."' in answer.text
    assert promised(hub) == [FIRST]
    # The rest of the plan may still be put right.
    assert desk.post(EDIT, data={**PLAN, "promised_on": "2026-04-02", "title": "8 ft"}).status_code == 303


def test_promises_that_moved_and_those_that_were_kept(
    desk: TestClient, hub: Hub, hands: Hands, signed_in: SignIn
) -> None:
    page = desk.get("/desk/promises").text
    assert "Every open build is promised for the day" in page
    assert "No rod with a promise has been handed over since the beginning of 2025." in page
    desk.post(EDIT, data=MOVED)
    page = desk.get("/desk/promises").text
    for words in ("Thu 2 Apr", "Thu 9 Apr · slipped", "once", "A guide came bent.", f'href="{ROD}"'):
        assert words in page
    desk.post(EDIT, data={**MOVED, "promised_on": "", "promise_reason": "No blank."})
    page = desk.get("/desk/promises").text
    for words in ("taken back · slipped", "2 times", "No blank."):
        assert words in page
    desk.post(EDIT, data={**PLAN, "promised_on": "2026-04-09"})
    with hub.database.writing(hands.wall_at) as session:
        build_record(session, "26-001").closed_at = hands.wall_at + timedelta(days=34)
    page = desk.get("/desk/promises").text
    assert ("0 of 1" in page, "1 of 1" in page, ROD in page) == (True, True, False)
    assert signed_in(Role.HELPER).get("/desk/promises").status_code == 200
