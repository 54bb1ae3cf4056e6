"""The page of the shop's rules for the spine: what it shows, saves, refuses, and whom it lets in."""

import re
from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.queries.shop import read_shop
from shop.rules.people import Role
from shop.web.deps import Hub
from tests.web.bench_shop import HTMX

SignIn = Callable[[Role], TestClient]
PATH = "/ways/spine"
USUAL = {
    "casting": "on the mark", "boat": "on the mark", "spinning": "opposite the mark",
    "fly": "opposite the mark", "surf": "opposite the mark",
}  # fmt: skip
TOLD = {**USUAL, "fly": "on the mark", "surf": "ignored", "version": "1"}


@pytest.fixture
def owner(signed_in: SignIn) -> TestClient:
    return signed_in(Role.OWNER)


def shown(page: str) -> dict[str, str]:
    """The rule that stands in each row, by kind of rod."""
    rows = re.findall(r'<select id="f-[^"]+" name="([^"]+)".*?</select>', page, re.DOTALL)
    picked = re.findall(r'<option value="([^"]+)" selected>', page)
    return dict(zip(rows, picked, strict=True))


def kept(hub: Hub) -> dict[str, str]:
    with hub.database.reading() as session:
        return dict(read_shop(session).spine_rules)


def test_every_kind_of_rod_has_a_row_with_what_is_usual_named(owner: TestClient) -> None:
    page = owner.get(PATH).text
    assert shown(page) == USUAL
    assert page.count("Common practice: on the mark.") == 2
    assert page.count("Common practice: opposite the mark.") == 3
    assert "makers of blanks disagree" in page
    assert f'href="{PATH}"' in owner.get("/ways").text


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_the_rules_are_changed(hub: Hub, owner: TestClient, headers: dict[str, str]) -> None:
    answer = owner.post(PATH, data=TOLD, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, PATH)
    assert kept(hub) == {"fly": "on the mark", "surf": "ignored"}
    page = owner.get(PATH).text
    assert shown(page) == {**USUAL, "fly": "on the mark", "surf": "ignored"}
    assert "The rules for the spine are saved." in page
    assert owner.post(PATH, data={**USUAL, "version": "2"}).status_code == 303
    assert kept(hub) == {}


@pytest.mark.parametrize(
    ("field", "value"), [("fly", "sideways"), ("casting", ""), ("version", ""), ("version", "x")]
)
def test_a_rule_that_cannot_be_comes_back_with_the_others_as_chosen(
    hub: Hub, owner: TestClient, field: str, value: str
) -> None:
    answer = owner.post(PATH, data={**TOLD, field: value})
    assert answer.status_code == 422
    assert f'href="#f-{field}"' in answer.text
    assert (f'id="e-{field}"' in answer.text) is (field != "version")
    assert '<option value="ignored" selected>' in answer.text
    assert kept(hub) == {}


def test_rules_that_another_owner_changed_are_not_overwritten(hub: Hub, owner: TestClient) -> None:
    owner.post(PATH, data=TOLD)
    answer = owner.post(PATH, data={**USUAL, "boat": "ignored", "version": "1"})
    assert (answer.status_code, "Somebody else changed" in answer.text) == (409, True)
    assert shown(answer.text) == {**USUAL, "boat": "ignored"}
    assert kept(hub) == {"fly": "on the mark", "surf": "ignored"}


@pytest.mark.parametrize("role", [Role.BUILDER, Role.HELPER])
def test_only_an_owner_sees_and_changes_the_rules(hub: Hub, signed_in: SignIn, role: Role) -> None:
    browser = signed_in(role)
    assert browser.get(PATH).status_code == 403
    assert browser.post(PATH, data=TOLD).status_code == 403
    assert kept(hub) == {}


def test_nobody_signed_in_is_sent_to_sign_in(client: TestClient) -> None:
    assert client.get(PATH).status_code == 303
    assert client.post(PATH, data=TOLD).status_code == 303
