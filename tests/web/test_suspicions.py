"""A suspicion on the mix's page: raised with a ready reason, waited with, settled; and what it holds."""

import re
from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.rules.people import Role
from shop.web.deps import Hub
from tests.conftest import PASSWORD, Hands
from tests.web.bench_shop import HTMX, ROD, open_bench

SignIn = Callable[[Role], TestClient]
MIX = "/mixes/1"
WAIT = {"verdict": "wait", "verdict_reason": "cold night", "wait": "soon"}


@pytest.fixture
def mixed(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    """One cup of bond, with which the rear grip of a rod was closed."""
    open_bench(hub, hands)
    bench = signed_in(Role.OWNER)
    bench.post("/cup", data={"adhesive_id": "1", "zone_id": "1"})
    assert bench.post(f"{MIX}/cures", data={"build": "26-001", "place": "rear grip"}).status_code == 303
    return bench


@pytest.fixture
def doubted(mixed: TestClient) -> TestClient:
    assert mixed.post(f"{MIX}/suspect", data={"suspect_choice": "old bottle"}).status_code == 303
    return mixed


def words(page: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ({"suspect_choice": "measured wrong"}, "measured wrong"),
        ({"suspect_choice": "measured wrong", "suspect_reason": "A twice"}, "measured wrong: A twice"),
        ({"suspect_choice": "other", "suspect_reason": "smells odd"}, "smells odd"),
        ({"suspect_reason": "smells odd"}, "smells odd"),
    ],
)
def test_one_tap_holds_and_lists_every_rod(mixed: TestClient, data: dict[str, str], said: str) -> None:
    answer = mixed.post(f"{MIX}/suspect", data=data, headers=HTMX)
    assert (answer.status_code, answer.headers["location"]) == (303, MIX)
    page = mixed.get(MIX).text
    assert f"Under suspicion: {said}" in page
    assert '<li><a href="/builds/26-001"><span class="rod-number">26-001</span></a> rear grip</li>' in page
    assert "Ada Thorn" not in page, "no customer is named at the bench"
    assert f"under suspicion: {said}" in mixed.get(ROD).text


def test_the_table_of_cups_says_which_is_under_suspicion(mixed: TestClient) -> None:
    assert "under suspicion" not in mixed.get("/cup").text
    mixed.post(f"{MIX}/suspect", data={"suspect_choice": "old bottle"})
    assert "30 min left, under suspicion" in words(mixed.get("/cup").text)


def test_a_tacky_puddle_is_the_ready_reason(mixed: TestClient) -> None:
    assert "checked" not in mixed.get(MIX).text
    mixed.post(f"{MIX}/puddle", data={"state": "tacky"})
    assert re.search(r'value="tacky puddle" checked', mixed.get(MIX).text)


@pytest.mark.parametrize(
    "data", [{}, {"suspect_choice": "other"}, {"suspect_choice": "x" * 41}, {"suspect_reason": "y" * 451}]
)
def test_a_suspicion_that_says_nothing_comes_back_as_typed(mixed: TestClient, data: dict[str, str]) -> None:
    answer = mixed.post(f"{MIX}/suspect", data=data)
    assert answer.status_code == 422
    assert data.get("suspect_reason", "") in answer.text
    assert ('value="other" checked' in answer.text) is (data.get("suspect_choice") == "other")
    assert "Under suspicion" not in mixed.get(MIX).text


def test_a_second_suspicion_is_refused(doubted: TestClient) -> None:
    answer = doubted.post(f"{MIX}/suspect", data={"suspect_choice": "old bottle"})
    assert answer.status_code == 409
    assert "under suspicion already" in answer.text


def test_to_wait_keeps_the_rods_held_and_says_until_when(doubted: TestClient, hands: Hands) -> None:
    answer = doubted.post(f"{MIX}/verdict", data=WAIT, headers=HTMX)
    assert (answer.status_code, answer.headers["location"]) == (303, MIX)
    assert "The verdict so far is to wait; look again at 15:00 ." in words(doubted.get(MIX).text)
    assert "Touch the puddle: due 15:00." in doubted.get(MIX).text
    rod = words(doubted.get(ROD).text)
    assert "old bottle. The verdict so far is to wait; look again at 15:00." in rod
    assert "stays under suspicion; wait, then look again: cold night. To be looked at again 15:00." in rod
    assert "UTC" not in rod
    hands.forward(hours=7)
    assert "Touch the puddle: due now, since 15:00." in doubted.get(MIX).text
    settled = {"verdict": "good", "verdict_reason": "a nail leaves no mark"}
    assert doubted.post(f"{MIX}/verdict", data=settled).status_code == 303
    assert "Under suspicion" not in doubted.get(MIX).text


def open_hours(bench: TestClient, **said: str) -> None:
    """Say the hours of the week; a day not named is closed."""
    days = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
    hours = {"closed_on": "", "version": "1", **dict.fromkeys(days, ""), **said}
    assert bench.post("/ways/hours", data=hours).status_code == 303


def test_to_wait_until_the_shop_opens(doubted: TestClient) -> None:
    assert "when the shop opens, Tue 3 Mar 08:00" in doubted.get(MIX).text
    open_hours(doubted, tuesday="8:30 to 17:00", wednesday="8:30 to 17:00", closed_on="2026-03-03")
    assert "when the shop opens, Wed 4 Mar 08:30" in doubted.get(MIX).text
    assert doubted.post(f"{MIX}/verdict", data={**WAIT, "wait": "opening"}).status_code == 303
    assert "look again at <strong>Wed 4 Mar 08:30</strong>" in doubted.get(MIX).text


def test_a_shop_that_does_not_say_its_hours_has_no_opening_to_wait_for(doubted: TestClient) -> None:
    open_hours(doubted)
    assert "when the shop opens" not in doubted.get(MIX).text
    answer = doubted.post(f"{MIX}/verdict", data={**WAIT, "wait": "opening"})
    assert answer.status_code == 422
    assert "How long to wait must be one of soon, time." in answer.text


def test_to_wait_until_a_time_that_is_typed(doubted: TestClient) -> None:
    typed = {**WAIT, "wait": "time", "recheck_at": "2026-03-03T07:15"}
    assert doubted.post(f"{MIX}/verdict", data=typed).status_code == 303
    assert "look again at <strong>Tue 3 Mar 07:15</strong>" in doubted.get(MIX).text


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"wait": ""}, "How long to wait must be one of"),
        ({"wait": "time"}, "The time to look again is missing"),
        ({"wait": "time", "recheck_at": "soonish"}, "must be a date and time"),
        ({"wait": "time", "recheck_at": "2026-03-02T09:00"}, "Look again at a time to come"),
        ({"verdict_reason": ""}, "The reason is missing"),
        ({"verdict": "maybe"}, "must be one of good, wait, redo"),
    ],
)
def test_a_verdict_that_cannot_be_comes_back_as_typed(
    doubted: TestClient, changes: dict[str, str], says: str
) -> None:
    answer = doubted.post(f"{MIX}/verdict", data={**WAIT, **changes})
    assert answer.status_code == 422
    assert says in answer.text
    typed = {**WAIT, **changes}
    assert typed["verdict_reason"] in answer.text
    assert f'value="{typed.get("recheck_at", "")}"' in answer.text
    assert "Under suspicion" in doubted.get(MIX).text


def test_a_verdict_on_no_suspicion_is_refused(mixed: TestClient) -> None:
    answer = mixed.post(f"{MIX}/verdict", data=WAIT)
    assert answer.status_code == 409
    assert "No suspicion about this mix awaits a verdict." in answer.text
    assert "cold night" not in mixed.get(MIX).text


@pytest.mark.usefixtures("doubted")
def test_only_an_owner_gives_a_verdict(signed_in: SignIn) -> None:
    builder = signed_in(Role.BUILDER)
    assert "An owner's verdict is awaited." in builder.get(MIX).text
    assert builder.post(f"{MIX}/verdict", data=WAIT).status_code == 403
    builder.cookies.clear()
    builder.post("/sign-in", data={"name": "owner", "password": PASSWORD})
    assert builder.post(f"{MIX}/verdict", data=WAIT).status_code == 303
