"""Kept pages: the same page until something changes, never somebody else's, and 304 to who has it."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from fastapi.testclient import TestClient

from shop.rules.people import Role
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.web.bench_shop import HTMX, ROD, open_bench

SignIn = Callable[[Role], TestClient]


@pytest.fixture
def bench(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    open_bench(hub, hands)
    return signed_in(Role.OWNER)


def tag(client: TestClient, path: str = "/") -> str:
    """The page's entity tag."""
    answer = client.get(path)
    assert answer.status_code == 200
    return str(answer.headers["etag"])


def test_who_has_the_page_is_told_so_until_the_minute_or_the_shop_changes(
    bench: TestClient, hands: Hands
) -> None:
    first = tag(bench)
    assert bench.get("/", headers={"if-none-match": first}).status_code == 304
    bench.post(f"{ROD}/advance", data={"to": "agreed"})
    bench.get(ROD)
    changed = bench.get("/", headers={"if-none-match": first})
    assert changed.status_code == 200
    second = changed.headers["etag"]
    assert bench.get("/", headers={"if-none-match": second}).status_code == 304
    hands.forward(minutes=1)
    assert bench.get("/", headers={"if-none-match": second}).status_code == 200


def test_a_kept_page_is_byte_for_byte_the_page(bench: TestClient) -> None:
    first, again = bench.get(ROD), bench.get(ROD)
    assert first.text == again.text
    assert dict(first.headers) == dict(again.headers)
    assert bench.get("/", headers=HTMX).text != bench.get("/").text


@pytest.mark.parametrize("header", ["hx-boosted", "hx-history-restore-request"])
def test_a_boosted_link_and_the_way_back_get_the_whole_page(bench: TestClient, header: str) -> None:
    assert bench.get("/", headers={**HTMX, header: "true"}).text == bench.get("/").text


def test_every_answer_says_that_page_and_part_differ_by_htmxs_headers(bench: TestClient) -> None:
    """Else the browser's Back shows the part that was fetched last from this address, bare."""
    for path in ("/", "/setting", "/shelf"):
        for headers in ({}, HTMX):
            answers = [bench.get(path, headers=headers), bench.get(path, headers=headers)]
            if path != "/shelf":
                answers.append(
                    bench.get(path, headers={**headers, "if-none-match": answers[0].headers["etag"]})
                )
                assert answers[-1].status_code == 304
            for answer in answers:
                said = {name.strip().lower() for name in answer.headers["vary"].split(",")}
                assert said >= {"hx-request", "hx-boosted", "hx-history-restore-request"}


def test_nobody_gets_a_page_that_was_made_for_another(bench: TestClient, signed_in: SignIn) -> None:
    bench.post(f"{ROD}/advance", data={"to": "agreed"})
    bench.get(ROD)
    owners = bench.get(ROD).text
    assert "Send this rod back" in owners
    helpers = signed_in(Role.HELPER).get(ROD).text
    assert "Send this rod back" not in helpers
    bench.cookies.clear()
    assert bench.get(ROD).status_code == 303


def test_signing_out_ends_the_kept_page_too(bench: TestClient) -> None:
    token = bench.cookies["tackfree"]
    assert bench.get("/").status_code == 200
    assert bench.post("/sign-out").status_code == 303
    bench.cookies.set("tackfree", token)
    assert bench.get("/").status_code == 303


def test_a_session_that_runs_out_ends_the_kept_page(bench: TestClient, hands: Hands) -> None:
    assert bench.get("/").status_code == 200
    hands.forward(days=31)
    assert bench.get("/").status_code == 303


def test_a_clock_in_doubt_shows_at_once(bench: TestClient, hands: Hands) -> None:
    assert "confirm the time" not in bench.get("/").text
    hands.wall_at += timedelta(minutes=3)
    assert "confirm the time" in bench.get("/").text


def test_a_notice_is_shown_once(bench: TestClient) -> None:
    bench.get(ROD)
    bench.post(f"{ROD}/advance", data={"to": "agreed"})
    assert "Logged: agreed." in bench.get(ROD).text
    assert "Logged: agreed." not in bench.get(ROD).text
