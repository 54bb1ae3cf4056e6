"""The page of the shop's hours: what it shows, saves, refuses, and whom it lets in."""

from collections.abc import Callable
from datetime import date, time

import pytest
from fastapi.testclient import TestClient

from shop.queries.shop import read_shop
from shop.rules.hours import Hours
from shop.rules.people import Role
from shop.web.deps import Hub
from tests.web.bench_shop import HTMX

SignIn = Callable[[Role], TestClient]
PATH = "/ways/hours"
TOLD = {
    "monday": "8:00 to 17:00", "tuesday": "8.30-16:00", "wednesday": "", "thursday": "",
    "friday": "7:00 – 12:00", "saturday": "", "sunday": "", "closed_on": "2026-12-25, 2026-12-24",
    "version": "1",
}  # fmt: skip


@pytest.fixture
def owner(signed_in: SignIn) -> TestClient:
    return signed_in(Role.OWNER)


def kept(hub: Hub) -> Hours:
    with hub.database.reading() as session:
        return read_shop(session).hours


def test_a_new_shop_is_there_on_weekdays_until_it_says_otherwise(owner: TestClient) -> None:
    page = owner.get(PATH).text
    assert page.count('value="08:00 to 17:00"') == 5
    assert f'href="{PATH}"' in owner.get("/ways").text


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_the_hours_are_changed(hub: Hub, owner: TestClient, headers: dict[str, str]) -> None:
    answer = owner.post(PATH, data=TOLD, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, PATH)
    week = ((time(8), time(17)), (time(8, 30), time(16)), None, None, (time(7), time(12)), None, None)
    assert kept(hub) == Hours(week, frozenset({date(2026, 12, 24), date(2026, 12, 25)}))
    page = owner.get(PATH).text
    assert 'value="08:30 to 16:00"' in page
    assert "2026-12-24\n2026-12-25" in page


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("monday", "all day", "“all day” is no span of a day"),
        ("tuesday", "25:00 to 26:00", "is no span of a day"),
        ("friday", "17:00 to 8:00", "closes at 08:00, before it opens"),
        ("closed_on", "Christmas", "“Christmas” is not a day"),
    ],
)
def test_hours_that_cannot_be_come_back_as_typed(
    hub: Hub, owner: TestClient, field: str, value: str, sentence: str
) -> None:
    before = kept(hub)
    answer = owner.post(PATH, data={**TOLD, field: value})
    assert answer.status_code == 422
    assert f'id="e-{field}"' in answer.text
    assert sentence in answer.text
    assert value in answer.text
    assert kept(hub) == before


def test_hours_that_another_owner_changed_are_not_overwritten(hub: Hub, owner: TestClient) -> None:
    owner.post(PATH, data=TOLD)
    stood = kept(hub)
    answer = owner.post(PATH, data={**TOLD, "sunday": "9:00 to 10:00"})
    assert (answer.status_code, "Somebody else changed" in answer.text) == (409, True)
    assert 'value="9:00 to 10:00"' in answer.text
    assert kept(hub) == stood


@pytest.mark.parametrize("role", [Role.BUILDER, Role.HELPER])
def test_only_an_owner_sees_and_changes_the_hours(hub: Hub, signed_in: SignIn, role: Role) -> None:
    browser, before = signed_in(role), kept(hub)
    assert browser.get(PATH).status_code == 403
    assert browser.post(PATH, data=TOLD).status_code == 403
    assert kept(hub) == before
