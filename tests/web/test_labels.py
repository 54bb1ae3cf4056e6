"""Labels: choosing builds, the sheet with one label each, and what is refused."""

import re
from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.outside.codes import qr_code
from shop.rules.people import Role
from shop.web.deps import Hub
from shop.web.labels import Label, sheets_of
from tests.conftest import Hands
from tests.web.laid_down import CASTING, FLY, SPINNING, open_bench
from tests.web.test_ticket import read_code

SignIn = Callable[[Role], TestClient]
SHEET = "/labels/sheet"
WHOLE = {"paper": "a4", "start": "1"}


@pytest.fixture
def helper(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    open_bench(hub, hands, laid_down=False)
    return signed_in(Role.HELPER)


def numbers(page: str) -> list[str]:
    return re.findall(r'class="label-number">([^<]+)', page)


def test_open_builds_are_offered_and_those_the_address_names_are_chosen(helper: TestClient) -> None:
    page = helper.get("/labels", params={"numbers": FLY}).text
    assert re.findall(r'name="numbers" value="([^"]+)"', page) == [CASTING, SPINNING, FLY]
    assert re.findall(r'value="([^"]+)" checked', page) == [FLY, "a4"]
    assert "Ada T., 7 ft casting, jerkbaits" in page
    assert "Thorn" not in page


def test_each_chosen_build_has_one_label_with_its_code(helper: TestClient) -> None:
    asked = {**WHOLE, "numbers": [SPINNING, CASTING, CASTING]}
    page = helper.get(SHEET, params=asked).text
    assert numbers(page) == [CASTING, SPINNING]
    assert read_code(page) == [f"https://testserver/builds/{CASTING}"]
    assert "Ada T." in page
    assert "Thorn" not in page
    assert '<body class="labels labels-a4">' in page


def test_labels_used_already_are_left_empty(helper: TestClient) -> None:
    page = helper.get(SHEET, params={"paper": "letter", "start": "5", "numbers": [FLY]}).text
    assert page.count('class="label used"') == 4
    assert page.index('class="label used"') < page.index('class="label-number"')


@pytest.mark.parametrize(("paper", "a_sheet"), [("a4", 24), ("letter", 30)])
def test_a_full_sheet_is_followed_by_another(paper: str, a_sheet: int) -> None:
    labels = [Label(f"26-{number:03}", "Ada T.", "rod", qr_code("x")) for number in range(1, a_sheet + 1)]
    assert [len(sheet) for sheet in sheets_of(labels, paper, 1)] == [a_sheet]
    later = sheets_of(labels, paper, a_sheet)
    assert [len(sheet) for sheet in later] == [a_sheet, a_sheet - 1]
    assert later[0][: a_sheet - 1] == [None] * (a_sheet - 1)
    assert later[0][-1] == labels[0]


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({}, "Choose at least one build."),
        ({"numbers": ["26-999"]}, "There is no open build 26-999"),
        ({"numbers": [CASTING], "start": "25"}, "The first free label must lie between 1 and 24."),
        ({"numbers": [CASTING], "start": "0"}, "must lie between 1 and 24."),
        ({"numbers": [CASTING], "start": "two"}, "“two” is not one"),
        ({"numbers": [CASTING], "paper": "a3"}, "The paper must be one of a4, letter."),
    ],
)
def test_what_cannot_be_laid_out_comes_back_as_typed(
    helper: TestClient, asked: dict[str, str | list[str]], says: str
) -> None:
    answer = helper.get(SHEET, params={**WHOLE, **asked})
    assert answer.status_code == 422
    assert says in answer.text
    chosen = re.findall(r'name="numbers" value="([^"]+)" checked', answer.text)
    assert chosen == [number for number in asked.get("numbers", []) if number == CASTING]
    assert f'value="{asked.get("start", "1")}"' in answer.text


def test_the_letter_sheet_has_more_labels(helper: TestClient) -> None:
    asked = {"paper": "letter", "start": "30", "numbers": [CASTING]}
    assert helper.get(SHEET, params=asked).status_code == 200


def test_without_an_open_build_there_is_nothing_to_label(signed_in: SignIn) -> None:
    assert "No build is open" in signed_in(Role.HELPER).get("/labels").text


@pytest.mark.parametrize("path", ["/desk", f"/builds/{CASTING}"])
def test_the_desk_and_the_rod_lead_to_labels(helper: TestClient, path: str) -> None:
    assert 'href="/labels' in helper.get(path).text


@pytest.mark.parametrize("path", ["/labels", f"{SHEET}?numbers={CASTING}"])
def test_whoever_is_not_signed_in_is_sent_to_the_door(client: TestClient, path: str) -> None:
    assert client.get(path).headers["location"].startswith("/sign-in")
