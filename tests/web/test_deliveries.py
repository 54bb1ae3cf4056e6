"""The shelf's pages of deliveries: taken in, looked at in time, sent back in part."""

from collections.abc import Callable
from datetime import date

import pytest
from fastapi.testclient import TestClient

from shop.queries.deliveries import delivery_view, lines_of_deliveries
from shop.queries.lots import lots_on_file
from shop.queries.stocks import stock_view
from shop.rules.people import Role
from shop.services.builds import change_build
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.lot_shop import TODAY, bench_at
from tests.stock_shop import KITS, RINGS, ROD, SEATS, SECOND, fill_with_stock
from tests.web.bench_shop import HTMX
from tests.web.forms_read import form_on
from tests.web.test_stocks import beside

SignIn = Callable[[Role], TestClient]
LIST, NEW, ONE = "/shelf/deliveries", "/shelf/deliveries/new", "/shelf/deliveries/1"
HEADERS = pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
# Two lines, of which the second is a kit; a line that was left empty stands between them.
LINES = {
    "stock_id": [f"{RINGS}", "", f"{KITS}"], "count": ["10", "", "2"],
    "unit_cost_cents": ["2.65", "", "24,50"], "lot_number": ["", "", "K-77"],
    "part": ["kit", "kit", "kit"], "use_by": ["", "", "2026-09-01"],
}  # fmt: skip
SAID = {
    "supplier_id": "1", "reference": "DN 4471", "received_on": "2026-03-02", "inspect_by": "2026-03-09",
    "return_by": "2026-03-16", "note": "Two boxes.", **LINES,
}  # fmt: skip


@pytest.fixture
def owner(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    with hub.database.writing(hands.wall_at) as session:
        fill_with_stock(session, hands.wall_at)
    return signed_in(Role.OWNER)


def on_shelf(hub: Hub, stock_id: int) -> int:
    with hub.database.reading() as session:
        return stock_view(session, stock_id).on_shelf


@HEADERS
def test_a_delivery_is_taken_in(owner: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    assert form_on(owner.get(NEW).text, NEW)["received_on"] == ["2026-03-02"], "it came today unless said"
    answer = owner.post(NEW, data=SAID, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, ONE)
    assert (on_shelf(hub, RINGS), on_shelf(hub, KITS)) == (16, 3)
    page = owner.get(ONE).text
    for said in (
        "Tern Hollow Supply", "DN 4471", "Mon 9 Mar, 7 days left", "Mon 16 Mar, 14 days left", "2.65 EUR",
        "24.50 EUR", "10 pieces", "2 bottles", "not yet",
    ):  # fmt: skip
        assert said in page
    assert ONE in owner.get(LIST).text.split("To look at, or still to be sent back")[1]
    with hub.database.reading() as session:
        assert [lot.number for lot in lots_on_file(session, TODAY)] == ["K-77", "K-77"]


def test_more_lines_are_given_and_nothing_typed_is_lost(owner: TestClient, hub: Hub) -> None:
    answer = owner.post(NEW, data={**SAID, "what": "more"})
    assert answer.status_code == 200
    typed = form_on(answer.text, NEW)
    assert typed["count"] == ["10", "2", "", "", "", ""]
    assert typed["use_by"][:2] == ["", "2026-09-01"]
    assert typed["reference"] == ["DN 4471"]
    assert on_shelf(hub, RINGS) == 6


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"received_on": "2026-03-03"}, "received_on", "lies in the future"),
        ({"received_on": "today"}, "received_on", "must be a day such as"),
        ({"inspect_by": "2026-03-01"}, "inspect_by", "before it came"),
        ({"return_by": "soon"}, "return_by", "must be a day such as"),
        ({"reference": "x" * 61}, "reference", "at most 60 fit"),
        ({"count": ["10", "", ""]}, "lines.2.count", "is missing"),
        ({"count": ["ten", "", "2"]}, "lines.1.count", "must be a number"),
        ({"count": ["0", "", "2"]}, "lines.1.count", "must lie between 1"),
        ({"stock_id": ["", "", f"{KITS}"]}, "lines.1.stock_id", "please choose one"),
        ({"unit_cost_cents": ["1.234,56", "", ""]}, "lines.1.unit_cost_cents", "must be an amount"),
        ({"lot_number": ["", "", ""]}, "lines.2.lot_number", "needs the maker"),
        ({"lot_number": ["L-1", "", "K-77"]}, "lines.1.lot_number", "Only adhesives have lots"),
        ({"use_by": ["", "", "1999-01-01"]}, "lines.2.use_by", "must lie between"),
    ],
)
def test_a_delivery_that_cannot_be_comes_back_as_typed(
    owner: TestClient, hub: Hub, changes: dict[str, str | list[str]], field: str, says: str
) -> None:
    told = {**SAID, **changes}
    answer = owner.post(NEW, data=told)
    assert answer.status_code == 422
    assert says in beside(answer.text, field)
    typed = form_on(answer.text, NEW)
    assert typed["reference"] == [told["reference"]]
    assert typed["count"][:2] == [told["count"][0], told["count"][2]]
    assert (on_shelf(hub, RINGS), on_shelf(hub, KITS)) == (6, 1)


def test_a_delivery_of_nothing_is_refused(owner: TestClient) -> None:
    answer = owner.post(NEW, data={"received_on": "2026-03-02"})
    assert answer.status_code == 422
    assert "Say what came, in 1 to 60 lines." in answer.text
    full = {"stock_id": [f"{SEATS}"], "count": ["100000"], "part": ["kit"]}
    refused = owner.post(NEW, data={"received_on": "2026-03-02", **full})
    assert refused.status_code == 409
    assert "More than 100,000 × Casting seat cannot be counted." in refused.text


@HEADERS
def test_a_delivery_is_looked_at_and_some_of_it_goes_back(
    owner: TestClient, hub: Hub, headers: dict[str, str]
) -> None:
    owner.post(NEW, data=SAID)
    looked = owner.post(f"{ONE}/inspect", data={"note": "One box was wet."}, headers=headers)
    assert (looked.status_code, looked.headers["location"]) == (303, ONE)
    page = owner.get(ONE).text
    assert "One box was wet." in page
    assert "09:00, owner" in page
    assert f'action="{ONE}/inspect"' not in page
    back = {"stock_id": f"{RINGS}", "count": "4", "reason": "Cracked."}
    sent = owner.post(f"{ONE}/return", data=back, headers=headers)
    assert (sent.status_code, sent.headers["location"]) == (303, ONE)
    assert on_shelf(hub, RINGS) == 12
    assert "4 pieces" in owner.get(ONE).text
    assert "Cracked." in owner.get(f"/shelf/stock/{RINGS}").text


def test_what_cannot_be_said_of_a_delivery_comes_back_as_typed(owner: TestClient) -> None:
    owner.post(NEW, data=SAID)
    answer = owner.post(f"{ONE}/inspect", data={"note": "x" * 2001})
    assert (answer.status_code, "at most 2000 fit" in beside(answer.text, "note")) == (422, True)
    for changes, field in (({"count": ""}, "count"), ({"count": "all"}, "count"), ({"reason": ""}, "reason")):
        data = {"stock_id": f"{RINGS}", "count": "4", "reason": "Cracked.", **changes}
        answer = owner.post(f"{ONE}/return", data=data)
        assert (answer.status_code, bool(beside(answer.text, field))) == (422, True)
        typed = form_on(answer.text, f"{ONE}/return")
        assert (typed["count"], typed["reason"]) == ([data["count"]], [data["reason"]])


def test_what_came_second_or_is_not_there_is_refused(owner: TestClient, hub: Hub) -> None:
    owner.post(NEW, data=SAID)
    owner.post(f"{ONE}/inspect", data={"note": ""})
    again = owner.post(f"{ONE}/inspect", data={"note": "Me too."})
    assert (again.status_code, "owner has looked at this delivery already" in again.text) == (409, True)
    owner.post("/shelf/lots/1/open", data={})
    data = {"stock_id": f"{KITS}", "count": "2", "reason": "Leaks."}
    refused = owner.post(f"{ONE}/return", data=data)
    assert refused.status_code == 409
    assert "Of the bottles of that day 1 are still shut" in refused.text
    assert form_on(refused.text, f"{ONE}/return")["reason"] == ["Leaks."]
    with hub.database.reading() as session:
        assert delivery_view(session, 1).note == "Two boxes."
        assert [line.returned for line in lines_of_deliveries(session, [1])[1]] == [0, 0]


def test_the_desk_says_what_is_due_on_the_shelf(owner: TestClient, hub: Hub, hands: Hands) -> None:
    assert "to be looked at" not in owner.get("/desk").text
    owner.post(NEW, data=SAID | {"inspect_by": "2026-03-06"})
    assert "to be looked at" not in owner.get("/desk").text, "four days are time enough"
    hands.forward(days=1)
    said = "Delivery 1 from Tern Hollow Supply is to be looked at by Fri 6 Mar, 3 days left."
    page = owner.get("/desk").text
    assert f'{said} <a href="{ONE}">' in page
    assert "to be ordered" not in page
    owner.post(f"{ONE}/inspect", data={"note": ""})
    with hub.database.writing(hands.wall_at) as session:
        # Ten days for the seats to come and fourteen to make the rod.
        for number in (ROD, SECOND):
            change_build(session, number, bench_at(session, hands.wall_at), promised_on=date(2026, 3, 27))
    page = owner.get("/desk").text
    assert "to be looked at" not in page
    assert "1 item is to be ordered today at the latest for a rod to keep its day." in page


def test_who_may_not_change_the_shelf_sees_no_money_and_no_forms(
    owner: TestClient, signed_in: SignIn
) -> None:
    owner.post(NEW, data=SAID)
    helper = signed_in(Role.HELPER)
    page = helper.get(ONE).text
    assert "10 pieces" in page
    assert "2.65" not in page
    assert "<form" not in page.split('<main id="main"')[1]
    assert helper.post(f"{ONE}/inspect", data={}).status_code == 403
    assert helper.get(NEW).status_code == 403


def test_a_second_press_takes_nothing_in_and_sends_nothing_back_again(owner: TestClient, hub: Hub) -> None:
    said = SAID | {"newest": form_on(owner.get(NEW).text, NEW)["newest"][0]}
    assert owner.post(NEW, data=said).status_code == 303
    answer = owner.post(NEW, data=said)
    assert answer.status_code == 409
    assert "A delivery was taken in since this form was opened." in answer.text
    again = form_on(answer.text, NEW)
    assert (again["newest"], again["count"][:2], on_shelf(hub, RINGS)) == (["1"], ["10", "2"], 16)
    assert owner.post(NEW, data=said | {"newest": "1"}).status_code == 303, "another one that is meant"

    back = f"{ONE}/return"
    typed = {"stock_id": f"{RINGS}", "count": "2", "reason": "Bent.", "returned": "0"}
    assert form_on(owner.get(ONE).text, back)["returned"] == ["0"]
    assert owner.post(back, data=typed).status_code == 303
    answer = owner.post(back, data=typed)
    assert answer.status_code == 409
    assert "Some of it was sent back since this page was shown" in answer.text
    assert (form_on(answer.text, back)["returned"], on_shelf(hub, RINGS)) == (["2"], 24)
