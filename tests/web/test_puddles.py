"""Touching a puddle: asked on the Cup and on the mix's page when it is due, answered with one tap."""

import re
from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.rules.people import Role
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.web.bench_shop import HTMX, open_bench

SignIn = Callable[[Role], TestClient]
PUDDLE, MIX = "/mixes/1/puddle", "/mixes/1"
ASKED = "Touch the puddle: due now, since"


@pytest.fixture
def mixed(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    """One cup of bond, which sets at 19:00, and the rear grip closed with it."""
    open_bench(hub, hands)
    bench = signed_in(Role.OWNER)
    bench.post("/cup", data={"adhesive_id": "1", "zone_id": "1"})
    assert bench.post(f"{MIX}/cures", data={"build": "26-001", "place": "rear grip"}).status_code == 303
    return bench


def words(page: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))


def test_it_is_asked_for_from_the_set_time_on(mixed: TestClient, hands: Hands) -> None:
    for path in ("/cup", MIX):
        assert "Touch the puddle: due 19:00." in words(mixed.get(path).text)
        assert ASKED not in mixed.get(path).text
    assert 'name="state" value="firm"' not in mixed.get("/cup").text, "not asked before it is due"
    hands.forward(hours=10)
    for path in ("/cup", MIX):
        page = mixed.get(path).text
        assert f"{ASKED} 19:00." in page
        assert re.search(
            r'class="button big[^"]*" type="submit" id="tacky-1" name="state" value="tacky"', page
        )
    assert "26-001: rear grip" in words(mixed.get("/cup").text)


def test_nobody_is_asked_on_the_cup_once_it_is_firm(mixed: TestClient, hands: Hands) -> None:
    hands.forward(hours=10)
    touched = mixed.post(PUDDLE, data={"state": "firm", "back": "cup"})
    assert (touched.status_code, touched.headers["location"]) == (303, "/cup")
    assert "Puddles to touch" not in mixed.get("/cup").text
    assert "need not be touched again. Last found firm, 19:00." in words(mixed.get(MIX).text)


@pytest.mark.parametrize(
    ("second", "seconds", "touches"),
    [("tacky", 0, 1), ("tacky", 29, 1), ("tacky", 30, 2), ("firm", 1, 2)],
)
def test_the_same_tap_twice_is_one_touch(
    mixed: TestClient, hands: Hands, second: str, seconds: int, touches: int
) -> None:
    hands.forward(hours=10)
    assert mixed.post(PUDDLE, data={"state": "tacky"}).status_code == 303
    hands.forward(seconds=seconds)
    again = mixed.post(PUDDLE, data={"state": second}, headers=HTMX)
    assert (again.status_code, again.headers["location"]) == (303, MIX)
    record = mixed.get("/builds/26-001").text
    assert record.count("The puddle of the Riverbed was found") == touches


def test_a_tacky_one_is_asked_for_again_later(mixed: TestClient, hands: Hands) -> None:
    hands.forward(hours=10)
    for where, goes_to in (("in-hand", "/"), ("https://elsewhere.example", MIX), ("", MIX)):
        touched = mixed.post(PUDDLE, data={"state": "tacky", "back": where}, headers=HTMX)
        assert (touched.status_code, touched.headers["location"]) == (303, goes_to)
    assert "due 21:30. Last found tacky, 19:00." in words(mixed.get("/cup").text)
    hands.forward(hours=2, minutes=30)
    assert f"{ASKED} 21:30." in mixed.get("/cup").text


def test_what_is_stalled_says_so_and_has_no_time(mixed: TestClient) -> None:
    changed = mixed.post("/ways/zones/1", data={"name": "bench", "assumed_c": "8"})
    assert changed.status_code == 303, changed.text
    for path in ("/cup", MIX):
        assert "Stalled: too cold to set, so there is no time at which to touch it." in mixed.get(path).text


def test_a_mix_that_no_rod_carries_is_not_asked_for(mixed: TestClient) -> None:
    mixed.post("/cup", data={"adhesive_id": "1", "zone_id": "1"})
    assert "No joint of it counts on a rod in hand. Nobody has touched it yet." in words(
        mixed.get("/mixes/2").text
    )
    assert mixed.get("/cup").text.count('class="puddle-row') == 1


@pytest.mark.parametrize("data", [{"state": "gooey"}, {"state": "gooey", "back": "cup"}, {}])
def test_an_answer_that_cannot_be_comes_back(mixed: TestClient, data: dict[str, str]) -> None:
    answer = mixed.post(PUDDLE, data=data)
    assert answer.status_code == 422
    assert "The puddle must be one of firm, tacky." in answer.text


def test_a_puddle_of_no_mix_is_refused(mixed: TestClient) -> None:
    assert mixed.post("/mixes/99/puddle", data={"state": "firm"}).status_code == 404


@pytest.mark.usefixtures("mixed")
def test_a_helper_may_touch_it(signed_in: SignIn) -> None:
    helper = signed_in(Role.HELPER)
    assert helper.post(PUDDLE, data={"state": "firm"}).status_code == 303


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_a_touch_may_be_written_down_late(mixed: TestClient, hands: Hands, headers: dict[str, str]) -> None:
    hands.forward(hours=12)
    assert 'name="at"' in mixed.get(MIX).text
    late = {"state": "tacky", "at": "2026-03-02T19:30"}
    touched = mixed.post(PUDDLE, data=late, headers=headers)
    assert (touched.status_code, touched.headers["location"]) == (303, MIX)
    assert "Last found tacky, 19:30." in words(mixed.get(MIX).text)
    # The last touch counts, not the last one written down.
    mixed.post(PUDDLE, data={"state": "firm", "at": "2026-03-02T19:10"})
    assert "Last found tacky, 19:30." in words(mixed.get(MIX).text)


@pytest.mark.parametrize(
    ("at", "says"),
    [
        ("half past seven", "must be a date and time"),
        ("2026-03-02T21:01", "in the future"),
        ("2026-03-02T08:59", "before it was mixed"),
    ],
)
def test_a_time_that_cannot_be_comes_back_as_typed(
    mixed: TestClient, hands: Hands, at: str, says: str
) -> None:
    hands.forward(hours=12)
    refused = mixed.post(PUDDLE, data={"state": "firm", "at": at})
    assert refused.status_code == 422
    assert f'value="{at}"' in refused.text
    assert 'id="e-at"' in refused.text
    assert says in words(refused.text)
    assert "Nobody has touched it yet." in mixed.get(MIX).text


def test_a_touch_written_down_late_needs_somebody_at_the_bench(mixed: TestClient) -> None:
    mixed.cookies.clear()
    refused = mixed.post(PUDDLE, data={"state": "firm", "at": "2026-03-02T09:00"})
    assert refused.headers["location"].startswith("/sign-in")


def test_the_enter_key_in_the_time_finds_nothing_firm(mixed: TestClient) -> None:
    form = mixed.get(MIX).text.partition('class="actions puddle-answer"')[2].partition("</form>")[0]
    assert "disabled hidden" in form.partition('value="firm"')[0]


def test_the_answers_have_ids_that_stay_when_the_strip_refreshes(mixed: TestClient, hands: Hands) -> None:
    """Whoever stands on a button with the keyboard must stand on the same one after the refresh."""
    hands.forward(hours=10)
    for headers in ({}, HTMX):
        hands.forward(minutes=1)
        page = mixed.get("/", headers=headers).text
        assert [page.count(f'id="{name}"') for name in ("firm-1", "tacky-1")] == [1, 1]
