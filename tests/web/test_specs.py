"""The page of a spec: what is asked for, revisions, two at once, too late; and what the bench says of it."""

import re
from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.rules.people import Role
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.spec_shop import ENQUIRY, ORDER, bench_of, log, open_desk
from tests.web.bench_shop import HTMX
from tests.web.forms_read import form_on
from tests.web.test_ticket import read_code, words

PAGE = f"/builds/{ENQUIRY}/spec"
SignIn = Callable[[Role], TestClient]
Fields = dict[str, str | list[str]]


@pytest.fixture
def people(hub: Hub, hands: Hands, signed_in: SignIn) -> SignIn:
    with hub.database.writing(hands.wall_at) as session:
        open_desk(hub, session, hands.wall_at)
    return signed_in


@pytest.fixture
def desk(people: SignIn) -> TestClient:
    return people(Role.BUILDER)


def logged(hub: Hub, hands: Hands, number: str, *stages: str) -> None:
    with hub.database.writing(hands.wall_at) as session:
        log(session, bench_of(hub, session, hands.wall_at), number, *stages)


def form(page: str, number: str = ENQUIRY, **changes: str | list[str]) -> Fields:
    """The form as a browser would send it back, with some fields typed anew."""
    read = form_on(page, f"/builds/{number}/spec")
    assert read, "no form"
    chosen = re.findall(r'<select id="f-([^"]+)" name="\1".*?</select>', page, re.DOTALL)
    kept: Fields = {name: values if len(values) > 1 else values[0] for name, values in read.items()}
    for name in chosen:
        select = page[page.index(f'<select id="f-{name}"') :]
        found = re.search(r'value="([^"]*)" selected', select[: select.index("</select>")])
        kept[name] = found[1] if found else ""
    rows = re.findall(r'<select name="row_place".*?</select>', page, re.DOTALL)
    kept["row_place"] = [
        found[1] if (found := re.search(r'value="([^"]*)" selected', row)) else "" for row in rows
    ]
    return {**kept, **changes}


def error(page: str, key: str) -> str:
    """The sentence beside a field; empty where there is none."""
    found = re.search(rf'id="e-{re.escape(key)}">(?:<svg.*?</svg> )?([^<]+)', page)
    return found[1] if found else ""


def test_the_page_says_what_is_asked_for_and_until_when_it_may_change(desk: TestClient) -> None:
    page = words(desk.get(PAGE).text)
    assert "Tern Heron 70, 7 ft" in page
    assert "rear grip 9 1/2 in (241.3 mm), cork, full wells" in page
    assert "9 guides and the tip-top" in page
    assert "Yes. Open until “laid out” is logged: “wrapped” uses it." in page
    assert "Waits for: A quote." in page
    assert "Revision 1: 09:00, Maren, the customer's wish" in page


def test_it_is_reached_from_desk_rod_and_customer(desk: TestClient) -> None:
    for path in ("/desk/enquiries", f"/builds/{ENQUIRY}", "/desk/customers/1"):
        assert f'href="{PAGE}"' in desk.get(path).text, path


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_what_the_form_showed_comes_back_as_it_was_but_for_the_change(
    desk: TestClient, headers: dict[str, str]
) -> None:
    typed = form(desk.get(PAGE).text, thread_name="forest green, A", thread_colour="#2f6b3a", reason="rang")
    answer = desk.post(PAGE, data=typed, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, PAGE)
    page = words(desk.get(PAGE).text)
    assert "The spec is kept as revision 2." in page
    assert "Colour of the thread: #1f4e7a → #2f6b3a" in page
    assert "Thread: navy, size A → forest green, A" in page
    assert "Revision 2: 09:00, builder, the customer's wish: rang" in page
    # Nothing else has changed on the way through the form.
    assert page.count("→") == 2
    assert desk.post(PAGE, data=form(desk.get(PAGE).text)).status_code == 303
    assert "Revision 3" not in desk.get(PAGE).text


@pytest.mark.parametrize(
    ("changes", "key", "says"),
    [
        ({"title": ""}, "title", "goes by that title"),
        ({"rod_kind": "cane"}, "rod_kind", "must be one of"),
        ({"blank_id": "99"}, "blank_id", "Please choose another"),
        ({"guide_count": "31"}, "guide_count", "between 1 and 30"),
        ({"guide_count": "nine"}, "guide_count", "must be a number"),
        ({"thread_colour": "blue"}, "thread_colour", "#rrggbb"),
        ({"inscription": "Tight lines", "inscription_again": "Tight limes"}, "inscription_again", "differ"),
        ({"power": "x" * 41}, "power", "at most 40"),
        ({"winding_side": "up"}, "winding_side", "seen from the butt"),
        ({"row_place": ["", "reel seat"], "row_said": ["cork", "x"], "row_length": ["", ""]},
         "handle.1.place", "choose a part"),
        ({"row_place": ["rear grip"], "row_said": ["cork"], "row_length": ["9 1/2"]},
         "handle.1.length", "has no unit"),
        ({"asked_by": "nobody"}, "asked_by", "must be one of"),
    ],
)  # fmt: skip
def test_bad_input_is_said_beside_its_field_and_nothing_typed_is_lost(
    desk: TestClient, changes: Fields, key: str, says: str
) -> None:
    answer = desk.post(PAGE, data={**form(desk.get(PAGE).text, wishes="a short boot"), **changes})
    assert answer.status_code == 422
    assert says in error(answer.text, key), answer.text
    assert ">a short boot</textarea>" in answer.text
    assert "Revision 2" not in desk.get(PAGE).text


def test_more_rows_keep_what_is_typed_and_save_nothing(desk: TestClient) -> None:
    typed = form(desk.get(PAGE).text, what="more", wishes="typed with care")
    answer = desk.post(PAGE, data={**typed, "row_said": ["foam", "", "rubber", ""]})
    assert answer.status_code == 200
    assert ">typed with care</textarea>" in answer.text
    assert 'value="foam"' in answer.text
    assert "foam" not in words(desk.get(PAGE).text)


def test_of_two_who_write_neither_silently_wins(desk: TestClient) -> None:
    before = desk.get(PAGE).text
    desk.post(PAGE, data=form(before, thread_name="red, size A", power="heavy"))
    late = desk.post(PAGE, data=form(before, thread_name="black, size D", wishes="mine"))
    assert late.status_code == 409
    said = words(late.text)
    assert "Somebody has written revision 2" in said
    assert "What you typed, beside what is there now" in said
    assert "Thread red, size A black, size D" in said
    assert "Power heavy –" in said
    assert ">mine</textarea>" in late.text
    # The form now carries the newest revision: sent again, it is a choice.
    assert form_on(late.text, PAGE)["revision"] == ["2"]
    assert desk.post(PAGE, data=form(late.text)).status_code == 303
    page = words(desk.get(PAGE).text)
    assert "Revision 3" in page
    assert "Thread: red, size A → black, size D" in page


def test_a_clash_over_what_cannot_be_read_is_told_as_bad_input_first(desk: TestClient) -> None:
    before = desk.get(PAGE).text
    desk.post(PAGE, data=form(before, power="heavy"))
    answer = desk.post(PAGE, data=form(before, guide_count="many"))
    assert answer.status_code == 422
    assert form_on(answer.text, PAGE)["revision"] == ["1"]


def test_a_change_that_comes_too_late_says_so_before_and_after(
    desk: TestClient, hub: Hub, hands: Hands
) -> None:
    page, number = f"/builds/{ORDER}/spec", ORDER
    assert "Nothing is written down yet." in desk.get(page).text
    first = form(desk.get(page).text, number, row_said=["cork", "", "", "", "", ""], thread_name="navy")
    assert desk.post(page, data=first).status_code == 303
    logged(hub, hands, number, "agreed", "parts in hand", "blank checked", "laid out")
    shown = desk.get(page).text
    assert "No. Closed since “laid out” was logged: “wrapped” uses it." in words(shown)
    assert 'name="rod_kind" value="casting"' in shown
    refused = desk.post(page, data=form(shown, number, thread_name="red"))
    assert refused.status_code == 422
    assert "so this is a rework" in error(refused.text, "reason")
    own = form(shown, number, thread_name="red", reason="the spool was short", asked_by="shop")
    assert desk.post(page, data=own).status_code == 303
    said = words(desk.get(page).text)
    # What the shop itself wished is on record as late, and is not asked of the customer.
    assert "Thread: navy → red (rework)" in said
    assert "It waits for" not in said
    theirs = form(desk.get(page).text, number, thread_name="blue", reason="rang")
    assert desk.post(page, data=theirs).status_code == 303
    late = "Revision 3 changes what had begun (thread): a rework. It waits for: A quote with its price."
    assert late in words(desk.get(page).text)
    listed = words(desk.get("/desk/enquiries").text)
    assert f"{number} 8 ft casting revision 3: thread A quote with its price." in listed
    assert "revision 2" not in listed


def test_a_closed_order_shows_its_spec_and_takes_no_more(desk: TestClient) -> None:
    typed = form(desk.get(PAGE).text, power="heavy")
    desk.post(f"/builds/{ENQUIRY}/close", data={"reason": "the price"})
    page = desk.get(PAGE).text
    assert "Declined." in page
    assert "Keep as revision" not in page
    assert desk.post(PAGE, data=typed).status_code == 409


def test_a_helper_reads_the_spec_and_may_not_change_it(people: SignIn, desk: TestClient) -> None:
    typed = form(desk.get(PAGE).text)
    helper = people(Role.HELPER)
    page = helper.get(PAGE)
    assert page.status_code == 200
    assert "Keep as revision" not in page.text
    assert "/order" not in page.text
    assert helper.post(PAGE, data=typed).status_code == 403


def test_a_build_that_is_not_on_file(desk: TestClient) -> None:
    typed = form(desk.get(PAGE).text)
    assert desk.get("/builds/26-099/spec").status_code == 404
    assert desk.post("/builds/26-099/spec", data=typed).status_code == 404


def test_the_bench_sees_at_the_stage_what_was_asked_for(desk: TestClient, hub: Hub, hands: Hands) -> None:
    rod = f"/builds/{ENQUIRY}"
    assert "An enquiry: nobody has ordered it yet." in words(desk.get(rod).text)
    logged(hub, hands, ENQUIRY, "agreed", "parts in hand", "blank checked", "laid out")
    page = desk.get(rod).text
    said = words(page)
    assert "What was asked for Threads navy, size A" in said
    assert 'aria-label="the colour #1f4e7a"' in page
    assert "cork, full wells" not in said
    assert "An enquiry" not in said
    assert "A ticket holds as long as it names revision 1 of the spec." in said


def test_a_scanned_ticket_that_is_stale_is_told(desk: TestClient) -> None:
    ticket = desk.get(f"/builds/{ENQUIRY}/ticket").text
    assert "revision 1 of the spec; a later revision makes this sheet stale." in words(ticket)
    assert "Threads navy, size A" in words(ticket)
    code = read_code(ticket)[0].removeprefix("https://testserver")
    assert code == f"/builds/{ENQUIRY}?ticket=0.1"
    assert "Changed since" not in desk.get(code).text
    desk.post(PAGE, data=form(desk.get(PAGE).text, thread_name="red, size A"))
    stale = (
        "Changed since the ticket was printed: the spec is at revision 2 and the ticket at 1. Print it anew."
    )
    assert stale in words(desk.get(code).text)
    assert "Changed since" not in desk.get(f"/builds/{ENQUIRY}").text
    assert "Changed since" not in desk.get(f"/builds/{ENQUIRY}?ticket=0.2").text
    for odd in ("x", "1", "9999999.1", "0.1.2"):
        assert desk.get(f"/builds/{ENQUIRY}?ticket={odd}").status_code == 200


def test_a_plan_with_a_spec_is_changed_in_its_spec(desk: TestClient) -> None:
    page = desk.get(f"/builds/{ENQUIRY}/edit").text
    assert f'href="{PAGE}"' in page
    assert 'id="f-title"' not in page
    plan = {"customer_id": "1", "title": "7 ft casting", "blank_id": "1", "thread_colour": "#1f4e7a"}
    desk.post(PAGE, data=form(desk.get(PAGE).text, title="7 ft 2 in", blank_id=""))
    # What stood in the form before the spec changed is not put back.
    assert desk.post(f"/builds/{ENQUIRY}/edit", data={**plan, "notes": "kept"}).status_code == 303
    page = desk.get(f"/builds/{ENQUIRY}/edit").text
    assert 'name="title" value="7 ft 2 in"' in page
    assert 'name="blank_id" value=""' in page
    assert ">kept</textarea>" in page
