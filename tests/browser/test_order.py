"""An order from the enquiry to the handover and back again, in a real browser, as the people in it see it.

An owner at a desk, a builder at the tablet on the wall, a customer whose old phone runs no scripts, and a
stranger with a phone of the same kind. The server is real and so is the mail server; the clock is moved by
hand. At the end the record and the mails must tell what was done, and the stranger must know nothing of it.
"""

import io
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser, expect

from shop.rules.mails import day_words
from shop.web import sending
from tests.api.filled import BOND, FINISH
from tests.browser.order_people import (
    CUSTOMER,
    GARNET,
    HER_MAIL,
    MOSS,
    NAVY,
    PATIENCE_MS,
    TITLE,
    Order,
    Seat,
    link_in,
)
from tests.browser.order_shop import BUILDER, OWNER, ROD, Shop, fill_the_shop
from tests.browser.order_told import AGAIN, a_stranger_sees_only_their_own, the_record_tells_it
from tests.browser.order_ways import CARE, mail_is_switched_on, terms_and_a_tax_are_said
from tests.conftest import Hands
from tests.mail_server import post_office
from tests.outside.photo_samples import SECRETS, phone_jpeg


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
    desk.press("Take it down", then=f"Enquiry {ROD} is taken down.")
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
    desk.press("Give it a link and send it", then="The quote goes to the customer by mail")
    (arrived,) = order.mails("Our quote")
    link = link_in(arrived, "/quote/")
    shown = phone.open(link)
    assert all(said in shown for said in (TITLE, "777.34 EUR", "388.67", "Half to begin with", "For W. R."))
    assert "101.94" not in shown
    phone.fill(Your_name="W. Rusk")
    assert "This quote was answered with yes" in phone.press("Yes, make it")
    phone.follow("See how your rod is coming", then="Your order is with the shop")
    # The page as it was before, from the phone's memory, and its button pressed once more.
    again = phone.page.request.post(link, form={"answer": "yes", "name": "W. Rusk"})
    assert again.status == 200
    assert "the customer said yes" in desk.open(f"{order.rod}/quote")
    assert "the customer said yes, and it waits to be taken on" in desk.follow("Back to the rod")
    assert order.notes("quote") == [
        "Quote 1, for revision 2 of the spec, was sent.",
        "Quote 1, for revision 2 of the spec, was answered with yes, over its link.",
    ]


def the_order_is_agreed_and_promised(order: Order) -> None:
    desk = order.desk
    desk.open(order.rod)
    desk.follow("What the customer sees", then="Your order is with the shop, which takes it on next.")
    desk.follow("Back to the rod")
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
    expect(page.locator(".form-errors")).to_be_visible(timeout=PATIENCE_MS)
    assert desk.field("Amount").input_value() == "1.388,67"
    desk.tab_to(desk.field("Amount"))
    keys.press("Control+A")
    keys.type("388,67")
    keys.press("Enter")
    expect(page.locator("body")).to_contain_text("The payment is written down.", timeout=PATIENCE_MS)
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
    bench.choose("Thread", "Thread A")
    bench.press("Put on the list", then="Named.")
    bench.press("Set aside all that is there", then="Set aside:")
    assert "1 × Casting seat is not set aside for this rod; none free on the shelf" in bench.open(order.rod)
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


def the_customer_wants_another_thread_in_time(order: Order) -> None:
    desk, phone = order.desk, order.phone
    assert "The colour of the wraps" in order.news_after("What may still be changed")
    phone.field("Write to the shop").fill("Navy thread instead of garnet, please.")
    assert "Navy thread instead" in phone.press("Send")
    desk.open("/desk")
    assert "Navy thread instead" in desk.follow("Messages (1)")
    desk.follow("Answer")
    desk.field("Write to the customer").fill("Navy it is.")
    desk.press("Send", then="The customer finds it on the page of the rod.")
    desk.follow(ROD)
    desk.follow("Spec")
    desk.fill(Thread="navy, size A")
    desk.field("Colour of the thread").fill(NAVY)
    desk.press("Keep as revision 3", then="The spec is kept as revision 3.")
    assert "navy, size A" in desk.open(f"{order.rod}/ticket")
    assert "Navy it is." in phone.open(order.news)
    assert "I have read them" not in phone.press("I have read them")


def it_is_wrapped_and_photographed(order: Order, tmp_path: Path) -> None:
    desk, bench, phone = order.desk, order.bench, order.phone
    order.hands.forward(hours=25)
    order.bench_logs("handle cured")
    assert "The handle is on." in order.mails("News of your rod", 2)[1].part("plain")
    jpeg = tmp_path / "IMG_0001.jpg"
    jpeg.write_bytes(phone_jpeg((640, 480)))
    assert all(secret in jpeg.read_bytes() for secret in SECRETS)
    bench.open(order.rod)
    bench.field("Photo: wraps").set_input_files(jpeg)
    bench.press("Keep the photo", then="Photo taken: wraps.")
    order.bench_logs("wrapped")
    bench.follow("All photos")
    bench.field("Photos").set_input_files(jpeg)
    bench.field("What they show").fill("a scratch, for the shop alone")
    bench.press("Add them", then="The photo is on file.")
    desk.open(f"{order.rod}/photos")
    wraps = "li:has-text('wraps')"
    desk.press("Show it to the customer", then="The customer sees this photo now.", within=wraps)
    shown = phone.open(order.news)
    assert "scratch" not in shown
    assert NAVY in phone.page.content()
    (picture,) = phone.page.locator("main img").all()
    order.photo = phone.page.locator("main a.picture").get_attribute("href") or ""
    for address in (order.photo, picture.get_attribute("src") or ""):
        answer = phone.page.request.get(address)
        assert answer.headers["content-type"] == "image/jpeg"
        seen = Image.open(io.BytesIO(answer.body()))
        assert not seen.getexif()
        assert not any(secret in answer.body() for secret in SECRETS)
    for hidden in (order.photo.replace("/1.jpg", "/2.jpg"), order.photo.replace("/1.jpg", "/2-320.jpg")):
        assert phone.page.request.get(hidden).status == 404


def a_change_that_comes_too_late_is_priced(order: Order) -> None:
    desk, bench, phone = order.desk, order.bench, order.phone
    assert "the colour of the wraps" in order.news_after("Settled by now")
    desk.open(f"{order.rod}/spec")
    desk.fill(Thread="moss, size A")
    desk.field("Colour of the thread").fill(MOSS)
    desk.press("Keep as revision 4", then="so this is a rework: say why it is changed now.")
    assert desk.field("Thread").input_value() == "moss, size A"
    desk.field("Reason for the change").fill("The reel is green.")
    desk.press("Keep as revision 4", then="a rework. It waits for: A quote with its price.")
    assert "The newest quote is for revision 2; the spec is at revision 4 now." in bench.open(order.rod)
    desk.follow("Quote")
    desk.unfold("Make a further quote")
    desk.field("Rework 1, what is done again").fill("The wraps, in moss")
    desk.field("Rework 1, what is asked for it").fill("45")
    desk.press("Keep as quote 2", then="Quote 2 is kept")
    desk.press("Give it a link and send it", then="The quote goes to the customer by mail")
    assert "The customer has not said yes to revision 4." in bench.open(order.rod)
    order.quote = link_in(order.mails("Our quote", 2)[1], "/quote/")
    shown = phone.open(order.quote)
    assert "The wraps, in moss" in shown
    assert "831.79 EUR" in shown
    assert "Paid for this rod so far 388.67 EUR" in shown
    phone.fill(Your_name="W. Rusk")
    assert "This quote was answered with yes" in phone.press("Yes, make it")


def it_is_wrapped_again(order: Order) -> None:
    desk, bench = order.desk, order.bench
    desk.open(order.rod)
    desk.unfold("Send this rod back")
    desk.choose("Back to", "handle cured")
    desk.fill(Reason="Wrapped again in another colour.")
    desk.press("Send back", then="Sent back to: handle cured.")
    bench.open(f"{order.rod}/parts")
    thread = "li:has-text('Thread A')"
    bench.page.locator(thread).locator("summary").click()
    bench.page.locator(thread).get_by_label("Why it is spoilt").fill("Unwrapped.")
    bench.press("Spoilt, take another", then="Spoilt; the rod takes another", within=thread)
    bench.press("Set aside all that is there", then="Set aside: 1 × Thread A")
    order.bench_logs("wrapped")
    order.bench_logs("first coat", adhesive=FINISH, place="guide wraps")
    order.phone.open(order.news)
    assert MOSS in order.phone.page.content()


def the_promise_slips(order: Order) -> None:
    desk = order.desk
    desk.open(order.rod)
    desk.follow("Change the plan")
    desk.fill(Promised_for="2026-03-17")
    assert "reason" in desk.press("Save", then="Not saved yet.")
    desk.field("Why the promise moves").fill("The wraps are done a second time.")
    desk.press("Save", then="The plan is saved.")
    (told,) = order.mails("Another day")
    days = ("Friday 13 March 2026", "Tuesday 17 March 2026", "The wraps are done a second time.")
    assert all(said in told.part("plain") for said in days)
    assert told.message["Date"].datetime == order.hands.wall_at
    moved = order.news_after("The day has moved:")
    assert "from Fri 13 Mar to Tue 17 Mar. The wraps are done a second time." in moved


def the_rest_is_paid_and_the_rod_handed_over(order: Order) -> None:
    desk, hands = order.desk, order.hands
    hands.forward(hours=10)
    order.bench_logs("second coat", adhesive=FINISH, place="guide wraps")
    hands.forward(hours=25)
    order.bench_logs("finish cured")
    order.bench_logs("inspected")
    (ready,) = order.mails("Your rod 26-002 is ready")
    assert "Still to be paid: 443.12 EUR." in ready.part("plain")
    held = order.bench.open(order.rod)
    assert "The whole price has been paid only in part." in held
    owed = order.news_after("What it comes to")
    assert "Owed 443.12 EUR" in owed
    assert "to begin with" not in owed
    desk.open(f"{order.rod}/payments")
    desk.fill(Amount="443.12")
    desk.choose("Method", "cash")
    desk.press("Write it down", then="The payment is written down.")
    order.bench_logs("handed over")
    (handed,) = order.mails("Your rod 26-002 is yours")
    kept = order.news_after("Now that it is yours")
    assert f"handed over on {day_words(hands.wall_at.date())}" in handed.part("plain")
    assert "Warranty until" in kept
    assert CARE in kept
    assert CARE in handed.part("plain")


def a_month_later(order: Order) -> None:
    """The server was stopped meanwhile, and is once more after the mail has gone."""
    with order.shop.open():
        (care,) = order.mails("How is your rod")
        assert link_in(care, "/rod/") == order.news
    with order.shop.open():
        order.desk.sign_in(OWNER)
        order.desk.open("/desk/finished")
        order.desk.follow(f"{ROD} {TITLE}")
        order.desk.press("Same again", then=f"Enquiry {AGAIN} is taken down, like {ROD}.")
        assert "moss, size A" in order.desk.follow("Spec")
        assert AGAIN in order.desk.open("/desk/enquiries")
        of_again, of_first = (order.api(f"/builds/{number}/make-up") for number in (AGAIN, ROD))
        assert of_again["parts"] == of_first["parts"]
        a_stranger_sees_only_their_own(order)
        the_record_tells_it(order)


def test_an_order_from_enquiry_to_handover(order: Order, tmp_path: Path) -> None:
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
        the_customer_wants_another_thread_in_time(order)
        it_is_wrapped_and_photographed(order, tmp_path)
        a_change_that_comes_too_late_is_priced(order)
        it_is_wrapped_again(order)
        the_promise_slips(order)
        the_rest_is_paid_and_the_rod_handed_over(order)
        assert order.api(f"/builds/{ROD}")["stage"] == "handed over"
    order.hands.forward(days=30, hours=1)
    a_month_later(order)
