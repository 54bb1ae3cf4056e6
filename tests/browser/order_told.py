"""What is known of the order of `test_order` at its end: to the shop all of it, to a stranger nothing."""

from decimal import ROUND_HALF_UP, Decimal

import httpx

from tests.browser.order_people import BEARER, CUSTOMER, GARNET, HER_MAIL, MOSS, NAVY, TITLE, Order, token_of
from tests.browser.order_shop import ROD, STRANGER
from tests.outside.photo_samples import phone_jpeg

AGAIN = "26-003"
LINKED = "found => found.map(it => it.getAttribute('href') || it.getAttribute('src'))"
RECORD = [
    "spec: Revision 1 of the spec is written down.",
    "spec: Revision 2 of the spec: blank on file, inscription, inscription (second typing).",
    "make_up: What goes on the rod is laid down.",
    "quote: Quote 1, for revision 2 of the spec, was sent.",
    "quote: Quote 1, for revision 2 of the spec, was answered with yes, over its link.",
    "promise: Promised for Friday 13 March 2026.",
    "stage: order agreed",
    "payment: A payment is written down: deposit came in.",
    "parts: Named by hand: 1 × Thread A.",
    "parts: Set aside: 1 × Cork rear grip, 3 × Ring guide 8, 1 × Thread A.",
    "parts: Set aside: 1 × Casting seat.",
    "stage: parts in hand",
    "stage: rear grip glued",
    "parts: Used: 1 × Cork rear grip.",
    "cure: Riverbed closed at the rear grip.",
    "parts: Held against the rod, and it is the right one: Casting seat.",
    "stage: reel seat glued",
    "parts: Used: 1 × Casting seat.",
    "cure: Riverbed closed at the reel seat.",
    "spec: Revision 3 of the spec: colour of the thread, thread.",
    "stage: handle cured",
    "photo: A photo was taken.",
    "stage: wrapped",
    "parts: Used: 3 × Ring guide 8, 1 × Thread A.",
    "photo: A photo was taken.",
    "photo: A photo was shown to the customer.",
    "spec: Revision 4 of the spec: colour of the thread (rework), thread (rework).",
    "quote: Quote 2, for revision 4 of the spec, was sent.",
    "quote: Quote 2, for revision 4 of the spec, was answered with yes, over its link.",
    "send_back: Wrapped again in another colour.",
    "parts: Still counted as used: 3 × Ring guide 8, 1 × Thread A. Say at the rod's parts what came off "
    "whole and what has to be taken anew.",
    "parts: Spoilt, to be taken anew: 1 × Thread A. Unwrapped.",
    "parts: Set aside: 1 × Thread A.",
    "stage: wrapped",
    "parts: Used: 1 × Thread A.",
    "stage: first coat",
    "cure: Stillwater closed at the guide wraps.",
    "promise: Promised later: from Friday 13 March 2026 to Tuesday 17 March 2026. The wraps are done a "
    "second time.",
    "stage: second coat",
    "cure: Stillwater closed at the guide wraps.",
    "stage: finish cured",
    "stage: inspected",
    "payment: A payment is written down: balance came in.",
    "stage: handed over",
]
MAILED = ["quote", "stage", "stage", "quote", "slip", "ready", "handed_over", "care"]
SUBJECTS = [
    "Our quote for your rod N", "News of your rod N", "News of your rod N", "Our quote for your rod N",
    "Another day for your rod N", "Your rod N is ready", "Your rod N is yours", "How is your rod N?",
]  # fmt: skip


def worked_by_hand(*, rework: str) -> int:
    """What the rod comes to in cents: parts, thread and glue, five hours, overhead, margin, rework, tax."""

    def cents(amount: Decimal) -> Decimal:
        return amount.quantize(Decimal("0.01"), ROUND_HALF_UP)

    parts = Decimal("101.94") + Decimal("24.00") + Decimal("31.50") + Decimal("12.50") + 3 * Decimal("8.30")
    before = parts + Decimal("6.20") + 5 * Decimal("38.00")
    price = cents((before + cents(before * 15 / 100)) / Decimal("0.70")) + Decimal(rework)
    return int(100 * (price + cents(price * 21 / 100)))


def a_stranger_sees_only_their_own(order: Order) -> None:
    phone, page = order.stranger, order.stranger.page
    home = f"/rod/{order.stranger_token}"
    sent = {"file": ("mine.jpg", phone_jpeg((320, 240)), "image/jpeg")}
    url = f"{order.shop.address}/api/v1"
    mine = httpx.post(f"{url}/builds/{STRANGER}/photos", files=sent, headers=BEARER).json()["id"]
    shared = httpx.patch(f"{url}/photos/{mine}", json={"shared": True}, headers=BEARER)
    assert shared.status_code == 200
    phone.open(home)
    phone.field("Write to the shop").fill("How is mine?")
    assert "How is mine?" in phone.press("Send")
    linked = page.locator("[href], [src]").evaluate_all(LINKED)
    ours = {ROD, AGAIN, TITLE, CUSTOMER, "W. Rusk", HER_MAIL, "Navy", MOSS, token_of(order.news)}
    pictures = []
    for address in dict.fromkeys([home, *linked]):
        answer = page.request.get(address)
        if answer.headers["content-type"] == "image/jpeg":
            pictures.append(address)
        else:
            assert not [word for word in ours if word in answer.text()], address
    assert pictures == [f"{home}/photos/{mine}.jpg", f"{home}/photos/{mine}-320.jpg"]
    first, second = token_of(order.news), order.stranger_token
    theirs = (order.photo, order.photo.replace(".jpg", "-320.jpg"), f"/quote/{token_of(order.quote)}")
    assert [page.request.get(address).status for address in theirs] == [200, 200, 200]
    for address in theirs:
        swapped = address.replace(first, second).replace(token_of(order.quote), second)
        assert page.request.get(swapped).status == 404
    assert page.request.get(f"/rod/{token_of(order.quote)}").status == 404
    assert page.request.get(f"/rod/{second}/messages/1").status == 404
    page.context.clear_cookies()
    for address in (order.rod, f"{order.rod}/photos", "/photos/1/1280.jpg", f"/api/v1{order.rod}"):
        answer = page.request.get(address, max_redirects=0)
        assert answer.status in (303, 401), address


def the_record_tells_it(order: Order) -> None:
    events = order.api(f"{order.rod}/events")
    assert [f"{event['kind']}: {event['note'] or event['stage']}" for event in events] == RECORD
    assert not [event for event in events if CUSTOMER in str(event) or "Navy" in str(event)]
    payments = order.api(f"{order.rod}/payments")
    assert [(paid["kind"], paid["cents"], paid["method"]) for paid in payments] == [
        ("deposit", 388_67, "bank transfer"), ("balance", 443_12, "cash"),
    ]  # fmt: skip
    quotes = order.api(f"{order.rod}/quotes")
    assert [(quote["spec_revision"], quote["total_cents"], quote["answer"]) for quote in quotes] == [
        (4, worked_by_hand(rework="45"), "yes"), (2, worked_by_hand(rework="0"), "yes"),
    ]  # fmt: skip
    specs = sorted(order.api(f"{order.rod}/specs"), key=lambda spec: spec["revision"])
    assert [spec["thread_colour"] for spec in specs] == [GARNET, GARNET, NAVY, MOSS]
    assert [(spec["rework"], spec["reason"]) for spec in specs[2:]] == [
        ([], ""), (["thread_colour", "thread_name"], "The reel is green."),
    ]  # fmt: skip
    promises = order.api(f"{order.rod}/promises")
    assert [promise["promised_on"] for promise in promises] == ["2026-03-13", "2026-03-17"]
    assert [photo["shared"] for photo in order.api(f"{order.rod}/photos")] == [True, False]
    assert [(mail["kind"], mail["state"]) for mail in order.api("/mails")] == [
        (kind, "sent") for kind in MAILED
    ]  # fmt: skip
    trial, *told = [arrived.message for arrived in order.office.arrived]
    assert str(trial["To"]) == "maren@rods.example"
    assert [str(mail["Subject"]).replace(ROD, "N") for mail in told] == SUBJECTS
    assert {str(mail["To"].addresses[0].addr_spec) for mail in told} == {HER_MAIL}
    assert {str(mail["From"]) for mail in told} == {"The Long Bench <shop@rods.example>"}
    assert len({mail["Message-ID"] for mail in told}) == len(MAILED)
    assert {mail.get_content_type() for mail in told} == {"multipart/alternative"}
