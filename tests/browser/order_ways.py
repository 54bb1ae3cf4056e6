"""What the owner says under Ways before the order of `test_order`: mail, terms, a tax, a care sheet."""

from tests.browser.order_people import Order

KINDS = ("Stage reached", "Rod ready", "Handed over", "Promise moved", "Quote", "Care note")
CARE = "Rinse it with fresh water and dry it."


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
    desk.open("/ways")
    desk.follow("Care sheet")
    desk.field("Care sheet").fill(CARE)
    desk.press("Save", then="saved")
