"""Signing in and out as a browser does it, being slowed when guessing, and the first run."""

import asyncio
from collections.abc import Callable

import httpx
import pytest
from fastapi.testclient import TestClient
from httpx2 import Response

from shop.app import create_app
from shop.queries.shop import read_shop
from shop.queries.users import list_users
from shop.rules.people import Role
from shop.services.users import add_user
from shop.web.deps import Hub
from tests.conftest import PASSWORD, Hands

FIRST_RUN = {
    "shop_name": "The Long Bench",
    "time_zone": "Europe/Lisbon",
    "currency": "eur",
    "name": "Ruth",
    "password": PASSWORD,
    "again": PASSWORD,
}
WRONG = "do not belong together"


@pytest.fixture
def ruth(hub: Hub, hands: Hands) -> str:
    """Somebody with an account; gives the name."""
    with hub.database.writing(hands.wall_at) as session:
        add_user(session, hub.passwords, now=hands.wall_at, name="Ruth", role=Role.OWNER, password=PASSWORD)
    return "Ruth"


def enter(client: TestClient, name: str, password: str = PASSWORD, **more: str) -> Response:
    return client.post("/sign-in", data={"name": name, "password": password, **more})


@pytest.mark.usefixtures("ruth")
@pytest.mark.parametrize("headers", [{}, {"hx-request": "true"}], ids=["plain", "htmx"])
def test_signing_in_opens_the_shop(client: TestClient, headers: dict[str, str]) -> None:
    client.headers.update(headers)
    answer = enter(client, " rUTH ")
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    kept = answer.headers["set-cookie"]
    assert kept.startswith("tackfree=")
    assert {"HttpOnly", "SameSite=lax", "Path=/"} <= set(kept.split("; "))
    assert "Secure" not in kept
    assert client.get("/ways").status_code == 200


def test_the_cookie_is_secure_where_the_settings_say_so(hub: Hub, ruth: str) -> None:
    hub.settings.secure_cookies = True
    with TestClient(create_app(hub), base_url="https://testserver", follow_redirects=False) as client:
        assert "Secure" in enter(client, ruth).headers["set-cookie"].split("; ")


def test_somebody_who_is_signed_in_goes_straight_on(client: TestClient, ruth: str) -> None:
    enter(client, ruth)
    assert client.get("/sign-in?next=/ways").headers["location"] == "/ways"


@pytest.mark.parametrize(
    ("asked", "led_to"),
    [
        ("/ways/people", "/ways/people"),
        ("/builds/26-014?tab=record", "/builds/26-014?tab=record"),
        ("", "/"),
        ("ways", "/"),
        ("https://elsewhere.example/", "/"),
        ("//elsewhere.example/", "/"),
        ("///elsewhere.example/", "/"),
        ("/\\elsewhere.example/", "/"),
        ("\\\\elsewhere.example/", "/"),
        ("/\t/elsewhere.example/", "/"),
        ("javascript:alert(1)", "/"),
    ],
)
def test_one_is_led_to_a_page_of_this_shop_only(
    client: TestClient, ruth: str, asked: str, led_to: str
) -> None:
    assert enter(client, ruth, next=asked).headers["location"] == led_to


def test_the_page_that_was_asked_for_comes_after_signing_in(client: TestClient) -> None:
    door = client.get("/ways/people").headers["location"]
    assert door == "/sign-in?next=/ways/people"
    assert 'name="next" value="/ways/people"' in client.get(door).text


def test_a_wrong_password_and_a_stranger_are_answered_alike(client: TestClient, ruth: str) -> None:
    answers = [enter(client, ruth, "not the password"), enter(client, "Nobody at all")]
    assert [answer.status_code for answer in answers] == [422, 422]
    assert "set-cookie" not in answers[0].headers
    pages = [
        answer.text.replace(name, "NAME")
        for answer, name in zip(answers, ("Ruth", "Nobody at all"), strict=True)
    ]
    assert pages[0] == pages[1]
    assert WRONG in pages[0]
    assert 'value="NAME"' in pages[0]
    assert "not the password" not in pages[0]


def test_the_sixth_try_is_told_when_to_come_back(client: TestClient, hands: Hands, ruth: str) -> None:
    for _ in range(5):
        assert enter(client, ruth, "not the password").status_code == 422
        hands.forward(seconds=20)
    answer = enter(client, ruth)
    assert answer.status_code == 429
    assert "too many wrong tries; please try again at 09:15." in answer.text
    assert answer.headers["retry-after"] == str(15 * 60 - 100 + 1)
    hands.forward(seconds=15 * 60 - 100)
    assert enter(client, ruth).status_code == 303


def test_a_strangers_name_is_slowed_alike(client: TestClient) -> None:
    statuses = [enter(client, "Nobody").status_code for _ in range(6)]
    assert statuses == [422] * 5 + [429]


def test_an_address_that_tries_many_names_is_slowed(client: TestClient, ruth: str) -> None:
    statuses = [enter(client, f"name {number}").status_code for number in range(20)]
    assert statuses == [422] * 20
    assert enter(client, ruth).status_code == 429


def test_getting_in_wipes_the_slate(client: TestClient, ruth: str) -> None:
    for _ in range(3):
        statuses = [enter(client, ruth, "not the password").status_code for _ in range(4)]
        assert statuses == [422] * 4
        assert enter(client, ruth).status_code == 303


def test_a_crowd_of_guesses_at_once_is_counted(hub: Hub, ruth: str) -> None:
    async def crowd() -> list[int]:
        transport = httpx.ASGITransport(create_app(hub))
        async with httpx.AsyncClient(transport=transport, base_url="https://testserver") as guesser:
            form = {"name": ruth, "password": "not the password"}
            answers = await asyncio.gather(*(guesser.post("/sign-in", data=form) for _ in range(12)))
        return sorted(answer.status_code for answer in answers)

    assert asyncio.run(crowd()) == [422] * 5 + [429] * 7


def test_signing_out_ends_the_session_on_the_server(client: TestClient, ruth: str) -> None:
    enter(client, ruth)
    token = client.cookies["tackfree"]
    answer = client.post("/sign-out")
    assert (answer.status_code, answer.headers["location"]) == (303, "/sign-in")
    assert "tackfree" not in client.cookies
    client.cookies.set("tackfree", token)
    assert client.get("/ways").status_code == 303


def test_signing_in_again_ends_the_session_before(client: TestClient, ruth: str) -> None:
    enter(client, ruth)
    before = client.cookies["tackfree"]
    enter(client, ruth)
    client.cookies.clear()
    client.cookies.set("tackfree", before)
    assert client.get("/ways").status_code == 303


def test_a_session_ends_after_thirty_days(client: TestClient, hands: Hands, ruth: str) -> None:
    enter(client, ruth)
    hands.forward(days=30, seconds=-1)
    assert client.get("/ways").status_code == 200
    hands.forward(seconds=1)
    assert client.get("/ways").status_code == 303


def test_a_form_of_the_shop_asked_by_htmx_is_sent_to_the_door(client: TestClient) -> None:
    answer = client.post("/ways/you/sign-out", headers={"hx-request": "true"})
    assert (answer.status_code, answer.headers["hx-redirect"]) == (204, "/sign-in")


@pytest.mark.parametrize("headers", [{}, {"hx-request": "true"}], ids=["plain", "htmx"])
def test_the_first_run_opens_the_shop_once(hub: Hub, client: TestClient, headers: dict[str, str]) -> None:
    address = f"/first-run/{hub.first_run}"
    assert client.get(address).status_code == 200
    answer = client.post(address, data=FIRST_RUN, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    assert client.get("/ways/people").status_code == 200
    with hub.database.reading() as session:
        shop = read_shop(session)
        assert (shop.name, shop.time_zone, shop.currency) == ("The Long Bench", "Europe/Lisbon", "EUR")
        assert [(user.name, user.role) for user in list_users(session)] == [("Ruth", "owner")]
    assert client.get(address).status_code == 404
    assert client.post(address, data={**FIRST_RUN, "name": "Ida"}).status_code == 404


def test_a_first_run_that_cannot_be_comes_back_as_it_was_typed(hub: Hub, client: TestClient) -> None:
    typed = {**FIRST_RUN, "currency": "Euro", "again": "something else"}
    answer = client.post(f"/first-run/{hub.first_run}", data=typed)
    assert answer.status_code == 422
    assert 'id="e-currency"' in answer.text
    assert 'id="e-again"' in answer.text
    assert 'value="The Long Bench"' in answer.text
    assert '<option value="Europe/Lisbon" selected>' in answer.text
    assert PASSWORD not in answer.text
    with hub.database.reading() as session:
        assert list_users(session) == []
        assert read_shop(session).name != "The Long Bench"


def test_another_address_opens_nothing(client: TestClient) -> None:
    for token in ("x", "é"):
        assert client.get(f"/first-run/{token}").status_code == 404
        assert client.post(f"/first-run/{token}", data=FIRST_RUN).status_code == 404


def test_two_first_runs_posted_at_once_make_one_owner(hub: Hub) -> None:
    async def both() -> list[int]:
        transport = httpx.ASGITransport(create_app(hub))
        async with httpx.AsyncClient(transport=transport, base_url="https://testserver") as browser:
            forms = [{**FIRST_RUN, "name": name} for name in ("Ruth", "Ida")]
            posts = (browser.post(f"/first-run/{hub.first_run}", data=form) for form in forms)
            return sorted(answer.status_code for answer in await asyncio.gather(*posts))

    assert asyncio.run(both()) == [303, 404]
    with hub.database.reading() as session:
        assert len(list_users(session)) == 1


def test_ones_own_password_is_changed_with_the_present_one(
    client: TestClient, signed_in: Callable[[Role], TestClient]
) -> None:
    browser, new = signed_in(Role.HELPER), "another long password"
    form = {"current": PASSWORD, "password": new, "again": new}
    before = client.cookies["tackfree"]
    answer = browser.post("/ways/you/password", data=form)
    assert (answer.status_code, answer.headers["location"]) == (303, "/ways/you")
    client.cookies.clear()
    client.cookies.set("tackfree", before)
    assert client.get("/ways/you").status_code == 303
    assert [enter(client, "helper", password).status_code for password in (PASSWORD, new)] == [422, 303]


@pytest.mark.parametrize(
    ("form", "field"),
    [
        ({"current": "not mine", "password": "x" * 10, "again": "x" * 10}, "current"),
        ({"current": PASSWORD, "password": "short", "again": "short"}, "password"),
        ({"current": PASSWORD, "password": "x" * 10, "again": "y" * 10}, "again"),
    ],
)
def test_a_new_password_of_ones_own_that_cannot_be_comes_back(
    signed_in: Callable[[Role], TestClient], form: dict[str, str], field: str
) -> None:
    answer = signed_in(Role.HELPER).post("/ways/you/password", data=form)
    assert answer.status_code == 422
    assert f'id="e-{field}"' in answer.text


def test_guessing_ones_own_password_is_slowed_too(signed_in: Callable[[Role], TestClient]) -> None:
    browser = signed_in(Role.HELPER)
    form = {"current": "not mine", "password": "x" * 10, "again": "x" * 10}
    for _ in range(5):
        assert "not your present password" in browser.post("/ways/you/password", data=form).text
    assert "too many wrong tries" in browser.post("/ways/you/password", data=form).text


def test_signing_out_everywhere_ends_this_browser_too(signed_in: Callable[[Role], TestClient]) -> None:
    browser = signed_in(Role.HELPER)
    token = browser.cookies["tackfree"]
    assert browser.post("/ways/you/sign-out").headers["location"] == "/sign-in"
    browser.cookies.set("tackfree", token)
    assert browser.get("/ways").status_code == 303
