"""The care sheet under Ways: begun from ours, kept as the shop's own, and shown to nobody before."""

from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.queries.shop import read_shop
from shop.rules.care_sheet import MOST_CARE, READY_MADE, faults_of_care_sheet
from shop.rules.people import Role
from shop.web.deps import Hub
from tests.web.bench_shop import HTMX

PAGE = "/ways/care-sheet"
OWN = "Rinse it.\r\n\r\nKeep it dry."


@pytest.fixture
def owner(signed_in: Callable[[Role], TestClient]) -> TestClient:
    return signed_in(Role.OWNER)


def care(hub: Hub) -> str:
    with hub.database.reading() as session:
        return read_shop(session).care_sheet


def test_ours_is_offered_and_is_nobodys_before_it_is_kept(owner: TestClient, hub: Hub) -> None:
    page = owner.get(PAGE).text
    assert "The shop has none yet." in page
    assert READY_MADE.splitlines()[0] in page
    assert care(hub) == ""
    assert PAGE in owner.get("/ways").text
    assert faults_of_care_sheet(READY_MADE) == {}
    for words in ("Rinse", "power lines", "closed bag", "eyes"):
        assert words in READY_MADE


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_it_is_kept_as_the_shops_own(owner: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    answer = owner.post(PAGE, data={"care_sheet": OWN, "version": "1"}, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, PAGE)
    assert care(hub) == "Rinse it.\n\nKeep it dry."
    page = owner.get(PAGE).text
    assert "The shop has none yet." not in page
    assert "Keep it dry.</textarea>" in page
    owner.post(PAGE, data={"care_sheet": "", "version": "2"}, headers=headers)
    assert care(hub) == ""


@pytest.mark.parametrize(
    ("said", "status", "words"),
    [
        ({"care_sheet": "x" * (MOST_CARE + 1), "version": "1"}, 422, "5001 characters"),
        ({"care_sheet": "typed with care", "version": ""}, 422, "version"),
        ({"care_sheet": "typed with care", "version": "7"}, 409, "meanwhile"),
    ],
)
def test_what_cannot_be_comes_back_as_typed(
    owner: TestClient, hub: Hub, said: dict[str, str], status: int, words: str
) -> None:
    answer = owner.post(PAGE, data=said)
    assert answer.status_code == status
    assert words in answer.text
    assert f"{said['care_sheet']}</textarea>" in answer.text
    assert care(hub) == ""


def test_only_an_owner_keeps_it(signed_in: Callable[[Role], TestClient]) -> None:
    assert signed_in(Role.BUILDER).post(PAGE, data={"care_sheet": "x", "version": "1"}).status_code == 403


def test_what_another_owner_kept_is_shown_beside_what_was_typed(owner: TestClient, hub: Hub) -> None:
    owner.post(PAGE, data={"care_sheet": "Rinse it.", "version": "1"})
    late = owner.post(PAGE, data={"care_sheet": "typed with care", "version": "1"})
    assert late.status_code == 409
    assert '<div class="said">Rinse it.</div>' in late.text
    assert 'name="version" value="2"' in late.text
    assert owner.post(PAGE, data={"care_sheet": "typed with care", "version": "2"}).status_code == 303
    assert care(hub) == "typed with care"
