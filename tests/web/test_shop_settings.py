"""The pages of the shop's figures and of its clock, and the landing page that leads to them."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from fastapi.testclient import TestClient

from shop.app import write_down_doubt
from shop.queries.shop import read_shop
from shop.rules.people import Role
from shop.web.deps import Hub
from tests.conftest import Hands

FIGURES = {
    "shop_name": "The Long Bench",
    "time_zone": "Europe/Lisbon",
    "currency": "usd",
    "credit_cap": "1,5",
    "reading_gap_minutes": "90",
    "version": "1",
}
either_way = pytest.mark.parametrize("headers", [{}, {"hx-request": "true"}], ids=["plain", "htmx"])
AHEAD = "The server&#39;s clock jumped ahead by 60 min; an owner must confirm the time."
CONFIRM = {"doubt": AHEAD.replace("&#39;", "'")}


@pytest.fixture
def owner(signed_in: Callable[[Role], TestClient]) -> TestClient:
    return signed_in(Role.OWNER)


@either_way
def test_the_figures_are_changed(hub: Hub, owner: TestClient, headers: dict[str, str]) -> None:
    answer = owner.post("/ways/shop", data=FIGURES, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/ways/shop")
    with hub.database.reading() as session:
        assert read_shop(session)[:5] == ("The Long Bench", "Europe/Lisbon", "USD", 1.5, 90.0)
    page = owner.get("/ways/shop").text
    assert 'value="1.5"' in page
    assert '<option value="Europe/Lisbon" selected>' in page


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("shop_name", ""),
        ("shop_name", "x" * 81),
        ("time_zone", "Mars/Base"),
        ("time_zone", "../../etc/passwd"),
        ("currency", "euro"),
        ("currency", "€€€"),
        ("credit_cap", "0.99"),
        ("credit_cap", "2.01"),
        ("credit_cap", ""),
        ("credit_cap", "nan"),
        ("reading_gap_minutes", "4"),
        ("reading_gap_minutes", "1441"),
    ],
)
def test_figures_that_cannot_be_come_back(hub: Hub, owner: TestClient, field: str, value: str) -> None:
    with hub.database.reading() as session:
        before = read_shop(session)
    answer = owner.post("/ways/shop", data={**FIGURES, field: value})
    assert answer.status_code == 422
    assert f'id="e-{field}"' in answer.text
    assert answer.text.count('class="error"') == 1
    kept = "currency" if field != "currency" else "shop_name"
    assert f'value="{FIGURES[kept]}"' in answer.text
    with hub.database.reading() as session:
        assert read_shop(session) == before


@pytest.mark.parametrize(("cap", "gap"), [("1", "5"), ("2.0", "1440")])
def test_figures_at_the_limits_are_taken(owner: TestClient, cap: str, gap: str) -> None:
    form = {**FIGURES, "credit_cap": cap, "reading_gap_minutes": gap}
    assert owner.post("/ways/shop", data=form).status_code == 303


def test_figures_that_another_owner_changed_are_not_overwritten(hub: Hub, owner: TestClient) -> None:
    owner.post("/ways/shop", data=FIGURES)
    answer = owner.post("/ways/shop", data={**FIGURES, "shop_name": "The Short Bench"})
    assert answer.status_code == 409
    with hub.database.reading() as session:
        assert read_shop(session).name == "The Long Bench"


def test_only_an_owner_changes_the_figures(signed_in: Callable[[Role], TestClient]) -> None:
    assert signed_in(Role.BUILDER).post("/ways/shop", data=FIGURES).status_code == 403


@pytest.mark.parametrize(
    ("role", "shown"),
    [
        (Role.OWNER, ["sequences", "spine", "zones", "people", "keys", "shop", "clock", "you"]),
        (Role.BUILDER, ["clock", "you"]),
        (Role.HELPER, ["clock", "you"]),
    ],
)
def test_the_landing_page_leads_where_one_may_go(
    signed_in: Callable[[Role], TestClient], role: Role, shown: list[str]
) -> None:
    page = signed_in(role).get("/ways").text
    every = ["sequences", "spine", "zones", "people", "keys", "shop", "clock", "you"]
    assert [name for name in every if f'href="/ways/{name}"' in page] == shown


def jump(hub: Hub, hands: Hands) -> None:
    hands.wall_at += timedelta(hours=1)
    hub.clock.now()
    write_down_doubt(hub)


@either_way
def test_an_owner_confirms_the_time(
    hub: Hub, hands: Hands, owner: TestClient, headers: dict[str, str]
) -> None:
    jump(hub, hands)
    page = owner.get("/ways/clock").text
    assert AHEAD in page
    assert "10:00" in page
    answer = owner.post("/ways/clock", data=CONFIRM, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/ways/clock")
    page = owner.get("/ways/clock").text
    assert "The clock is in doubt" not in page
    assert "owner, 10:00" in page
    assert hub.clock.doubt == ""


def test_a_doubt_from_before_the_restart_is_settled_too(hub: Hub, hands: Hands, owner: TestClient) -> None:
    jump(hub, hands)
    hub.clock.trust()  # as in a process that was started after the jump
    assert owner.post("/ways/clock", data=CONFIRM).status_code == 303
    assert "The clock is in doubt" not in owner.get("/ways").text


def test_a_doubt_that_the_owner_has_not_seen_is_not_settled(
    hub: Hub, hands: Hands, owner: TestClient
) -> None:
    jump(hub, hands)
    answer = owner.post("/ways/clock", data={"doubt": ""})
    assert answer.status_code == 409
    assert "doubted again" in answer.text
    assert hub.clock.doubt != ""


def test_only_an_owner_confirms_the_time(
    hub: Hub, hands: Hands, signed_in: Callable[[Role], TestClient]
) -> None:
    browser = signed_in(Role.BUILDER)
    jump(hub, hands)
    page = browser.get("/ways/clock").text
    assert AHEAD in page
    assert "The time is right" not in page
    assert browser.post("/ways/clock", data=CONFIRM).status_code == 403
    assert hub.clock.doubt != ""
