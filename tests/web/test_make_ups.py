"""The make-up's page: laying a rod down, rows as typed, trains of guides, revisions, refusals."""

import re
from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.rules.people import Role
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.make_up_shop import NUMBER, fill_for_make_ups
from tests.web.bench_shop import HTMX

PAGE = f"/builds/{NUMBER}/make-up"
SignIn = Callable[[Role], TestClient]
Fields = dict[str, str | list[str]]


@pytest.fixture
def shop(hub: Hub, hands: Hands) -> Hub:
    with hub.database.writing(hands.wall_at) as session:
        fill_for_make_ups(session, hands.wall_at)
    return hub


@pytest.fixture
def people(shop: Hub, signed_in: SignIn) -> SignIn:
    """Signs in at the filled shop."""
    assert shop.database.embedded
    return signed_in


@pytest.fixture
def desk(people: SignIn) -> TestClient:
    return people(Role.BUILDER)


def whole(**changes: str | list[str]) -> Fields:
    """The form of a whole rod as a browser sends it, with spare rows."""
    return {
        "revision": "0",
        "part_place": ["rear grip", "reel seat", "fore grip", "butt cap", ""],
        "part_component": ["1", "2", "3", "", ""],
        "part_from_butt": ["1/2 in", "9 1/2 in", "14 in", "", ""],
        "part_to_butt": ["9 1/2 in", "14 in", "16 1/2 in", "", ""],
        "guide_from_tip": ["4 in", "18 1/2 in", "52 in", ""],
        "guide_component": ["4", "4", "4", ""],
        "bond_id": "1",
        "finish_id": "2",
        **changes,
    }


def error(page: str, key: str) -> str:
    """The sentence beside a field; empty where there is none."""
    found = re.search(rf'id="e-{re.escape(key)}">(?:<svg.*?</svg> )?([^<]+)', page)
    return found.group(1) if found else ""


def value(page: str, key: str) -> str:
    found = re.search(rf'id="f-{re.escape(key)}"[^>]*? value="([^"]*)"', page)
    assert found, key
    return found.group(1)


def test_an_empty_make_up_offers_the_usual_places(desk: TestClient) -> None:
    page = desk.get(PAGE)
    assert page.status_code == 200
    assert "Nothing is laid down yet." in page.text
    assert 'value="rear grip"' in page.text
    assert "Keep as revision 1" in page.text


def test_a_plain_form_keeps_a_revision_and_shows_its_figures(desk: TestClient) -> None:
    answer = desk.post(PAGE, data=whole())
    assert (answer.status_code, answer.headers["location"]) == (303, PAGE)
    page = desk.get(PAGE).text
    assert "Revision 1 of the make-up is kept." in page
    assert "9 13/32 in (238.92 mm)" in page  # 9 in with a shoulder of 13/32 in
    assert "use an arbor" in page
    assert "Keep as revision 2" in page


def test_what_was_measured_stands_beside_what_is_meant(desk: TestClient) -> None:
    desk.post(PAGE, data=whole())
    rod = f"/builds/{NUMBER}"
    desk.post(f"{rod}/advance", data={"to": "agreed"})
    asked = desk.get(rod).text
    assert "meant: 9 13/32 in (238.91875 mm) ± 1/32 in (0.79375 mm)" in asked
    assert "9 13/32 in (238.92 mm)" in asked  # among the figures of the stage, with the way to the sum
    held = desk.post(f"{rod}/advance", data={"to": "fitted", "measure-rear grip length": "9 in"})
    assert held.status_code == 409
    assert "“rear grip length” measures 9 in" in held.text
    desk.post(f"{rod}/note", data={"to": "fitted", "measure-rear grip length": "9 in"})
    assert "measured 9 in (228.6 mm), <strong>out of tolerance</strong>" in desk.get(PAGE).text
    desk.post(f"{rod}/advance", data={"to": "fitted", "measure-rear grip length": "9 25/64 in"})
    assert "measured 9 25/64 in (238.521875 mm), <strong>within</strong>" in desk.get(PAGE).text


def test_htmx_posts_end_where_plain_ones_do(desk: TestClient) -> None:
    assert desk.post(PAGE, data=whole(), headers=HTMX).status_code == 303
    assert "Revision 1" in desk.get(PAGE).text


def test_every_figure_that_is_worked_out_links_to_its_sum(desk: TestClient) -> None:
    desk.post(PAGE, data=whole())
    links = set(re.findall(r'href="(/sums/[^"]+)"', desk.get(PAGE).text))
    assert len(links) > 15
    for link in links:
        answer = desk.get(link.replace("&amp;", "&").partition("#")[0])
        assert answer.status_code == 200, link


def test_what_was_kept_comes_back_into_the_form(desk: TestClient) -> None:
    desk.post(PAGE, data=whole(tape="0.006 in", minutes_a_wrap="2"))
    page = desk.get(PAGE).text
    assert value(page, "parts.2.from_butt") == "9 1/2 in"
    assert value(page, "guides.2.from_tip") == "18 1/2 in"
    assert value(page, "tape") == "0.006 in"
    assert value(page, "minutes_a_wrap") == "2"
    assert re.search(r'<option value="2" selected>Casting seat', page)


@pytest.mark.parametrize(
    ("changes", "key", "words"),
    [
        ({"part_from_butt": ["1/2", "9 1/2 in", "14 in", "", ""]}, "parts.1.from_butt", "has no unit"),
        ({"part_from_butt": ["", "9 1/2 in", "14 in", "", ""]}, "parts.1.from_butt", "Say where the rear"),
        ({"part_component": ["", "2", "3", "", ""]}, "parts.1.component", "choose the part"),
        ({"part_component": ["99", "2", "3", "", ""]}, "parts.1.component", "choose another"),
        ({"part_component": ["x", "2", "3", "", ""]}, "parts.1.component", "one of the list"),
        ({"part_place": ["", "reel seat", "fore grip", "", ""]}, "parts.1.place", "which place"),
        ({"part_to_butt": ["9 3/4 in", "14 in", "16 1/2 in", "", ""]}, "parts.2.from_butt", "still lies"),
        ({"guide_from_tip": ["18 in", "4 in", "52 in", ""]}, "guides.2.from_tip", "out of order"),
        ({"guide_from_tip": ["", "18 in", "52 in", ""]}, "guides.1.from_tip", "Say where guide 1"),
        ({"guide_component": ["0", "4", "4", ""]}, "guides.1.component", "one of the list"),
        ({"bond_id": "77"}, "bond_id", "choose another"),
        ({"tape": "thick"}, "tape", "unit that is not known"),
        ({"thread": "-1 in"}, "thread", "more than nothing"),
        ({"finish_id": "1"}, "finish_id", "not on file as a wrap finish"),
        ({"guide_component": ["2", "4", "4", ""]}, "guides.1.component", "Here a guide stands"),
        ({"light_load": "-3"}, "light_load", "between"),
        ({"allowance": "many"}, "allowance", "must be a number"),
    ],
)  # fmt: skip
def test_bad_input_is_said_beside_its_cell_and_nothing_typed_is_lost(
    desk: TestClient, changes: Fields, key: str, words: str
) -> None:
    answer = desk.post(PAGE, data=whole(reason="a longer handle", **changes))
    assert answer.status_code == 422
    assert words in error(answer.text, key)
    assert "a longer handle" in answer.text
    assert 'value="16 1/2 in"' in answer.text
    assert "Nothing is laid down yet." in desk.get(PAGE).text


def test_more_rows_keep_what_is_typed_and_save_nothing(desk: TestClient) -> None:
    answer = desk.post(PAGE, data=whole(what="more"))
    assert answer.status_code == 200
    assert value(answer.text, "parts.3.to_butt") == "16 1/2 in"
    assert answer.text.count('name="part_place"') == 3 + 3
    assert "Nothing is laid down yet." in desk.get(PAGE).text


def test_a_train_is_put_into_the_rows_and_lands_exactly(desk: TestClient) -> None:
    train = {"what": "fill", "train_count": "9", "train_first": "4 in", "train_last": "52 in"}
    page = desk.post(PAGE, data=whole(**train)).text
    # Published progression, worked by hand: d = 4/9 in.
    places = [value(page, f"guides.{number}.from_tip") for number in range(1, 10)]
    assert places == [
        "4 in", "8 7/16 in", "13 21/64 in", "18 43/64 in", "24 7/16 in", "30 43/64 in", "37 21/64 in",
        "44 7/16 in", "52 in",
    ]  # fmt: skip
    assert (
        page.count('<option value="4" selected>') == 3
    )  # the three guides that were chosen keep their order
    assert "Nothing is laid down yet." in desk.get(PAGE).text


def test_the_tip_top_keeps_its_row_when_a_train_is_spaced(desk: TestClient) -> None:
    rows = {"guide_from_tip": ["0 in", "5 in"], "guide_component": ["4", ""]}
    train = {"what": "fill", "train_count": "2", "train_first": "4 in", "train_last": "52 in"}
    page = desk.post(PAGE, data=whole(**rows, **train)).text
    assert [value(page, f"guides.{n}.from_tip") for n in (1, 2, 3)] == ["0 in", "4 in", "52 in"]


@pytest.mark.parametrize(
    ("train", "key", "words"),
    [
        ({"train_count": "", "train_first": "4 in", "train_last": "52 in"}, "train_count", "missing"),
        ({"train_count": "9", "train_first": "4", "train_last": "52 in"}, "train_first", "no unit"),
        ({"train_count": "9", "train_first": "4 in", "train_last": "30 in"}, "train_first", "shrink"),
    ],
)
def test_a_train_that_cannot_be_says_why(desk: TestClient, train: Fields, key: str, words: str) -> None:
    answer = desk.post(PAGE, data=whole(what="fill", **train))
    assert answer.status_code == 422
    assert words in error(answer.text, key)
    assert value(answer.text, "guides.2.from_tip") == "18 1/2 in"


def test_somebody_else_who_saved_first_is_not_overwritten(desk: TestClient) -> None:
    desk.post(PAGE, data=whole())
    late = desk.post(PAGE, data=whole(guide_from_tip=["5 in", "", "", ""], guide_component=["4", "", "", ""]))
    assert late.status_code == 409
    assert "Somebody has saved revision 1" in late.text
    assert 'value="5 in"' in late.text


def test_earlier_revisions_stay_to_be_looked_at(desk: TestClient) -> None:
    desk.post(PAGE, data=whole())
    fewer: Fields = {"guide_from_tip": ["4 in", "52 in"], "guide_component": ["4", "4"]}
    desk.post(PAGE, data=whole(revision="1", reason="one guide fewer", **fewer))
    page = desk.get(PAGE).text
    assert "one guide fewer" in page
    earlier = desk.get(f"{PAGE}?revision=1").text
    assert "which a later one has replaced" in earlier
    assert "Keep as revision" not in earlier
    assert desk.get(f"{PAGE}?revision=9").status_code == 404
    for no_number_of_one in ("-1", "9" * 30):
        assert desk.get(f"{PAGE}?revision={no_number_of_one}").status_code == 422


def test_a_blank_that_was_measured_again_is_said(desk: TestClient) -> None:
    desk.post(PAGE, data=whole())
    assert "It has changed on file" not in desk.get(PAGE).text
    blank = {"model": "Heron 70", "length": "84 in", "pieces": "1", "mass_g": "63"}
    assert desk.post("/shelf/blanks/1", data=blank).status_code == 303
    assert "It has changed on file since this revision" in desk.get(PAGE).text


def test_a_helper_sees_the_make_up_and_may_not_change_it(people: SignIn) -> None:
    helper = people(Role.HELPER)
    page = helper.get(PAGE)
    assert page.status_code == 200
    assert "Keep as revision" not in page.text
    assert helper.post(PAGE, data=whole()).status_code == 403


@pytest.mark.usefixtures("shop")
def test_nobody_sees_it_without_signing_in(client: TestClient) -> None:
    assert client.get(PAGE).headers["location"].startswith("/sign-in")


def test_a_rod_that_is_not_on_file(desk: TestClient) -> None:
    assert desk.get("/builds/26-999/make-up").status_code == 404
    assert desk.post("/builds/26-999/make-up", data=whole()).status_code == 404
