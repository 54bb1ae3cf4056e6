"""The shelf's pages of stock, of what to buy, of suppliers, and the labels of bins."""

import csv
import io
import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from fastapi.testclient import TestClient

from shop.queries.build_parts import parts_of_build
from shop.queries.builds import build_view
from shop.queries.stocks import StockView, stock_view, stocks_on_shelf
from shop.rules.people import Role
from shop.services.build_parts import set_aside, set_aside_all_that_is_there
from shop.services.builds import change_build
from shop.services.make_ups import save_make_up
from shop.services.stocks import change_stock
from shop.services.suppliers import change_supplier
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.lot_shop import TODAY, bench_at
from tests.make_up_shop import BLANK, FORE, RING, WHOLE
from tests.stock_shop import KITS, RINGS, ROD, SEATS, SECOND, SUPPLIER, fill_with_stock
from tests.web.bench_shop import HTMX
from tests.web.forms_read import form_on

SignIn = Callable[[Role], TestClient]
LIST, NEW, ONE = "/shelf/stock", "/shelf/stock/new", f"/shelf/stock/{RINGS}"
HEADERS = pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
SAID = {
    "what": "component", "item_id": f"{FORE}", "on_shelf": "4", "least": "2", "bin": "drawer 1", "code": "",
    "unit": "", "supplier_id": "1", "supplier_code": "F-3", "lead_days": "",
}  # fmt: skip


@pytest.fixture
def owner(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    with hub.database.writing(hands.wall_at) as session:
        fill_with_stock(session, hands.wall_at)
    return signed_in(Role.OWNER)


def seen(hub: Hub, stock_id: int = RINGS) -> StockView:
    with hub.database.reading() as session:
        return stock_view(session, stock_id)


def beside(page: str, field: str) -> str:
    """The sentence beside a field."""
    return page.split(f'id="e-{field}"')[1].split("</p>")[0]


def take_seat(hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        parts = parts_of_build(session, build_view(session, ROD).id)
        seat = next(part.id for part in parts if part.name == "Casting seat")
        set_aside(session, ROD, bench_at(session, hands.wall_at), part_id=seat)


def test_the_shelf_shows_first_what_is_below_its_least(owner: TestClient, hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        change_stock(session, SEATS, least=2)
    page = owner.get(LIST).text
    below, enough = page.split("Below the least")[1].split("Enough")
    assert ("Casting seat" in below, "Ring guide 8" in below) == (True, False)
    assert "Ring guide 8" in enough
    assert 'aria-current="page">Stock' in page


def test_a_shop_that_counts_nothing_is_told_how_to_begin(signed_in: SignIn) -> None:
    client = signed_in(Role.OWNER)
    assert "Nothing is counted yet" in client.get(LIST).text
    assert "Nothing is short" in client.get("/shelf/purchases").text
    assert "Nothing is counted yet" in client.get("/shelf/stock/labels").text
    assert "No supplier is on file yet" in client.get("/shelf/suppliers").text
    assert "Nothing has been taken in yet" in client.get("/shelf/deliveries").text


def test_every_item_leads_to_its_stock_and_back(owner: TestClient) -> None:
    for shelf, what, item_id, goes_to in (
        ("components", "component", RING, ONE), ("blanks", "blank", BLANK, f"{NEW}?what=blank&item={BLANK}"),
        ("adhesives", "adhesive", 1, f"/shelf/stock/{KITS}"),
    ):  # fmt: skip
        path = f"/shelf/stock/of/{what}/{item_id}"
        assert path in owner.get(f"/shelf/{shelf}/{item_id}").text
        assert owner.get(path).headers["location"] == goes_to
        assert owner.get(goes_to).status_code == 200
    assert f"/shelf/components/{RING}" in owner.get(ONE).text
    assert owner.get("/shelf/stock/of/rod/1").status_code == 404
    assert owner.get(f"{NEW}?what=component&item=99").status_code == 404


@HEADERS
def test_an_item_begins_to_be_counted(owner: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    answer = owner.post(NEW, data=SAID, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/shelf/stock/7")
    stock = seen(hub, 7)
    assert (stock.name, stock.on_shelf, stock.least, stock.code, stock.unit, stock.lead_days) == (
        "Cork fore grip", 4, 2, "C3", "piece", 10,
    )  # fmt: skip
    page = owner.get("/shelf/stock/7").text
    for said in ("drawer 1", "F-3", "Tern Hollow Supply", "4 pieces", "+4 counted", "Counting begins."):
        assert said in page


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"on_shelf": ""}, "on_shelf", "is missing"),
        ({"on_shelf": "a few"}, "on_shelf", "must be a number"),
        ({"on_shelf": "-1"}, "on_shelf", "must lie between 0 and"),
        ({"least": "1.5"}, "least", "must be a whole number"),
        ({"code": "RING8"}, "code", "Ring guide 8 has that code already"),
        ({"bin": "x" * 61}, "bin", "at most 60 fit"),
        ({"unit": "x" * 21}, "unit", "at most 20 fit"),
        ({"lead_days": "4000"}, "lead_days", "must lie between 0 and"),
    ],
)
def test_what_cannot_be_said_comes_back_as_typed(
    owner: TestClient, hub: Hub, changes: dict[str, str], field: str, says: str
) -> None:
    answer = owner.post(NEW, data={**SAID, **changes})
    assert answer.status_code == 422
    assert says in beside(answer.text, field)
    typed = form_on(answer.text, NEW)
    assert {name: typed[name] for name in typed} == {name: [{**SAID, **changes}[name]] for name in typed}
    with hub.database.reading() as session:
        assert len(stocks_on_shelf(session)) == 6


def test_an_item_that_is_counted_already_is_refused(owner: TestClient) -> None:
    answer = owner.post(NEW, data={**SAID, "item_id": f"{RING}"})
    assert answer.status_code == 409
    assert "Ring guide 8 is counted already" in answer.text


def test_the_bottles_on_file_are_suggested_for_an_adhesive(owner: TestClient) -> None:
    lot = {"adhesive_id": "2", "part": "kit", "number": "K-1", "received_on": "2026-02-20"}
    for _bottle in range(2):
        assert owner.post("/shelf/lots/new", data=lot).status_code == 303
    owner.post("/shelf/lots/2/empty", data={})
    assert form_on(owner.get(f"{NEW}?what=adhesive&item=2").text, NEW)["on_shelf"] == ["1"]


@HEADERS
def test_a_stock_take_is_written_down(owner: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    path = f"{ONE}/count"
    answer = owner.post(path, data={"counted": "6", "reason": ""}, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, ONE)
    owner.post(path, data={"counted": "5", "reason": "One bent."}, headers=headers)
    page = owner.get(ONE).text
    for said in ("-1 counted", "One bent.", "+0 counted", "As counted.", "owner"):
        assert said in page
    assert seen(hub).on_shelf == 5


def test_a_stock_take_that_cannot_be_comes_back_as_typed(owner: TestClient, hub: Hub) -> None:
    for data, field in (
        ({"counted": "", "reason": "lost"}, "counted"), ({"counted": "five", "reason": "x"}, "counted"),
        ({"counted": "5", "reason": ""}, "reason"), ({"counted": "5", "reason": "x" * 501}, "reason"),
    ):  # fmt: skip
        answer = owner.post(f"{ONE}/count", data=data)
        assert (answer.status_code, bool(beside(answer.text, field))) == (422, True)
        assert form_on(answer.text, f"{ONE}/count") == {name: [text] for name, text in data.items()}
    assert seen(hub).on_shelf == 6


def test_a_stock_take_of_fewer_than_are_set_aside_is_refused(
    owner: TestClient, hub: Hub, hands: Hands
) -> None:
    take_seat(hub, hands)
    answer = owner.post(f"/shelf/stock/{SEATS}/count", data={"counted": "0", "reason": "Gone."})
    assert answer.status_code == 409
    assert "1 × Casting seat is set aside for rods" in answer.text
    assert form_on(answer.text, f"/shelf/stock/{SEATS}/count")["reason"] == ["Gone."]
    assert (seen(hub, SEATS).on_shelf, seen(hub, SEATS).set_aside) == (1, 1)


@HEADERS
def test_what_is_said_of_an_item_is_changed(owner: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    path = f"{ONE}/edit"
    form = form_on(owner.get(path).text, path)
    # A choice from a list is no input, so it is said here as the browser would.
    assert owner.post(path, data={**form, "supplier_id": "1"}, headers=headers).status_code == 303
    assert (seen(hub).supplier, seen(hub).least, seen(hub).on_shelf) == ("Tern Hollow Supply", 4, 6)
    form = form_on(owner.get(path).text, path)
    answer = owner.post(path, data={**form, "supplier_id": "", "least": "9"}, headers=headers)
    assert answer.headers["location"] == ONE
    assert (seen(hub).supplier, seen(hub).least) == ("", 9)
    assert "Below the least: 6 free, and there should be 9." in owner.get(ONE).text


def test_a_change_that_cannot_be_comes_back_as_typed(owner: TestClient) -> None:
    path = f"{ONE}/edit"
    form = form_on(owner.get(path).text, path)
    answer = owner.post(path, data={**form, "code": "SEAT16", "bin": "box A"})
    assert answer.status_code == 422
    assert "Casting seat has that code already" in beside(answer.text, "code")
    assert form_on(answer.text, path)["bin"] == ["box A"]
    assert "is missing" in owner.post(path, data={**form, "version": ""}).text


def test_of_two_who_change_an_item_the_second_is_told(owner: TestClient, hub: Hub) -> None:
    path = f"{ONE}/edit"
    form = form_on(owner.get(path).text, path)
    owner.post(path, data={**form, "bin": "box A"})
    answer = owner.post(path, data={**form, "bin": "box B"})
    assert answer.status_code == 409
    assert "Somebody else changed this meanwhile" in answer.text
    assert form_on(answer.text, path)["bin"] == ["box B"]
    assert seen(hub).bin == "box A"


def test_who_may_not_change_the_shelf_sees_no_money_and_no_forms(
    owner: TestClient, signed_in: SignIn
) -> None:
    assert "17.00 EUR" in owner.get("/shelf/stock/4").text
    helper = signed_in(Role.HELPER)
    page = helper.get("/shelf/stock/4").text
    assert "Casting seat, long" in page
    assert not re.search(r"17\.00|<form[^>]*count", page)
    assert "Take a delivery in" not in helper.get(LIST).text
    assert "about" not in helper.get("/shelf/purchases").text
    assert helper.post(f"{ONE}/count", data={"counted": "1"}).status_code == 403


def test_every_bin_has_a_label_with_its_code(owner: TestClient) -> None:
    page = owner.get("/shelf/stock/labels").text
    assert page.count('class="label"') == 6
    assert 'aria-label="The code RING8"' in page
    assert "labels-letter" in owner.get("/shelf/stock/labels?paper=letter").text
    assert "labels-a4" in owner.get("/shelf/stock/labels?paper=wall").text


def test_what_to_buy_stands_by_supplier_and_as_a_spreadsheet(
    owner: TestClient, hub: Hub, hands: Hands
) -> None:
    with hub.database.writing(hands.wall_at) as session:
        bench = bench_at(session, hands.wall_at)
        change_build(session, SECOND, bench, promised_on=TODAY.replace(day=20))
        change_stock(session, RINGS, supplier_id=None)
    page = owner.get("/shelf/purchases").text
    supplier, nobody = page.split("No supplier named")
    assert "Casting seat" in supplier.split("Tern Hollow Supply")[1]
    assert "4 pieces" in nobody.split("Ring guide 8")[1]
    # One seat is there for the rod that is promised, so the other waits, and nothing was promised for that.
    assert "26-002" in supplier
    answer = owner.get("/shelf/purchases.csv")
    assert answer.headers["content-disposition"] == 'attachment; filename="to-buy-2026-03-02.csv"'
    rows = list(csv.DictReader(io.StringIO(answer.text, newline="")))
    assert [(row["supplier"], row["item"], row["count"], row["builds"]) for row in rows] == [
        ("Tern Hollow Supply", "Casting seat", "1", "26-002"),
        ("Tern Hollow Supply", "Cork rear grip", "1", ""), ("", "Ring guide 8", "4", ""),
    ]  # fmt: skip
    with hub.database.writing(hands.wall_at) as session:
        change_build(session, ROD, bench_at(session, hands.wall_at), promised_on=TODAY.replace(day=21))
    page = owner.get("/shelf/purchases").text
    assert "Wed 25 Feb, which is past" in page
    assert "2 items, 2 items without a cost on file" in page
    assert "about" not in page.split("<h2")[1]
    assert "Put back first" not in page


def test_what_is_set_aside_for_nothing_any_more_is_said_where_things_are_bought(
    owner: TestClient, hub: Hub, hands: Hands
) -> None:
    with hub.database.writing(hands.wall_at) as session:
        bench = bench_at(session, hands.wall_at)
        set_aside_all_that_is_there(session, ROD, bench)
        save_make_up(session, ROD, bench, replace(WHOLE, guides=WHOLE.guides[:2]), revision=1)
    page = owner.get("/shelf/purchases").text.split("Put back first")[1]
    assert f'1 × Ring guide 8: <a href="/builds/{ROD}/parts">' in page
    said = "Set aside, but not taken any more: 1 × Ring guide 8."
    assert said in owner.get(f"/builds/{ROD}").text


SUPPLIER_SAID = {"name": "Fathom Supply", "lead_days": "7", "email": "", "phone": "12 34", "notes": ""}


@HEADERS
def test_a_supplier_is_put_on_file_and_changed(owner: TestClient, headers: dict[str, str]) -> None:
    answer = owner.post("/shelf/suppliers/new", data=SUPPLIER_SAID, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/shelf/suppliers")
    assert "7 days" in owner.get("/shelf/suppliers").text
    path = "/shelf/suppliers/2"
    form = form_on(owner.get(path).text, path)
    assert owner.post(path, data={**form, "lead_days": ""}, headers=headers).status_code == 303
    assert "Fathom Supply" in owner.get("/shelf/suppliers").text.split("not said")[0]


def test_a_supplier_that_cannot_be_comes_back_as_typed(owner: TestClient) -> None:
    for path, extra in (("/shelf/suppliers/new", {}), (f"/shelf/suppliers/{SUPPLIER}", {"version": "1"})):
        data = {**SUPPLIER_SAID, **extra, "name": "", "lead_days": "a week"}
        answer = owner.post(path, data=data)
        assert answer.status_code == 422
        assert "is missing" in beside(answer.text, "name")
        assert "must be a number" in beside(answer.text, "lead_days")
        assert form_on(answer.text, path)["phone"] == ["12 34"]


def test_of_two_who_change_a_supplier_the_second_is_told(owner: TestClient, hub: Hub, hands: Hands) -> None:
    path = f"/shelf/suppliers/{SUPPLIER}"
    form = form_on(owner.get(path).text, path)
    with hub.database.writing(hands.wall_at) as session:
        change_supplier(session, SUPPLIER, phone="99")
    answer = owner.post(path, data={**form, "phone": "11"})
    assert answer.status_code == 409
    assert "Somebody else changed this supplier meanwhile" in answer.text
    assert form_on(answer.text, path)["phone"] == ["11"]
