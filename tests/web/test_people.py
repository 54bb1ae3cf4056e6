"""The owner's pages of people: each post plain, by htmx, with a fault, and refused."""

from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.queries.users import UserView, list_users
from shop.rules.people import Role
from shop.services.users import add_user, start_session
from shop.web.deps import Hub
from tests.conftest import PASSWORD, Hands

NEW = {"name": "Ida", "role": "builder", "password": PASSWORD, "again": PASSWORD}
either_way = pytest.mark.parametrize("headers", [{}, {"hx-request": "true"}], ids=["plain", "htmx"])


@pytest.fixture
def owner(signed_in: Callable[[Role], TestClient]) -> TestClient:
    return signed_in(Role.OWNER)


@pytest.fixture
def ida(hub: Hub, hands: Hands) -> int:
    """Somebody to change, signed in with the token `idas`; gives the id."""
    with hub.database.writing(hands.wall_at) as session:
        user = add_user(
            session, hub.passwords, now=hands.wall_at, name="Ida", role=Role.HELPER, password=PASSWORD
        )
        start_session(session, now=hands.wall_at, user_id=user.id, token_hash="idas")
        return user.id


def person(hub: Hub, name: str) -> UserView:
    with hub.database.reading() as session:
        return next(user for user in list_users(session) if user.name == name)


@either_way
def test_somebody_new_is_added(hub: Hub, owner: TestClient, headers: dict[str, str]) -> None:
    answer = owner.post("/ways/people", data=NEW, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/ways/people")
    assert person(hub, "Ida").role == "builder"
    page = owner.get("/ways/people").text
    assert "Ida can sign in now, as builder." in page
    assert "Ida can sign in now" not in owner.get("/ways/people").text


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"name": ""}, "name"),
        ({"name": "Owner"}, "name"),
        ({"role": "king"}, "role"),
        ({"password": "short", "again": "short"}, "password"),
        ({"again": "something else"}, "again"),
    ],
)
def test_somebody_who_cannot_be_added_comes_back(
    hub: Hub, owner: TestClient, change: dict[str, str], field: str
) -> None:
    typed = {**NEW, **change}
    answer = owner.post("/ways/people", data=typed)
    assert answer.status_code == 422
    assert f'id="e-{field}"' in answer.text
    assert f'value="{typed["name"]}"' in answer.text
    assert PASSWORD not in answer.text
    with hub.database.reading() as session:
        assert [user.name for user in list_users(session)] == ["owner"]


@either_way
def test_a_role_is_changed(hub: Hub, owner: TestClient, ida: int, headers: dict[str, str]) -> None:
    form = {"role": "builder", "version": "1"}
    answer = owner.post(f"/ways/people/{ida}/role", data=form, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, f"/ways/people/{ida}")
    assert person(hub, "Ida").role == "builder"


@pytest.mark.parametrize("form", [{"role": "king", "version": "1"}, {"version": "1"}, {"role": "owner"}])
def test_a_role_that_cannot_be_comes_back(
    hub: Hub, owner: TestClient, ida: int, form: dict[str, str]
) -> None:
    assert owner.post(f"/ways/people/{ida}/role", data=form).status_code == 422
    assert person(hub, "Ida").role == "helper"


def test_an_account_that_another_owner_changed_is_not_overwritten(
    hub: Hub, owner: TestClient, ida: int
) -> None:
    owner.post(f"/ways/people/{ida}/role", data={"role": "builder", "version": "1"})
    for path, form in (("role", {"role": "owner", "version": "1"}), ("end", {"version": "1"})):
        answer = owner.post(f"/ways/people/{ida}/{path}", data=form)
        assert answer.status_code == 409
        assert "Somebody else changed Ida meanwhile" in answer.text
    assert person(hub, "Ida").role == "builder"


@pytest.mark.parametrize(
    ("path", "form"), [("role", {"role": "builder", "version": "1"}), ("end", {"version": "1"})]
)
def test_the_only_owner_stays(hub: Hub, owner: TestClient, path: str, form: dict[str, str]) -> None:
    me = person(hub, "owner")
    answer = owner.post(f"/ways/people/{me.id}/{path}", data=form)
    assert answer.status_code == 422
    assert "owner is the only owner; make somebody else an owner first." in answer.text
    assert person(hub, "owner") == me


@either_way
def test_a_new_password_signs_the_person_out(owner: TestClient, ida: int, headers: dict[str, str]) -> None:
    assert "in 1 browser" in owner.get(f"/ways/people/{ida}").text
    new = "another long password"
    form = {"password": new, "again": new}
    answer = owner.post(f"/ways/people/{ida}/password", data=form, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, f"/ways/people/{ida}")
    assert "nowhere" in owner.get(f"/ways/people/{ida}").text
    owner.cookies.clear()
    statuses = [
        owner.post("/sign-in", data={"name": "Ida", "password": password}).status_code
        for password in (PASSWORD, new)
    ]
    assert statuses == [422, 303]


@pytest.mark.parametrize(
    ("form", "field"),
    [({"password": "short", "again": "short"}, "password"), ({"password": PASSWORD, "again": "x"}, "again")],
)
def test_a_new_password_that_cannot_be_comes_back(
    owner: TestClient, ida: int, form: dict[str, str], field: str
) -> None:
    answer = owner.post(f"/ways/people/{ida}/password", data=form)
    assert answer.status_code == 422
    assert f'id="e-{field}"' in answer.text
    assert "in 1 browser" in answer.text


@either_way
def test_an_owner_signs_somebody_out(owner: TestClient, ida: int, headers: dict[str, str]) -> None:
    answer = owner.post(f"/ways/people/{ida}/sign-out", headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, f"/ways/people/{ida}")
    page = owner.get(f"/ways/people/{ida}").text
    assert "Ida is signed out everywhere." in page
    assert "nowhere" in page


@either_way
def test_an_account_is_ended_and_kept_on_the_list(
    owner: TestClient, ida: int, headers: dict[str, str]
) -> None:
    answer = owner.post(f"/ways/people/{ida}/end", data={"version": "1"}, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/ways/people")
    assert "ended Mon 2 Mar" in owner.get("/ways/people").text
    assert f'action="/ways/people/{ida}/' not in owner.get(f"/ways/people/{ida}").text
    owner.cookies.clear()
    assert owner.post("/sign-in", data={"name": "Ida", "password": PASSWORD}).status_code == 422


def test_somebody_unknown_is_not_on_file(owner: TestClient) -> None:
    assert owner.get("/ways/people/99").status_code == 404
    for path in ("role", "password", "sign-out", "end"):
        assert owner.post(f"/ways/people/99/{path}", data={"version": "1"}).status_code == 404


@pytest.mark.parametrize("path", ["", "/1/role", "/1/password", "/1/sign-out", "/1/end"])
def test_only_an_owner_keeps_the_people(signed_in: Callable[[Role], TestClient], path: str) -> None:
    answer = signed_in(Role.BUILDER).post(f"/ways/people{path}", data=NEW)
    assert answer.status_code == 403
    assert "it takes the role owner" in answer.text
