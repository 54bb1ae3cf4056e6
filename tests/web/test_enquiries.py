"""Enquiries: the list with what each waits for, and one form that takes down customer and rod."""

import re
from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.rules.people import Role
from shop.services.enquiries import take_down_enquiry
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.queries.test_plans import asked
from tests.spec_shop import ENQUIRY, SPEC, UTC, bench_of, open_desk
from tests.web.bench_shop import HTMX
from tests.web.test_specs import error
from tests.web.test_ticket import words

NEW = "/desk/enquiries/new"
SignIn = Callable[[Role], TestClient]
Fields = dict[str, str | list[str]]
MADE = "/builds/26-003"


@pytest.fixture
def people(hub: Hub, hands: Hands, signed_in: SignIn) -> SignIn:
    with hub.database.writing(hands.wall_at) as session:
        open_desk(hub, session, hands.wall_at)
    return signed_in


@pytest.fixture
def desk(people: SignIn) -> TestClient:
    return people(Role.BUILDER)


def whole(**changes: str | list[str]) -> Fields:
    """An enquiry of a new customer as a browser sends it, with spare rows."""
    return {
        "customer_id": "", "name": "Linnea Strand", "email": "linnea@example.org", "phone": "555 0100",
        "title": "7 ft casting, big lures", "rod_kind": "casting", "blank_id": "1", "length_words": "7 ft",
        "row_place": ["rear grip", "reel seat", "fore grip", ""],
        "row_said": ["cork", "casting, size 16", "", ""], "row_length": ["9 1/2 in", "", "", ""],
        "guide_count": "9", "thread_name": "navy, A", "thread_colour": "#1f4e7a", "trim_colour": "#7a1f2b",
        "inscription": "Tight lines", "inscription_again": "Tight lines", "inscription_side": "top",
        "winding_side": "left", "notes": "rings after six", **changes,
    }  # fmt: skip


def test_the_list_says_what_each_waits_for(desk: TestClient) -> None:
    page = desk.get("/desk/enquiries")
    assert 'aria-current="page">Enquiries' in page.text
    assert f"{ENQUIRY} 7 ft casting Ada Thorn casting 09:00 A quote." in words(page.text)
    assert "26-002" not in page.text
    assert ENQUIRY not in desk.get("/desk").text
    assert ENQUIRY not in desk.get("/").text


def test_more_enquiries_ask_for_no_more_statements(desk: TestClient, hub: Hub, hands: Hands) -> None:
    counts = []
    for _ in range(2):
        with asked(hub) as statements:
            assert desk.get("/desk/enquiries").status_code == 200
        counts.append(len([text for text, _ in statements if text.startswith("SELECT")]))
        with hub.database.writing(hands.wall_at) as session:
            bench = bench_of(hub, session, hands.wall_at)
            for _ in range(4):
                take_down_enquiry(session, bench, zone=UTC, customer_id=1, spec=SPEC)
    assert counts[0] == counts[1] > 0


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_an_enquiry_is_taken_down_with_its_customer_in_one_form(
    desk: TestClient, headers: dict[str, str]
) -> None:
    answer = desk.post(NEW, data=whole(), headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, f"{MADE}/spec")
    page = words(desk.get(f"{MADE}/spec").text)
    assert "Enquiry 26-003 is taken down." in page
    assert "7 ft casting, big lures, for Linnea Strand. Revision 1" in page
    assert "“Tight lines”, on the top seen from the butt" in page
    assert "wound on the left, seen from the butt" in page
    # There is no trim, whatever colour stands in its field.
    assert "Threads navy, A Yes." in page
    assert "linnea@example.org" in desk.get("/desk/customers/2").text
    assert "rings after six" in desk.get(f"{MADE}/edit").text
    assert "26-003 7 ft casting, big lures Linnea Strand" in words(desk.get("/desk/enquiries").text)


@pytest.mark.parametrize("who", [{}, {"customer_id": "1", "name": "", "email": "", "phone": ""}])
def test_a_second_press_takes_nothing_further_down(desk: TestClient, hands: Hands, who: Fields) -> None:
    for _ in range(2):
        answer = desk.post(NEW, data=whole(what="order", **who))
        assert (answer.status_code, answer.headers["location"]) == (303, f"{MADE}/spec")
    assert desk.post(NEW, data=whole(**who, title="8 ft casting")).status_code == (303 if who else 422)
    # A pair of the same rod is two rods, once nobody can have pressed twice.
    hands.forward(minutes=2)
    again = desk.post(NEW, data=whole(**who, **({} if who else {"same_name": "on"})))
    assert again.headers["location"] != f"{MADE}/spec"


def test_an_order_is_taken_at_once(desk: TestClient) -> None:
    answer = desk.post(NEW, data=whole(what="order", customer_id="1", name="", email="", phone=""))
    assert answer.headers["location"] == f"{MADE}/spec"
    assert "Order 26-003 is taken down." in desk.get(f"{MADE}/spec").text
    assert "26-003" in desk.get("/desk").text
    assert "26-003" not in desk.get("/desk/enquiries").text
    assert "Linnea" not in desk.get("/desk/customers").text


@pytest.mark.parametrize(
    ("changes", "key", "says"),
    [
        ({"name": ""}, "name", "Choose the customer above"),
        ({"customer_id": "1"}, "name", "not both"),
        ({"customer_id": "1", "name": ""}, "email", "not both"),
        ({"customer_id": "99", "name": ""}, "customer_id", "please choose another"),
        ({"customer_id": "x"}, "customer_id", "must be a number"),
        ({"name": "ada thorn"}, "same_name", "Somebody of that name is on file already"),
        ({"email": "nowhere"}, "email", "e-mail address"),
        ({"phone": "5" * 41}, "phone", "at most 40"),
        ({"title": ""}, "title", "goes by that title"),
        ({"rod_kind": ""}, "rod_kind", "must be one of"),
        ({"rod_kind": "boat"}, "rod_kind", "No sequence for boat rods"),
        ({"blank_id": "99"}, "blank_id", "Please choose another"),
        ({"row_length": ["9 1/2", "", "", ""]}, "handle.1.length", "has no unit"),
        ({"inscription_again": "Tight limes"}, "inscription_again", "differ"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_said_beside_its_field_and_nothing_typed_is_lost(
    desk: TestClient, changes: Fields, key: str, says: str
) -> None:
    answer = desk.post(NEW, data=whole(wishes="fits a short boot", **changes))
    assert answer.status_code == 422
    assert says in error(answer.text, key), answer.text
    assert ">fits a short boot</textarea>" in answer.text
    assert 'value="casting, size 16"' in answer.text
    assert ">rings after six</textarea>" in answer.text
    # Neither the build nor its customer is taken down.
    assert desk.get(f"{MADE}/spec").status_code == 404
    assert "Linnea" not in desk.get("/desk/customers").text


def test_faults_of_customer_and_rod_are_told_all_at_once(desk: TestClient) -> None:
    answer = desk.post(NEW, data=whole(name="", title="", guide_count="31"))
    assert [bool(error(answer.text, key)) for key in ("name", "title", "guide_count")] == [True] * 3


def test_another_person_of_the_same_name_is_taken_down_when_that_is_said(desk: TestClient) -> None:
    refused = desk.post(NEW, data=whole(name="Ada Thorn"))
    assert 'name="same_name"' in refused.text
    assert 'name="same_name"' not in desk.get(NEW).text
    assert desk.post(NEW, data=whole(name="Ada Thorn", same_name="on")).status_code == 303
    assert len(re.findall("Ada Thorn", desk.get("/desk/customers").text)) == 2


def test_more_rows_keep_what_is_typed_and_save_nothing(desk: TestClient) -> None:
    answer = desk.post(NEW, data=whole(what="more", wishes="typed with care"))
    assert answer.status_code == 200
    assert ">typed with care</textarea>" in answer.text
    assert answer.text.count('name="row_place"') == 2 + 2
    assert desk.get(f"{MADE}/spec").status_code == 404


def test_it_begins_with_the_customer_who_is_on_file(desk: TestClient) -> None:
    assert f'href="{NEW}?customer=1"' in desk.get("/desk/customers/1").text
    assert '<option value="1" selected>Ada Thorn' in desk.get(f"{NEW}?customer=1").text


def test_a_helper_sees_the_list_and_takes_nothing_down(people: SignIn) -> None:
    helper = people(Role.HELPER)
    page = helper.get("/desk/enquiries")
    assert page.status_code == 200
    assert f'href="{NEW}"' not in page.text
    assert helper.get(NEW).status_code == 403
    assert helper.post(NEW, data=whole()).status_code == 403


def test_an_empty_desk_says_what_to_do(hub: Hub, signed_in: SignIn) -> None:
    assert hub.database.embedded
    assert "take an enquiry down when somebody does" in signed_in(Role.OWNER).get("/desk/enquiries").text
