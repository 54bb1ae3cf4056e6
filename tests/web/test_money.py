"""Payments, totals, taxes and quote terms as pages: kept, refused, taken back, and read back as CSV."""

import csv
import io
import re
from collections.abc import Callable
from datetime import date

import pytest
from fastapi.testclient import TestClient

from shop.queries.builds import build_record, build_view
from shop.queries.payments import PaymentView, payments_of_build
from shop.queries.shop import read_shop
from shop.queries.tax_rules import TaxRuleView, tax_rules
from shop.rules.people import Role
from shop.services.customers import add_customer
from shop.services.events import Logged, advance, send_back
from shop.services.quotes import make_quote, send_quote, take_down_answer
from shop.web.deps import Hub
from shop.web.periods import Period, quarter_of
from tests.conftest import Hands
from tests.quote_shop import NUMBER, SAID, bench_of, fill_for_quotes
from tests.web.bench_shop import HTMX
from tests.web.forms_read import form_on

SignIn = Callable[[Role], TestClient]
PAYMENTS = f"/builds/{NUMBER}/payments"
MONEY = "/desk/money?from=2026-03-01&until=2026-03-31"
either_way = pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
DEPOSIT = {
    "kind": "deposit", "way": "in", "cents": "388,67", "method": "bank transfer", "paid_on": "2026-03-02",
    "note": "receipt 14", "newest": "0",
}  # fmt: skip


@pytest.fixture
def owner(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    with hub.database.writing(hands.wall_at) as session:
        fill_for_quotes(session, hands.wall_at)
        bench = bench_of(session, hands.wall_at)
        quote = make_quote(session, NUMBER, bench, SAID)
        send_quote(session, hub.secret, quote.id, bench)
        take_down_answer(session, quote.id, bench, answer="yes")
    return signed_in(Role.OWNER)


def rows(hub: Hub) -> list[PaymentView]:
    with hub.database.reading() as session:
        return payments_of_build(session, build_view(session, NUMBER).id)


def rules(hub: Hub) -> list[TaxRuleView]:
    with hub.database.reading() as session:
        return tax_rules(session)


def beside(page: str, field: str) -> str:
    """The sentence beside a field."""
    return page.split(f'id="e-{field}"')[1].split("</p>")[0]


@either_way
def test_a_payment_is_written_down(owner: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    shown = form_on(owner.get(PAYMENTS).text, PAYMENTS)
    assert (shown["kind"], shown["way"], shown["paid_on"]) == (["deposit"], ["in"], ["2026-03-02"])
    answer = owner.post(PAYMENTS, data=DEPOSIT, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, PAYMENTS)
    (row,) = rows(hub)
    assert (row.cents, row.method, row.note) == (388_67, "bank transfer", "receipt 14")
    page = owner.get(PAYMENTS).text
    assert all(words in page for words in ("777.34 USD", "388.67 USD", "bank transfer", "receipt 14"))
    assert form_on(page, PAYMENTS)["kind"] == ["balance"]
    # The same press again is not a second payment; what was typed is shown beside the list.
    # A fault put right does not make it seen what somebody else has written down meanwhile.
    wrong = form_on(owner.post(PAYMENTS, data={**DEPOSIT, "cents": "x"}, headers=headers).text, PAYMENTS)
    assert wrong["newest"] == ["0"]
    again = owner.post(PAYMENTS, data=DEPOSIT, headers=headers)
    assert (again.status_code, "written down meanwhile" in again.text) == (409, True)
    fields = form_on(again.text, PAYMENTS)
    assert (fields["cents"], fields["newest"], len(rows(hub))) == (["388,67"], ["1"], 1)
    assert (
        owner.post(PAYMENTS, data={**DEPOSIT, "newest": "1", "way": "back"}, headers=headers).status_code
        == 303
    )
    assert [row.cents for row in rows(hub)] == [388_67, -388_67]


def test_the_form_asks_for_the_deposit_only_first(owner: TestClient) -> None:
    owner.post(PAYMENTS, data={**DEPOSIT, "cents": "300"})
    # Of a deposit that a later rework has raised nobody is asked for the few coins.
    assert form_on(owner.get(PAYMENTS).text, PAYMENTS)["kind"] == ["balance"]


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"cents": "1.234,56"}, "cents", "must be an amount such as 18.50"),
        ({"cents": "1,234"}, "cents", "must be an amount"),
        ({"cents": "-5"}, "cents", "must be an amount"),
        ({"cents": ""}, "cents", "is missing"),
        ({"cents": "0"}, "cents", "more than nothing"),
        ({"way": "back"}, "cents", "Only 0.00 USD has been paid"),
        ({"method": ""}, "method", "must be one of"),
        ({"paid_on": "2026-03-03"}, "paid_on", "still to come"),
        ({"paid_on": "yesterday"}, "paid_on", "must be a day"),
        ({"kind": "tip"}, "kind", "must be one of"),
    ],
)
def test_a_fault_of_a_payment_stands_beside_its_field(
    owner: TestClient, hub: Hub, changes: dict[str, str], field: str, says: str
) -> None:
    answer = owner.post(PAYMENTS, data={**DEPOSIT, **changes})
    assert answer.status_code == 422
    assert says in beside(answer.text, field)
    assert form_on(answer.text, PAYMENTS)["note"] == ["receipt 14"]
    assert rows(hub) == []


@either_way
def test_a_payment_is_taken_back(owner: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    owner.post(PAYMENTS, data=DEPOSIT)
    page = "/payments/1/take-back"
    assert f'href="{page}"' in owner.get(PAYMENTS).text
    assert "388.67 USD" in owner.get(page).text
    missing = owner.post(page, data={"reason": ""}, headers=headers)
    assert (missing.status_code, "needs a reason" in beside(missing.text, "reason")) == (422, True)
    assert owner.post(page, data={"reason": "another rod"}, headers=headers).status_code == 303
    assert [(row.cents, row.corrects_id) for row in rows(hub)] == [(388_67, None), (-388_67, 1)]
    again = owner.post(page, data={"reason": "again"}, headers=headers)
    assert (again.status_code, "taken back already" in again.text) == (409, True)
    assert "taken back by no. 2" in owner.get(PAYMENTS).text
    assert owner.get("/payments/9/take-back").status_code == 404


def hand_over(hub: Hub, hands: Hands) -> None:
    """Pay for the rod and bring it to its end, with a title and a customer that begin like formulas."""
    with hub.database.writing(hands.wall_at) as session:
        odd = add_customer(session, now=hands.wall_at, name='@Ada "Thorn", Ltd')
        build = build_record(session, NUMBER)
        build.title, build.customer_id = "=1+1", odd.id
        for stage in ("agreed", "begun", "handed over"):
            advance(session, NUMBER, bench_of(session, hands.wall_at), Logged(stage))


def test_totals_and_what_the_accountant_reads(owner: TestClient, hub: Hub, hands: Hands) -> None:
    owed = owner.get(MONEY).text
    assert "deposit: 388.67 USD" in owed
    owner.post(PAYMENTS, data={**DEPOSIT, "kind": "other", "cents": "777.34", "note": "=SUM(A1)"})
    hand_over(hub, hands)
    page = owner.get(MONEY).text
    assert "Nobody owes anything." in page
    for words in ("1 rod finished", "Example: US excise on fishing rods, 10 %", "Sales tax, 6.25 %",
                  "45.14 USD", "777.34 USD", "bank transfer"):  # fmt: skip
        assert words in page
    links = [href.replace("&amp;", "&") for href in re.findall(r'href="([^"]+\.csv[^"]*)"', page)]
    totals, rods, money = (owner.get(link) for link in links)
    for answer in (totals, rods, money):
        assert answer.headers["content-type"] == "text/csv; charset=utf-8; header=present"
        assert answer.headers["content-disposition"].startswith('attachment; filename="')
        assert answer.text.endswith("\r\n")
    assert list(csv.reader(io.StringIO(totals.text, newline=""), strict=True)) == [
        ["currency", "what", "which", "rods", "taken_on", "amount"],
        ["USD", "price", "", "1", "", "722.20"],
        ["USD", "tax", "Example: US excise on fishing rods, 10 %", "", "722.20", "10.00"],
        ["USD", "tax", "Sales tax, 6.25 %", "", "722.20", "45.14"],
        ["USD", "total", "", "1", "", "777.34"],
        ["USD", "came in", "bank transfer", "", "", "777.34"],
        ["USD", "went back", "bank transfer", "", "", "0.00"],
    ]
    (rod,) = csv.DictReader(io.StringIO(rods.text, newline=""), strict=True)
    assert rod == {
        "number": NUMBER, "title": "'=1+1", "customer": '\'@Ada "Thorn", Ltd', "sold_on": "2026-03-02",
        "currency": "USD", "price": "722.20", "Example: US excise on fishing rods, 10 %": "10.00",
        "Sales tax, 6.25 %": "45.14", "total": "777.34",
    }  # fmt: skip
    (payment,) = csv.DictReader(io.StringIO(money.text, newline=""), strict=True)
    assert payment == {
        "no": "1", "day": "2026-03-02", "build": NUMBER, "what": "other", "method": "bank transfer",
        "currency": "USD", "amount": "777.34", "takes_back_no": "", "note": "'=SUM(A1)", "by": "owner",
    }  # fmt: skip
    empty = owner.get("/desk/money/rods.csv?from=2026-03-03&until=2026-03-31").text
    assert empty == "number,title,customer,sold_on,currency,price,total\r\n"


@pytest.mark.parametrize(
    ("query", "field", "says"),
    [
        ("from=2026-03-02&until=2026-03-01", "until", "before it begins"),
        ("from=x&until=2026-03-01", "from", "must be a day"),
        ("from=2026-01-01&until=9999-12-31", "until", "between the years"),
    ],
)
def test_a_period_that_cannot_be(owner: TestClient, query: str, field: str, says: str) -> None:
    page = owner.get(f"/desk/money?{query}")
    assert page.status_code == 422
    assert says in beside(page.text, field)
    for name in ("totals", "rods", "payments"):
        assert owner.get(f"/desk/money/{name}.csv?{query}").status_code == 422


def test_the_day_a_rod_is_sold_on_is_the_shop_s(owner: TestClient, hub: Hub, hands: Hands) -> None:
    owner.post(PAYMENTS, data={**DEPOSIT, "cents": "777.34"})
    owner.post(
        "/ways/shop",
        data={
            "shop_name": "Tern", "time_zone": "Pacific/Auckland", "currency": "USD", "credit_cap": "1",
            "reading_gap_minutes": "60", "version": version_of(owner),
        },
    )  # fmt: skip
    hands.forward(hours=2)  # 11:00 UTC on 2 March is midnight of 3 March there.
    hand_over(hub, hands)
    assert "1 rod finished" in owner.get("/desk/money?from=2026-03-03&until=2026-03-03").text
    assert "0 rods finished" in owner.get("/desk/money?from=2026-03-02&until=2026-03-02").text


def test_a_rod_that_comes_back_stays_in_the_period_it_was_sold_in(
    owner: TestClient, hub: Hub, hands: Hands
) -> None:
    owner.post(PAYMENTS, data={**DEPOSIT, "cents": "777.34"})
    hand_over(hub, hands)
    before, after = MONEY.replace("03-31", "03-04"), MONEY.replace("03-01", "03-05")
    hands.forward(days=5)
    with hub.database.writing(hands.wall_at) as session:
        send_back(session, NUMBER, bench_of(session, hands.wall_at), to="begun", reason="a loose guide")
    # While it is on the bench again, and after it is handed over again: it was taxed then.
    for _ in range(2):
        assert "1 rod finished" in owner.get(before).text
        assert "0 rods finished" in owner.get(after).text
        with hub.database.writing(hands.wall_at) as session:
            if build_record(session, NUMBER).closed_at is None:
                advance(session, NUMBER, bench_of(session, hands.wall_at), Logged("handed over"))


def version_of(owner: TestClient) -> str:
    return form_on(owner.get("/ways/shop").text, "/ways/shop")["version"][0]


@pytest.mark.parametrize(
    ("today", "first", "last"),
    [
        (date(2026, 3, 31), date(2026, 1, 1), date(2026, 3, 31)),
        (date(2026, 4, 1), date(2026, 4, 1), date(2026, 6, 30)),
        (date(2026, 12, 31), date(2026, 10, 1), date(2026, 12, 31)),
        (date(2027, 1, 1), date(2027, 1, 1), date(2027, 3, 31)),
    ],
)
def test_a_quarter(today: date, first: date, last: date) -> None:
    assert quarter_of(today) == Period(first, last)


TAX = {
    "name": "VAT", "percent": "19,5", "valid_from": "2026-01-01", "valid_until": "", "cap_cents": "12,50",
    "taxed_on": "price", "note": "Ms A. said so", "is_on": "on",
}  # fmt: skip


@either_way
def test_a_tax_is_put_on_file_changed_and_switched(
    owner: TestClient, hub: Hub, headers: dict[str, str]
) -> None:
    answer = owner.post("/ways/taxes", data=TAX, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/ways/taxes")
    view = rules(hub)[2]
    assert (view.name, float(view.percent), view.cap_cents, view.is_on) == ("VAT", 19.5, 12_50, True)
    page = owner.get("/ways/taxes").text
    assert "19.5 % of the price, at most 12.50 a rod" in page
    assert "ask an accountant before you switch it on" in page
    assert owner.post("/ways/taxes/3/switch", data={"to": "off"}, headers=headers).status_code == 303
    shown = form_on(owner.get("/ways/taxes/3").text, "/ways/taxes/3")
    assert (shown["percent"], "is_on" in shown) == (["19.5"], False)
    assert owner.post("/ways/taxes/3", data={**shown, "percent": "20"}, headers=headers).status_code == 303
    assert (float(rules(hub)[2].percent), rules(hub)[2].is_on) == (20.0, False)
    late = owner.post("/ways/taxes/3", data={**shown, "percent": "21"}, headers=headers)
    assert (late.status_code, "Somebody else changed this tax" in late.text) == (409, True)
    # What was typed, beside what is on file by now; only then is it put in place of that.
    assert form_on(late.text, "/ways/taxes/3")["percent"] == ["21"]
    assert "20 % of the price" in late.text
    stale = owner.post("/ways/taxes/3", data={**shown, "percent": "x"}, headers=headers)
    assert form_on(stale.text, "/ways/taxes/3")["version"] == shown["version"]
    anew = form_on(late.text, "/ways/taxes/3") | {"taxed_on": "price"}
    assert owner.post("/ways/taxes/3", data=anew, headers=headers).status_code == 303
    assert owner.get("/ways/taxes/9").status_code == 404


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"name": ""}, "name", "is missing"),
        ({"name": "sales tax"}, "name", "taxed twice"),
        ({"percent": "101"}, "percent", "between 0 and 100"),
        ({"valid_until": "2025-12-31"}, "valid_until", "before it begins"),
        ({"valid_from": ""}, "valid_from", "is missing"),
        ({"cap_cents": "ten"}, "cap_cents", "must be an amount"),
        ({"taxed_on": "air"}, "taxed_on", "must be one of"),
    ],
)
def test_a_tax_that_cannot_be(
    owner: TestClient, hub: Hub, changes: dict[str, str], field: str, says: str
) -> None:
    answer = owner.post("/ways/taxes", data={**TAX, **changes})
    assert answer.status_code == 422
    assert says in beside(answer.text, field)
    fields = form_on(answer.text, "/ways/taxes")
    assert (fields["note"], fields["is_on"]) == (["Ms A. said so"], ["on"])
    assert len(rules(hub)) == 2


def test_a_switch_that_would_tax_twice_is_refused(owner: TestClient) -> None:
    owner.post("/ways/taxes", data={**TAX, "name": "Sales tax", "is_on": ""})
    refused = owner.post("/ways/taxes/3/switch", data={"to": "on"})
    assert (refused.status_code, "taxed twice" in beside(refused.text, "name")) == (422, True)


TERMS = "/ways/quote-terms"


@either_way
def test_quote_terms_are_saved(owner: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    shown = form_on(owner.get(TERMS).text, TERMS)
    assert (shown["rate_cents"], shown["basis"], shown["parts_at"]) == (["38.00"], ["margin"], ["price"])
    anew = {**shown, "rate_cents": "41,50", "basis": "markup", "words": "Half now."}
    answer = owner.post(TERMS, data=anew, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, TERMS)
    with hub.database.reading() as session:
        kept = read_shop(session)
    assert (kept.quote_terms["rate_cents"], kept.quote_terms["basis"], kept.terms) == (
        41_50, "markup", "Half now.",
    )  # fmt: skip
    late = owner.post(TERMS, data=anew, headers=headers)
    assert (late.status_code, form_on(late.text, TERMS)["rate_cents"]) == (409, ["41,50"])
    # What is on file by now stands beside it, and the form goes by that from then on.
    assert "<dd>Half now.</dd>" in late.text
    stale = owner.post(TERMS, data={**anew, "percent": "x"}, headers=headers)
    assert form_on(stale.text, TERMS)["version"] == shown["version"]
    typed = {**form_on(late.text, TERMS), "basis": "markup", "parts_at": "price"}
    assert owner.post(TERMS, data=typed, headers=headers).status_code == 303
    wrong = {**form_on(owner.get(TERMS).text, TERMS), "basis": "margin", "percent": "100"}
    refused = owner.post(TERMS, data=wrong, headers=headers)
    assert (refused.status_code, "Did you mean a markup?" in beside(refused.text, "percent")) == (422, True)
    missing = owner.post(TERMS, data={**wrong, "percent": "30", "days_valid": ""}, headers=headers)
    assert (missing.status_code, "is missing" in beside(missing.text, "days_valid")) == (422, True)


@pytest.mark.parametrize("role", [Role.BUILDER, Role.HELPER])
def test_only_an_owner_sets_taxes_and_terms(owner: TestClient, signed_in: SignIn, role: Role) -> None:
    assert all(f'href="{path}"' in owner.get("/ways").text for path in (TERMS, "/ways/taxes"))
    other = signed_in(role)
    for path in (TERMS, "/ways/taxes", "/ways/taxes/1"):
        assert (other.get(path).status_code, other.post(path, data=TAX).status_code) == (403, 403)
