"""What News of your rod tells: promises, changes, money, photos, care; the preview; nothing of other rods."""

import re
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from fastapi.testclient import TestClient
from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.queries.builds import build_record
from shop.queries.shop import shop_version
from shop.rules.payments import PaymentSaid
from shop.rules.people import Role
from shop.rules.sequences import HoldKind
from shop.services.builds import change_build
from shop.services.care_sheet import save_care_sheet
from shop.services.events import Logged, Release, advance
from shop.services.messages import write_from_customer, write_from_shop
from shop.services.payments import record_payment
from shop.services.photos import StoredPhoto, add_photos, share_photo
from shop.services.promises import change_promise
from shop.services.quotes import make_quote, send_quote, take_down_answer
from shop.services.status_links import give_link
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.queries.test_plans import asked
from tests.quote_shop import NUMBER, SAID, bench_of, fill_for_quotes

SignIn = Callable[[Role], TestClient]
OTHER = "26-001"
DAY, LATE = date(2026, 4, 2), date(2026, 4, 9)
WHY = "A guide came <b>bent</b>."


class Customer:
    """A rod with its link, and a hand at the desk: `do` writes, `page` is what the customer sees."""

    def __init__(self, hub: Hub, hands: Hands, client: TestClient) -> None:
        self.hub, self.hands, self.client = hub, hands, client
        with hub.database.writing(hands.wall_at) as session:
            fill_for_quotes(session, hands.wall_at)
            self.links = {number: self._link(session, number) for number in (NUMBER, OTHER)}

    def _link(self, session: Session, number: str) -> str:
        build_id = build_record(session, number).id
        return f"/rod/{give_link(session, self.hub.secret, build_id, now=self.hands.wall_at)}"

    def do(self, work: Callable[[Session, Any], object]) -> None:
        """Something written by whoever sits at the desk."""
        with self.hub.database.writing(self.hands.wall_at) as session:
            work(session, bench_of(session, self.hands.wall_at))

    def page(self, number: str = NUMBER) -> str:
        answer = self.client.get(self.links[number])
        assert answer.status_code == 200
        return answer.text.split("<main")[1]


@pytest.fixture
def customer(hub: Hub, hands: Hands, client: TestClient) -> Customer:
    return Customer(hub, hands, client)


def build_of(session: Session) -> Build:
    return build_record(session, NUMBER)


def test_a_promise_and_its_moves_are_told_with_their_reasons(customer: Customer) -> None:
    assert "What we promised" not in customer.page()
    customer.do(lambda s, bench: change_promise(s, NUMBER, bench, promised_on=DAY))
    page = customer.page()
    assert "Promised for</dt><dd>Thu 2 Apr" in page
    assert "The day has moved" not in page
    customer.do(lambda s, bench: change_promise(s, NUMBER, bench, promised_on=LATE, reason=WHY))
    customer.do(lambda s, bench: change_promise(s, NUMBER, bench, promised_on=None, reason="No blank."))
    page = customer.page()
    assert "no day just now" in page
    assert page.index("Thu 9 Apr no longer holds") < page.index("from Thu 2 Apr to Thu 9 Apr")
    assert "A guide came &lt;b&gt;bent&lt;/b&gt;." in page
    assert "Nell" not in page


@pytest.mark.parametrize(
    ("change_by", "open_words", "settled"),
    [
        (None, "Until your rod is handed over.", ""), (date(2026, 3, 2), "Until Mon 2 Mar.", ""),
        (date(2026, 3, 1), "", "The last day for changes was Sun 1 Mar."),
    ],
)  # fmt: skip
def test_the_last_day_for_changes_is_the_one_the_shop_named(
    customer: Customer, change_by: date | None, open_words: str, settled: str
) -> None:
    customer.do(lambda s, bench: change_build(s, NUMBER, bench, change_by=change_by))
    page = customer.page()
    assert open_words in page
    assert ("Settled by now" in page, "a price of its own" in page) == (bool(settled), bool(settled))
    assert settled in page


def test_what_is_owed_is_told_once_there_is_a_yes(customer: Customer) -> None:
    def agree(session: Session, bench: Any) -> None:
        quote = make_quote(session, NUMBER, bench, SAID)
        send_quote(session, customer.hub.secret, quote.id, bench)
        take_down_answer(session, quote.id, bench, answer="yes", name="Ada")

    def pay(session: Session, bench: Any) -> None:
        record_payment(session, NUMBER, bench, PaymentSaid("deposit", 388_67, "cash", bench.now.date()))

    assert "What it comes to" not in customer.page()
    customer.do(agree)
    page = customer.page()
    assert re.findall(r"<dd>([\d.]+ USD)", page) == ["777.34 USD", "0.00 USD", "777.34 USD", "388.67 USD"]
    customer.do(pay)
    page = customer.page()
    assert re.findall(r"<dd>([\d.]+ USD)", page) == ["777.34 USD", "388.67 USD", "388.67 USD"]
    assert "USD" not in customer.page(OTHER)
    customer.do(lambda s, _: setattr(build_of(s), "closed_as", "cancelled"))
    customer.do(lambda s, bench: setattr(build_of(s), "closed_at", bench.now))
    page = customer.page()
    assert "This order is closed" in page
    assert "USD" not in page
    assert "comes next" not in page


def test_the_deposit_is_not_asked_for_once_its_stage_is_behind(customer: Customer) -> None:
    def begin(session: Session, bench: Any) -> None:
        quote = make_quote(session, NUMBER, bench, SAID)
        send_quote(session, customer.hub.secret, quote.id, bench)
        take_down_answer(session, quote.id, bench, answer="yes")
        advance(session, NUMBER, bench, Logged("agreed"))

    customer.do(begin)
    assert "Of that, to begin with" in customer.page()
    unpaid = (Release(HoldKind.DEPOSIT, "An old customer."),)
    customer.do(lambda s, bench: advance(s, NUMBER, bench, Logged("begun", releases=unpaid)))
    page = customer.page()
    assert "Owed" in page
    assert "Of that, to begin with" not in page


def test_care_and_warranty_come_with_the_handing_over(customer: Customer, hands: Hands) -> None:
    customer.do(lambda s, _: save_care_sheet(s, "Rinse it.\nKeep <dry>.", version=shop_version(s)))
    customer.do(lambda s, _: setattr(build_of(s), "warranty_until", date(2027, 3, 2)))
    assert "Rinse it." not in customer.page()
    customer.do(lambda s, bench: setattr(build_of(s), "closed_at", bench.now))
    page = customer.page()
    assert "Rinse it.\nKeep &lt;dry&gt;." in page
    assert "Warranty until</dt><dd>Tue 2 Mar 2027" in page
    assert "What may still be changed" not in page
    hands.forward(days=1)
    customer.do(lambda s, _: setattr(build_of(s), "closed_as", "cancelled"))
    assert "Rinse it." not in customer.page()


def test_an_enquiry_is_not_told_as_work(customer: Customer) -> None:
    customer.do(lambda s, _: setattr(build_of(s), "is_enquiry", True))
    assert "nothing is ordered yet" in customer.page()


def share(session: Session, bench: Any) -> None:
    """A photo of each rod, the customer's own shared."""
    for letters, number in (("ab", NUMBER), ("cd", OTHER)):
        stored = [StoredPhoto(letters * 16, 640, 480, 1000)]
        (photo_id,) = add_photos(session, number, bench, stored, caption=f"of {number}")
        share_photo(session, photo_id, bench, shared=True)


def fill_everything(customer: Customer) -> None:
    """Write about both rods all that a customer may read, each naming its own rod."""

    def write(session: Session, bench: Any) -> None:
        for number in (NUMBER, OTHER):
            build = build_record(session, number)
            change_promise(session, number, bench, promised_on=DAY)
            change_promise(session, number, bench, promised_on=LATE, reason=f"late: {number}")
            change_build(session, number, bench, notes=f"notes: {number}")
            write_from_customer(session, build.id, now=bench.now, text=f"asked: {number}")
            write_from_shop(session, number, bench, text=f"answered: {number}")

    customer.do(write)
    customer.do(share)


def test_a_stranger_with_one_link_sees_one_rod(customer: Customer) -> None:
    fill_everything(customer)
    for own, other in ((NUMBER, OTHER), (OTHER, NUMBER)):
        page = customer.page(own)
        for words in ("late: ", "asked: ", "answered: ", "of "):
            assert words + own in page
            assert words + other not in page
        assert "notes: " not in page
        other_token = customer.links[other].rpartition("/")[2]
        assert other_token not in page
        photo = 1 if own == NUMBER else 2
        assert f"{customer.links[own]}/photos/{photo}.jpg" in page
        for path in (f"/photos/{3 - photo}.jpg", f"/photos/{3 - photo}-320.jpg", "/messages/1", "/news"):
            answer = customer.client.get(customer.links[own] + path)
            assert (answer.status_code, "Nothing to see here" in answer.text) == (404, True), path
    for path in ("", "/news", "/messages", "/photos", "/quote", "/payments", "/order"):
        assert customer.client.get(f"/builds/{NUMBER}{path}").status_code == 303


def test_the_preview_is_the_page_with_a_bar_and_needs_no_link(customer: Customer, signed_in: SignIn) -> None:
    fill_everything(customer)
    seen = customer.page()
    desk = signed_in(Role.OWNER)
    where = f"/builds/{NUMBER}/news"
    assert f'href="{where}"' in desk.get(f"/builds/{NUMBER}").text
    desk.post(f"/builds/{NUMBER}/status-link/end")
    assert f'href="{where}"' in desk.get(f"/builds/{NUMBER}").text
    answer = desk.get(where)
    assert answer.status_code == 200
    shown = answer.text.split("<main")[1]
    bar = re.search(r'<p class="warning preview-bar">.*?</p>', shown, re.S)
    assert bar is not None
    assert "A preview." in bar[0]
    link = re.escape(customer.links[NUMBER])
    expected = re.sub(
        rf'<form method="post" action="{link}/messages/seen">.*?</form>\s*', "", seen, flags=re.S
    )
    expected = re.sub(rf' method="post" action="{link}/messages"', "", expected)
    expected = expected.replace('<fieldset class="plain">', '<fieldset class="plain" disabled>')
    expected = re.sub(rf"{link}/photos/(\d+)-320.jpg", r"/photos/\1/320.jpg", expected)
    expected = re.sub(rf"{link}/photos/(\d+).jpg", r"/photos/\1/1280.jpg", expected)
    assert _squeezed(shown.replace(bar[0], "")) == _squeezed(expected)
    assert signed_in_as_helper(customer, signed_in).get(where).status_code == 403


def _squeezed(page: str) -> str:
    return re.sub(r"\s+", "", page)


def signed_in_as_helper(customer: Customer, signed_in: SignIn) -> TestClient:
    customer.client.cookies.clear()
    return signed_in(Role.HELPER)


def test_more_to_tell_asks_for_no_more_statements(customer: Customer, hub: Hub, hands: Hands) -> None:
    def count() -> int:
        customer.page()
        with hub.database.writing(hands.forward(minutes=2)):
            pass
        with asked(hub) as statements:
            customer.page()
        return len(statements)

    before = count()
    fill_everything(customer)
    assert count() == before > 0
