"""An order from the enquiry to the handover and back again, in a real browser, as the people in it see it.

An owner at a desk, a builder at the tablet on the wall, a customer whose old phone runs no scripts, and a
stranger with a phone of the same kind. The server is real and so is the mail server; the clock is moved by
hand. At the end the record and the mails must tell what was done, and the stranger must know nothing of it.
"""

import re
import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
import pytest
from playwright.sync_api import Browser, expect

from shop.web import sending
from tests.api.filled import BOND, FINISH, ZONE
from tests.browser.order_shop import BUILDER, KEY, OWNER, ROD, Seat, Shop, fill_the_shop
from tests.conftest import Hands
from tests.mail_server import Arrived, PostOffice, post_office

BEARER = {"Authorization": f"Bearer {KEY}"}
CUSTOMER, HER_MAIL = "Wanda Rusk", "wanda@example.org"
TITLE = "8 ft 3 spinning, for the river pike"
NAVY, GARNET, MOSS = "#1f4e7a", "#7a1f2b", "#3f6b2a"
KINDS = ("Stage reached", "Rod ready", "Handed over", "Promise moved", "Quote", "Care note")


@dataclass
class Order:
    """The people at their screens, and what is between them."""

    shop: Shop
    hands: Hands
    office: PostOffice
    desk: Seat
    bench: Seat
    phone: Seat
    stranger: Seat
    stranger_token: str
    news: str = ""

    @property
    def rod(self) -> str:
        return f"/builds/{ROD}"

    def bench_logs(self, stage: str, *, adhesive: int = 0, place: str = "") -> str:
        """A stage logged at the tablet in one tap, with a cup of an adhesive just mixed; gives the page."""
        if adhesive:
            mix = {"adhesive_id": adhesive, "zone_id": ZONE}
            answer = httpx.post(f"{self.shop.address}/api/v1/mixes", json=mix, headers=BEARER)
            assert answer.status_code == 201, answer.text
        self.bench.open(self.rod)
        if place:
            self.bench.field(f"Mix used at the {place}").select_option(index=1)
        return self.bench.press(f"Log: {stage}", then=f"Logged: {stage}.")

    def mails(self, about: str, many: int = 1) -> list[Arrived]:
        """The mails that have come whose subject begins so; waits until there are so many."""
        until = time.monotonic() + 10
        while time.monotonic() < until:
            subjects = [(mail, str(mail.message["Subject"])) for mail in self.office.arrived]
            found = [mail for mail, subject in subjects if subject.startswith(about)]
            if len(found) >= many:
                return found
            time.sleep(0.05)
        raise AssertionError(f"no mail “{about}” has come: {self.office.arrived}")

    def api(self, call: str) -> Any:
        """What a call of the API answers, items of a list without their frame."""
        answer = httpx.get(f"{self.shop.address}/api/v1{call}", headers=BEARER)
        assert answer.status_code == 200, answer.text
        said = answer.json()
        return said.get("items", said)

    def notes(self, kind: str) -> list[str]:
        """What the record says of a kind of event, in its order."""
        return [event["note"] for event in self.api(f"{self.rod}/events") if event["kind"] == kind]


@pytest.fixture
def order(
    migrated: Path, tmp_path: Path, hands: Hands, browser: Browser, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Order]:
    """The shop on a Monday at nine, before anybody has asked for anything."""
    monkeypatch.setattr(sending, "LOOK_SECONDS", 0.05)
    shop = Shop(migrated, tmp_path / "data", hands)
    hub = shop.hub()
    with hub.database.writing(hands.wall_at) as session:
        token = fill_the_shop(session, hub, hands.wall_at)
    hub.database.close()
    with post_office() as office:
        desk, bench = Seat(browser, shop, 1280), Seat(browser, shop, 768)
        phone, stranger = (Seat(browser, shop, 360, scripts=False) for _ in range(2))
        yield Order(shop, hands, office, desk, bench, phone, stranger, token)
        for seat in (desk, bench, phone, stranger):
            seat.page.context.close()


def link_in(mail: Arrived, room: str) -> str:
    """The address of a customer's page in a mail, the same in both of its texts."""
    found = re.search(rf"http\S+{room}\S+", mail.part("plain"))
    assert found is not None
    assert f'href="{found[0]}"' in mail.part("html")
    return found[0]


def mail_is_switched_on(order: Order) -> None:
    desk = order.desk
    desk.open("/ways")
    desk.follow("Mail")
    desk.tick("Send mail to customers")
    desk.fill(Server="127.0.0.1", Port=str(order.office.port))
    desk.tick("open line: only within this machine or your own network")
    desk.field("The shop’s address").fill("shop@rods.example")
    desk.field("The shop’s name as sender").fill("The Long Bench")
    desk.press("Save", then="Mail is on")
    for kind in KINDS:
        desk.follow(kind)
        desk.tick("Write this to customers")
        desk.press("Save")
        desk.follow("Mail")
    desk.follow("Send a trial mail")
    desk.fill(Send_it_to="maren@rods.example")
    desk.press("Send it now", then="The server has taken it for maren@rods.example")


def terms_and_a_tax_are_said(order: Order) -> None:
    desk = order.desk
    desk.open("/ways")
    desk.follow("Quote terms")
    desk.tick("its price on the shelf")
    desk.fill(Consumables_for_a_rod="6,20", Rate_an_hour="38", Overhead="15", Deposit="50")
    desk.tick("of the price: a margin")
    desk.field("Percentage of that margin or markup").fill("30")
    desk.fill(A_quote_stands_for="30")
    desk.field("Terms, as the customer reads them").fill("Half to begin with, the rest before you get it.")
    desk.press("Save")
    desk.follow("on a page of their own")
    desk.fill(Name="Sales tax", Percent="21", First_day="2026-01-01")
    desk.tick("It is on: every quote from now on has it")
    desk.press("Put on file", then="Sales tax: on")


def an_enquiry_is_taken_down(order: Order) -> None:
    desk = order.desk
    desk.open("/desk")
    desk.follow("Take down an enquiry")
    desk.field("Name of a new customer").fill(CUSTOMER)
    desk.field("E-mail").fill(HER_MAIL)
    desk.field("What it is").fill(TITLE)
    desk.choose("Kind of rod", "spinning")
    desk.fill(Thread="garnet, size A")
    desk.field("Colour of the thread").fill(GARNET)
    assert "The spec is at revision 1" not in desk.press("Take it down", then=f"Enquiry {ROD} is taken down.")
    assert ROD not in desk.open("/")
    desk.open("/desk/enquiries")
    desk.follow(f"{ROD} {TITLE}")
    desk.choose("Blank on file", "Heron 70")
    desk.field("Inscription").fill("For W. R.")
    desk.field("The inscription, typed a second time").fill("For W. R.")
    desk.press("Keep as revision 2", then="The spec is kept as revision 2.")


def what_goes_on_it_is_laid_down(order: Order) -> None:
    desk = order.desk
    desk.follow("Make-up")
    handle = (
        ("rear grip", "Cork rear grip", "1/2 in", "9 1/2 in"),
        ("reel seat", "Casting seat", "9 1/2 in", "14 in"),
        ("fore grip", "Cork fore grip", "14 in", "16 1/2 in"),
    )
    for row, (place, part, begins, ends) in enumerate(handle, 1):
        desk.field(f"Part {row}, place").fill(place)
        desk.choose(f"Part {row}, part", part)
        desk.field(f"Part {row}, begins, from the butt").fill(begins)
        desk.field(f"Part {row}, ends, from the butt").fill(ends)
    for row, from_tip in enumerate(("4 in", "18 1/2 in", "52 in"), 1):
        desk.field(f"Guide {row}, from the tip").fill(from_tip)
        desk.choose(f"Guide {row}, which guide", "Ring guide 8")
    desk.press("Keep as revision 1", then="Revision 1")


def a_quote_is_made_and_agreed(order: Order) -> None:
    desk, phone = order.desk, order.phone
    desk.open(f"{order.rod}/spec")
    shown = desk.follow("Quote")
    assert "No price is on file for Heron 70." in shown
    desk.field("Part 1, price of one").fill("101,94")
    assert "777.34" in desk.press("Work it out")
    desk.press("Keep as quote 1", then="it has not been sent yet")
    desk.press("Give it a link and send it", then="The quote has its link")
    (arrived,) = order.mails("Our quote")
    link = link_in(arrived, "/quote/")
    shown = phone.open(link)
    assert all(said in shown for said in (TITLE, "777.34 EUR", "388.67", "Half to begin with", "For W. R."))
    assert "101.94" not in shown
    phone.fill(Your_name="W. Rusk")
    assert "This quote was answered with yes" in phone.press("Yes, make it")
    # The page as it was before, from the phone's memory, and its button pressed once more.
    again = phone.page.request.post(link, form={"answer": "yes", "name": "W. Rusk"})
    assert again.status == 200
    assert "the customer said yes" in desk.open(f"{order.rod}/quote")
    assert order.notes("quote") == [
        "Quote 1, for revision 2 of the spec, was sent.",
        "Quote 1, for revision 2 of the spec, was answered with yes, over its link.",
    ]


def the_order_is_agreed_and_promised(order: Order) -> None:
    desk = order.desk
    desk.open(order.rod)
    desk.press("Give the customer a link", then="The link is ready")
    desk.follow("Change the plan")
    desk.fill(Promised_for="2026-03-13")
    desk.press("Save", then="The plan is saved.")
    assert "Next: parts in hand" in order.bench_logs("order agreed")
    (told,) = order.mails("News of your rod")
    assert "Your order is agreed." in told.part("plain")
    order.news = link_in(told, "/rod/")


def the_deposit_comes_in(order: Order) -> None:
    """Shut first; then paid at the desk by somebody who has no mouse, with a comma."""
    held = order.bench.open(order.rod)
    assert "The deposit has not been paid yet." in held
    desk = order.desk
    desk.open(order.rod)
    page, keys = desk.page, desk.page.keyboard
    desk.tab_to(page.get_by_role("link", name="Payments", exact=True))
    keys.press("Enter")
    page.wait_for_url("**/payments")
    desk.tab_to(desk.field("Amount"))
    keys.type("1.388,67")
    desk.tab_to(desk.field("Method"))
    keys.type("bank")
    keys.press("Tab")
    keys.press("Enter")
    expect(page.locator(".form-errors")).to_be_visible()
    assert desk.field("Amount").input_value() == "1.388,67"
    desk.tab_to(desk.field("Amount"))
    keys.press("Control+A")
    keys.type("388,67")
    keys.press("Enter")
    expect(page.locator("body")).to_contain_text("The payment is written down.")
    assert "The deposit" not in order.bench.open(order.rod)


def the_parts_come_in(order: Order) -> None:
    desk, bench = order.desk, order.bench
    desk.open("/shelf/components")
    desk.follow("Casting seat")
    desk.follow("Stock")
    desk.field("How many there are now").fill("0")
    desk.field("Code").fill("SEAT16")
    desk.press("Begin to count", then="Casting seat is counted from now on.")
    bench.open(order.rod)
    bench.follow("Parts")
    bench.choose("Thread", "Thread A, share of a spool")
    bench.press("Put on the list", then="Named.")
    bench.press("Set aside all that is there", then="Set aside:")
    assert "1 × Casting seat is not set aside for this rod; none on the shelf" in bench.open(order.rod)
    desk.open("/shelf/deliveries")
    desk.follow("Take a delivery in")
    desk.choose("From", "Tern Hollow Supply")
    desk.choose("Item", "Casting seat (piece)")
    desk.fill(Count="1", One_cost="17,50")
    desk.press("Take it in", then="It is on the shelf.")
    desk.press("Looked at", then="Looked at")
    bench.open(f"{order.rod}/parts")
    bench.press("Set aside all that is there", then="Set aside: 1 × Casting seat.")
    assert "Next: rear grip glued" in order.bench_logs("parts in hand")


def the_handle_is_glued(order: Order) -> None:
    bench, hands = order.bench, order.hands
    glued = order.bench_logs("rear grip glued", adhesive=BOND, place="rear grip")
    assert "Next: reel seat glued" in glued
    assert "The Riverbed at the rear grip has not set." in bench.open(order.rod)
    hands.forward(hours=23)
    bench.open(f"{order.rod}/parts")
    bench.field("Part in hand").fill("SEAT-LONG")
    refused = bench.press("Is it the right one?", then="Put it back")
    assert "in hand is “Casting seat, long”, and the reel seat of this rod is “Casting seat”." in refused
    bench.field("Part in hand").fill("SEAT16")
    bench.press("Is it the right one?", then="Right: Casting seat is for this rod.")
    order.bench_logs("reel seat glued", adhesive=BOND, place="reel seat")
    assert "Something on it is hardening until about" in order.phone.open(order.news)
    hands.forward(hours=25)
    order.bench_logs("handle cured")
    assert "The handle is on." in order.mails("News of your rod", 2)[1].part("plain")


def test_an_order_from_enquiry_to_handover(order: Order) -> None:
    with order.shop.open():
        order.desk.sign_in(OWNER)
        order.bench.sign_in(BUILDER)
        mail_is_switched_on(order)
        terms_and_a_tax_are_said(order)
        an_enquiry_is_taken_down(order)
        what_goes_on_it_is_laid_down(order)
        a_quote_is_made_and_agreed(order)
        the_order_is_agreed_and_promised(order)
        the_deposit_comes_in(order)
        the_parts_come_in(order)
        the_handle_is_glued(order)
