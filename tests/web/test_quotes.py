"""The quote at the desk and at the customer's: made, looked at, sent, answered by link and to the shop."""

import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from fastapi.testclient import TestClient

from shop.queries.builds import build_view
from shop.queries.quotes import QuoteView, quotes_of_build
from shop.rules.people import Role
from shop.rules.spec import Spec
from shop.services.quotes import make_quote, send_quote
from shop.services.specs import revise_spec
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.quote_shop import NUMBER, SAID, WORDS, bench_of, fill_for_quotes, lay_down
from tests.web.bench_shop import HTMX
from tests.web.forms_read import form_on

SignIn = Callable[[Role], TestClient]
QUOTE = f"/builds/{NUMBER}/quote"
either_way = pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
TYPED = {
    "part_name": ["Heron 70", "Ring guide 8", ""], "part_how_many": ["", "8", ""],
    "part_price": ["120,00", "8.30", ""], "rework_name": [""], "rework_amount": [""],
    "consumables_cents": "6,20", "hours": "6,5", "rate_cents": "38", "overhead_percent": "15",
    "basis": "margin", "percent": "30", "deposit_percent": "50", "valid_until": "2026-03-31",
    "note": "With our thanks for asking.", "revision": "0", "newest": "0", "what": "keep",
}  # fmt: skip


@pytest.fixture
def owner(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    with hub.database.writing(hands.wall_at) as session:
        fill_for_quotes(session, hands.wall_at)
    return signed_in(Role.OWNER)


def known(hub: Hub) -> list[QuoteView]:
    with hub.database.reading() as session:
        return quotes_of_build(session, build_view(session, NUMBER).id)


def sent(hub: Hub, hands: Hands) -> str:
    """The path of the link of a quote that was sent just now."""
    with hub.database.writing(hands.wall_at) as session:
        bench = bench_of(session, hands.wall_at)
        quote = make_quote(session, NUMBER, bench, SAID)
        return f"/quote/{send_quote(session, hub.secret, quote.id, bench)}"


def beside(page: str, field: str) -> str:
    """The sentence beside a field."""
    return page.split(f'id="e-{field}"')[1].split("</p>")[0]


@either_way
def test_a_quote_is_kept_with_money_typed_either_way(
    owner: TestClient, hub: Hub, headers: dict[str, str]
) -> None:
    answer = owner.post(QUOTE, data=TYPED, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, QUOTE)
    (quote,) = known(hub)
    assert (quote.offer.made.total_cents, quote.offer.made.deposit_cents) == (777_34, 388_67)
    page = owner.get(QUOTE).text
    for words in (
        "Quote 1 is kept", "777.34 USD", "388.67 USD", "labour = 6.5 h × 38.00 = 247.00",
        "price at 30 % margin, a share of the price = 505.54 ÷ (1 − 30 %) = 722.20",
        "Sales tax = 6.25 % of 722.20 = 45.14 (rate from 2020-01-01)", "Ring guide 8: 8 × 8.30 = 66.40",
    ):  # fmt: skip
        assert words in page
    # The same figures, in the calculator.
    href = re.findall(r'href="(/sums/quote[^"#]+)', page)[0].replace("&amp;", "&")
    assert "777.34" in owner.get(href).text


def test_looking_keeps_nothing_and_more_rows_are_given(owner: TestClient, hub: Hub) -> None:
    looked = owner.post(QUOTE, data={**TYPED, "what": "look"})
    assert (looked.status_code, "777.34 USD" in looked.text) == (200, True)
    fields = form_on(looked.text, QUOTE)
    assert fields["part_name"][:2] == ["Heron 70", "Ring guide 8"]
    more = owner.post(QUOTE, data={**TYPED, "what": "more", "hours": "many"})
    assert more.status_code == 200
    assert len(form_on(more.text, QUOTE)["part_name"]) == 5
    assert form_on(more.text, QUOTE)["hours"] == ["many"]
    assert known(hub) == []


def test_the_form_begins_with_the_make_up_and_names_what_has_no_price(
    owner: TestClient, hub: Hub, hands: Hands
) -> None:
    bare = owner.get(QUOTE).text
    assert "is not laid down yet" in bare
    with hub.database.writing(hands.wall_at) as session:
        lay_down(session, hands.wall_at)
    page = owner.get(QUOTE).text
    assert "No price is on file for Heron 70." in page
    fields = form_on(page, QUOTE)
    assert fields["part_name"][:2] == ["Heron 70", "Cork rear grip"]
    assert (fields["part_price"][:2], fields["hours"], fields["rate_cents"]) == (
        ["", "40.00"],
        ["6.5"],
        ["38.00"],
    )
    assert fields["valid_until"] == ["2026-04-01"]
    refused = owner.post(QUOTE, data={**fields, "basis": "margin", "what": "keep"})
    assert refused.status_code == 422
    assert "Heron 70 has no price; write one, or 0" in beside(refused.text, "parts.1.price_cents")


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"part_price": ["1.234,56", "8.30", ""]}, "parts.1.price_cents", "must be an amount such as 18.50"),
        ({"part_how_many": ["0", "8", ""]}, "parts.1.count", "between 1 and 10000"),
        ({"part_name": ["", "Ring", ""]}, "parts.1.name", "say what it is"),
        ({"rate_cents": "1,234"}, "rate_cents", "must be an amount"),
        ({"rate_cents": ""}, "rate_cents", "is missing"),
        ({"percent": "100"}, "percent", "Did you mean a markup?"),
        ({"percent": "30.00001"}, "percent", "at most 4 decimal places"),
        ({"basis": "both"}, "basis", "must be one of margin, markup"),
        ({"rework_name": ["wraps"]}, "reworks.1.cents", "is missing"),
        ({"valid_until": "2026-03-01"}, "valid_until", "cannot lie before today"),
        ({"hours": "6.555"}, "hours", "at most 2 decimal places"),
    ],
)
def test_a_fault_stands_beside_its_field_and_all_that_was_typed_is_kept(
    owner: TestClient, hub: Hub, changes: dict[str, str], field: str, says: str
) -> None:
    answer = owner.post(QUOTE, data={**TYPED, **changes})
    assert answer.status_code == 422
    assert says in beside(answer.text, field)
    fields = form_on(answer.text, QUOTE)
    assert fields["note"] == [TYPED["note"]]
    assert fields["part_name"][:1] == [changes.get("part_name", TYPED["part_name"])[0]]
    assert known(hub) == []


def test_who_was_overtaken_sees_the_new_quote_beside_what_they_typed(owner: TestClient, hub: Hub) -> None:
    assert owner.post(QUOTE, data=TYPED).status_code == 303
    late = owner.post(QUOTE, data={**TYPED, "note": "mine"})
    assert (late.status_code, "Quote 1 has been made meanwhile" in late.text) == (409, True)
    fields = form_on(late.text, QUOTE)
    assert (fields["note"], fields["newest"], len(known(hub))) == (["mine"], ["1"], 1)
    assert "Quote 1: not sent yet" in late.text
    # To work it out is not to have seen what somebody else has kept meanwhile.
    looked = form_on(owner.post(QUOTE, data={**TYPED, "what": "look"}).text, QUOTE)
    assert (looked["revision"], looked["newest"]) == (["0"], ["0"])


def test_an_order_that_was_closed_says_so_to_desk_and_customer(
    owner: TestClient, hub: Hub, hands: Hands
) -> None:
    link = sent(hub, hands)
    assert f'href="/builds/{NUMBER}/order"' in owner.get(QUOTE).text
    owner.post(link, data={"answer": "yes", "name": "Ada"})
    assert "closed" not in owner.get(link).text
    owner.post(f"/builds/{NUMBER}/close", data={"reason": "the price"})
    page = owner.get(link).text
    assert "answered with yes" in page
    assert "The order has been closed since." in page
    assert "The order is cancelled, so it needs no further quote." in owner.get(QUOTE).text


def test_a_customer_is_not_told_what_the_shop_has_still_to_proof(
    owner: TestClient, hub: Hub, hands: Hands
) -> None:
    with hub.database.writing(hands.wall_at) as session:
        spec = Spec("casting", "7 ft casting", inscription="Tight lines")
        revise_spec(session, NUMBER, bench_of(session, hands.wall_at), spec, revision=0)
    page = owner.get(sent(hub, hands)).text
    assert ("“Tight lines”" in page, "proofed" in page) == (True, False)
    assert "not proofed a second time yet" in owner.get(f"/builds/{NUMBER}/spec").text


@either_way
def test_a_quote_is_sent_withdrawn_and_made_anew(owner: TestClient, headers: dict[str, str]) -> None:
    owner.post(QUOTE, data=TYPED)
    assert owner.post("/quotes/1/send", headers=headers).headers["location"] == QUOTE
    page = owner.get(QUOTE).text
    link = re.findall(r"https://testserver(/quote/[\w-]{43})", page)[0]
    assert owner.get(link).status_code == 200
    again = owner.post("/quotes/1/send", headers=headers)
    assert (again.status_code, "cannot be sent again" in again.text) == (409, True)
    assert owner.post("/quotes/1/withdraw", headers=headers).status_code == 303
    assert owner.get(link).status_code == 404
    refused = owner.post("/quotes/1/withdraw", headers=headers)
    assert (refused.status_code, "withdrawn already" in refused.text) == (409, True)
    assert owner.post("/quotes/9/send").status_code == 404
    # The further one begins with the newest.
    assert form_on(owner.get(QUOTE).text, QUOTE)["part_price"][:2] == ["120.00", "8.30"]
    owner.post(QUOTE, data={**TYPED, "newest": "1"})
    assert "Quote 1: withdrawn" in owner.get(f"{QUOTE}?show=1").text
    assert owner.get(f"{QUOTE}?show=7").status_code == 404


@either_way
def test_what_was_said_on_the_telephone_is_taken_down(
    owner: TestClient, hub: Hub, hands: Hands, headers: dict[str, str]
) -> None:
    sent(hub, hands)
    hands.forward(hours=2)
    missing = owner.post("/quotes/1/answer", data={"answer": "", "answer_note": "rang"}, headers=headers)
    assert (missing.status_code, "Please answer with yes or no." in missing.text) == (422, True)
    assert form_on(missing.text, "/quotes/1/answer")["answer_note"] == ["rang"]
    told = {"answer": "yes", "name": "Ada", "said_at": "2026-03-02T10:30", "answer_note": "rang"}
    assert owner.post("/quotes/1/answer", data=told, headers=headers).status_code == 303
    page = owner.get(QUOTE).text
    assert "yes by Ada, 10:30, taken down by owner" in page
    refused = owner.post("/quotes/1/answer", data={**told, "answer": "no"}, headers=headers)
    assert (refused.status_code, "answered with yes already" in refused.text) == (409, True)


@pytest.mark.parametrize("headers", [{}, HTMX, {"origin": "null"}], ids=["plain", "htmx", "old browser"])
def test_a_customer_says_yes_by_the_link_and_twice_does_no_harm(
    owner: TestClient, hub: Hub, hands: Hands, headers: dict[str, str]
) -> None:
    link = sent(hub, hands)
    owner.cookies.clear()
    page = owner.get(link).text
    for words in ("7 ft casting", "722.20 USD", "Sales tax, 6.25 % of 722.20", "777.34 USD", "388.67 USD",
                  "8 × Ring guide 8", "With our thanks for asking.", "Half to begin with."):  # fmt: skip
        assert words in page
    # What the rod costs the shop, and who asks what, is nobody else's business.
    for words in ("505.54", "margin", "38.00", "8.30", "Ada Thorn", "Nell", "<script"):
        assert words not in page
    assert WORDS in page
    for _ in range(2):
        answer = owner.post(link, data={"answer": "yes", "name": "Ada <Thorn>"}, headers=headers)
        assert (answer.status_code, answer.headers["location"]) == (303, link)
    page = owner.get(link).text
    assert "This quote was answered with yes on Mon 2 Mar, by Ada &lt;Thorn&gt;." in page
    assert "<form" not in page
    refused = owner.post(link, data={"answer": "no", "name": "Ada"}, headers=headers)
    assert (refused.status_code, "answered with yes already" in refused.text) == (409, True)
    with hub.database.reading() as session:
        assert [quote.answer for quote in quotes_of_build(session, build_view(session, NUMBER).id)] == ["yes"]


def test_a_customer_s_page_is_private_and_a_wrong_link_is_a_withdrawn_one(
    owner: TestClient, hub: Hub, hands: Hands
) -> None:
    link = sent(hub, hands)
    private = {
        "cache-control": "no-store, private", "referrer-policy": "no-referrer",
        "x-robots-tag": "noindex, nofollow",
    }  # fmt: skip
    invalid = owner.post(link, data={"answer": "yes", "name": ""})
    assert invalid.status_code == 422
    assert "Please write your name" in beside(invalid.text, "name")
    # Enter in the field is neither a yes nor a no; what was typed stays.
    neither = owner.post(link, data={"name": "Ada"})
    assert (neither.status_code, "Please answer with yes or no." in neither.text) == (422, True)
    assert 'value="Ada"' in neither.text
    for answer in (owner.get(link), invalid, neither, owner.post(link, data={"answer": "no", "name": "A"})):
        assert {name: answer.headers[name] for name in private} == private
    assert "answered with no on Mon 2 Mar, by A" in owner.get(link).text
    open_again = sent(hub, hands)
    owner.post("/quotes/2/withdraw")
    odd = ["unknown", "%00", "9" * 43, "a/b", "", "x" * 5000, "%F0%9F%8E%A3"]
    answers = [owner.get(open_again), *(owner.get(f"/quote/{path}") for path in odd)]
    answers += [owner.post(open_again, data={"answer": "yes", "name": "Ada"}), owner.post("/quote/x")]
    assert {answer.status_code for answer in answers} == {404}
    assert len({answer.content for answer in answers}) == 1
    assert len({str(sorted(answer.headers.items())) for answer in answers}) == 1
    assert {name: answers[0].headers[name] for name in private} == private


def test_a_quote_tells_what_was_paid_by_now(owner: TestClient, hub: Hub, hands: Hands) -> None:
    assert "so far" not in owner.get(sent(hub, hands)).text
    paid = {"kind": "deposit", "way": "in", "method": "cash", "paid_on": "2026-03-02", "newest": "0"}
    assert owner.post(f"/builds/{NUMBER}/payments", data={**paid, "cents": "50"}).status_code == 303
    page = owner.get(sent(hub, hands)).text
    assert "Paid for this rod so far</dt><dd>50.00 USD" in page


def test_a_link_says_why_it_can_no_longer_be_answered(owner: TestClient, hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        bench = bench_of(session, hands.wall_at)
        quote = make_quote(session, NUMBER, bench, replace(SAID, valid_until=hands.wall_at.date()))
        first = f"/quote/{send_quote(session, hub.secret, quote.id, bench)}"
    assert "You may answer until" in owner.get(first).text
    hands.forward(days=1)
    page = owner.get(first)
    assert (page.status_code, "that day is over" in page.text, "<form" in page.text) == (200, True, False)
    late = owner.post(first, data={"answer": "yes", "name": "Ada"})
    assert (late.status_code, "that day is over" in late.text) == (409, True)
    second = sent(hub, hands)
    assert "Quote 2 has been sent since" in owner.get(first).text
    assert owner.post(first, data={"answer": "yes", "name": "Ada"}).status_code == 409
    hands.forward(days=400)
    assert "<form" in owner.get(second).text


@pytest.mark.parametrize("role", [Role.BUILDER, Role.HELPER])
def test_a_helper_sees_no_money(owner: TestClient, signed_in: SignIn, role: Role) -> None:
    owner.post(QUOTE, data=TYPED)
    person, status = signed_in(role), 200 if role is Role.BUILDER else 403
    for path in (QUOTE, f"/builds/{NUMBER}/payments", "/desk/money"):
        assert person.get(path).status_code == status, path
    assert person.post(QUOTE, data=TYPED).status_code == (409 if role is Role.BUILDER else 403)
    rod = person.get(f"/builds/{NUMBER}").text
    assert (f'href="{QUOTE}"' in rod) == (role is Role.BUILDER)
