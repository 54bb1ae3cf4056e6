"""The outbox: a mail is claimed, sent and done with, tried again, given up, and a person's word obeyed."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from sqlalchemy.orm import Session

from shop.craft.saying import say_money
from shop.queries.customers import customer_record
from shop.queries.mails import due_mail, mail_view, mails_of_build, next_mail_at
from shop.rules.mails import MOST_TRIES, STALE_AFTER, MailKind, MailState
from shop.rules.people import ROLE_RIGHTS, Actor, Role
from shop.rules.refusals import NotOnFile, Overtaken
from shop.services.bench import Signer
from shop.services.builds import change_build
from shop.services.customers import add_customer
from shop.services.events import Logged, advance
from shop.services.mails import (
    forget_mails,
)
from shop.services.outbox import (
    CLAIM,
    OUTRUN,
    claim_mail,
    drop_mail,
    mark_failed,
    mark_sent,
    try_again,
)
from shop.services.promises import change_promise
from shop.services.quotes import make_quote, send_quote, take_down_answer, withdraw_quote
from shop.services.status_links import end_link, give_link
from shop.web.deps import Hub
from tests.conftest import START, Hands
from tests.mail_shop import (
    ADA,
    FROM,
    ROD,
    SECRET,
    SEQUENCE,
    claimed,
    claimed_one,
    open_mail_shop,
    outbox,
    reach,
    state,
    switch_kind,
    switch_mail,
    take_rod,
)
from tests.quote_shop import NUMBER, SAID, bench_of, fill_for_quotes
from tests.services.test_payments import pay

LATER = START + timedelta(days=1)


@pytest.fixture
def shop(session: Session) -> Session:
    open_mail_shop(session, START)
    return session


def customer(**changes: Any) -> Callable[[Session], None]:
    def change(session: Session) -> None:
        for name, value in changes.items():
            setattr(customer_record(session, 1), name, value)
        session.flush()

    return change


def test_a_mail_is_claimed_sent_and_done_with(shop: Session) -> None:
    token = give_link(shop, SECRET, 1, now=START)
    reach(shop, START, "agreed")
    assert next_mail_at(shop) == START
    claim = claimed_one(shop)
    assert (claim.to_address, claim.settings.from_address) == (ADA, FROM)
    assert f"Its page: https://rods.example/rod/{token}\n" in claim.words.text
    assert f'<a href="https://rods.example/rod/{token}">' in claim.words.html
    # The link opens the customer's page, so the database does not have it.
    assert token not in repr(mail_view(shop, 1))
    assert claimed(shop) is None
    assert next_mail_at(shop) == START + CLAIM
    mark_sent(shop, claim, now=START)
    assert (state(shop), next_mail_at(shop)) == ((MailState.SENT, ""), None)
    assert claimed(shop, LATER) is None


def test_without_a_link_its_line_is_left_out(shop: Session) -> None:
    reach(shop, START, "agreed")
    give_link(shop, SECRET, 1, now=START)
    end_link(shop, 1, now=START)
    claim = claimed_one(shop)
    assert "page" not in claim.words.text + claim.words.html
    give_link(shop, SECRET, 1, now=START)
    nowhere = claim_mail(shop, now=START + CLAIM, secret=SECRET, public_url="")
    assert nowhere is not None
    assert "page" not in nowhere.words.text + nowhere.words.html


def test_a_claim_that_ran_out_is_tried_again_under_the_same_message_id(shop: Session) -> None:
    reach(shop, START, "agreed")
    first = claimed_one(shop)
    assert claimed(shop, START + CLAIM - timedelta(seconds=1)) is None
    second = claimed_one(shop, START + CLAIM)
    assert (second.message_id, second.words) == (first.message_id, first.words)
    # The first, alive after all, says nothing about what the second does.
    mark_failed(shop, first, now=START + CLAIM, says="too late", is_for_good=True)
    assert state(shop) == (MailState.WAITING, "")
    mark_failed(shop, second, now=START + CLAIM, says="451 busy", is_for_good=False)
    assert next_mail_at(shop) == START + CLAIM + timedelta(minutes=5)


def test_what_fails_is_tried_until_it_is_given_up(shop: Session) -> None:
    reach(shop, START, "agreed")
    now, tries = START, 0
    while (due := next_mail_at(shop)) is not None:
        now, tries = due, tries + 1
        mark_failed(shop, claimed_one(shop, now), now=now, says=f"try {tries}", is_for_good=False)
    assert tries == MOST_TRIES
    assert state(shop) == (MailState.GIVEN_UP, f"Given up after {MOST_TRIES} tries. try {MOST_TRIES}")
    assert timedelta(days=2) < now - START < timedelta(days=4)


def test_what_is_refused_for_good_is_given_up_at_once(shop: Session) -> None:
    reach(shop, START, "agreed")
    mark_failed(shop, claimed_one(shop), now=START, says="550 no\nsuch user" + "x" * 900, is_for_good=True)
    said = state(shop)
    assert said[0] is MailState.GIVEN_UP
    assert said[1].startswith("550 no such user")
    assert len(said[1]) == 500


def test_a_process_that_dies_at_each_try_does_not_try_for_ever(shop: Session) -> None:
    reach(shop, START, "agreed")
    now = START
    for _ in range(MOST_TRIES):
        claimed_one(shop, now)
        now += CLAIM
    assert claimed(shop, now) is None
    assert state(shop)[0] is MailState.GIVEN_UP


@pytest.mark.parametrize(("late", "goes"), [(STALE_AFTER, True), (STALE_AFTER + timedelta(seconds=1), False)])
def test_what_lay_too_long_is_looked_at_before_it_goes(shop: Session, late: timedelta, goes: bool) -> None:
    reach(shop, START, "agreed")
    switch_mail(shop, is_on=False)
    assert (next_mail_at(shop), due_mail(shop, LATER)) == (None, None)
    switch_mail(shop)
    assert (claimed(shop, START + late) is not None) is goes
    if not goes:
        assert "more than a week" in state(shop)[1]
        try_again(shop, 1, now=START + late)
        assert claimed(shop, START + late) is not None


def test_who_wants_no_mail_any_more_gets_none(shop: Session) -> None:
    reach(shop, START, "agreed")
    customer(wants_mail=False)(shop)
    assert claimed(shop) is None
    assert state(shop) == (MailState.GIVEN_UP, "The customer wants no mail any more.")
    with pytest.raises(Overtaken, match="no mail any more"):
        try_again(shop, 1, now=LATER)


def test_a_person_says_try_again_or_do_not_send(shop: Session) -> None:
    reach(shop, START, "agreed")
    claim = claimed_one(shop)
    with pytest.raises(Overtaken, match="is being sent"):
        try_again(shop, 1, now=START)
    with pytest.raises(Overtaken, match="is being sent"):
        drop_mail(shop, 1, now=START, by="Nell")
    mark_failed(shop, claim, now=START, says="550 unknown", is_for_good=True)
    with pytest.raises(Overtaken, match="not being sent anyway"):
        drop_mail(shop, 1, now=START, by="Nell")
    customer(email="ada.thorn@example.org")(shop)
    again = try_again(shop, 1, now=LATER)
    assert (again.to_address, again.tries, again.next_try_at) == ("ada.thorn@example.org", 0, LATER)
    drop_mail(shop, 1, now=LATER, by="Nell")
    assert state(shop) == (MailState.GIVEN_UP, "Not to be sent, Nell says.")
    try_again(shop, 1, now=LATER)
    mark_sent(shop, claimed_one(shop, LATER), now=LATER)
    with pytest.raises(Overtaken, match="sent already"):
        try_again(shop, 1, now=LATER)
    with pytest.raises(NotOnFile):
        drop_mail(shop, 9, now=LATER, by="Nell")


def test_a_kind_that_was_switched_off_meanwhile_does_not_go_out(shop: Session) -> None:
    reach(shop, START, "agreed")
    switch_kind(shop, MailKind.STAGE, is_on=False)
    assert claimed(shop) is None
    assert state(shop) == (MailState.GIVEN_UP, "Mail of this kind was switched off before it went out.")
    with pytest.raises(Overtaken, match="switched off"):
        try_again(shop, 1, now=START)
    switch_kind(shop, MailKind.STAGE)
    try_again(shop, 1, now=START)
    assert claimed(shop) is not None


def test_a_mail_goes_to_the_address_that_the_customer_has_by_now(shop: Session) -> None:
    reach(shop, START, "agreed", "wrapped", "coated")
    customer(email="ada.thorn@example.org")(shop)
    assert claimed_one(shop).to_address == "ada.thorn@example.org"
    assert mail_view(shop, 1).to_address == "ada.thorn@example.org"
    customer(email="")(shop)
    assert claimed(shop) is None
    assert "no address on file" in state(shop, 2)[1]


def test_what_is_no_longer_so_when_it_is_due_does_not_go_out(shop: Session) -> None:
    def given_up() -> list[int]:
        while due_mail(shop, START) is not None:
            claimed(shop)
        return [mail.id for mail in outbox(shop) if mail.last_error == OUTRUN]

    bench = Signer(START, Actor("Nell", ROLE_RIGHTS[Role.OWNER]))
    for promised_on in (date(2026, 4, 2), date(2026, 4, 9)):
        change_promise(shop, ROD, bench, promised_on=promised_on, reason="A guide is late.")
    claim = claimed_one(shop)
    change_promise(shop, ROD, bench, promised_on=date(2026, 4, 16), reason="Later still.")
    mark_failed(shop, claim, now=START - timedelta(minutes=1), says="451 busy", is_for_good=False)
    assert given_up() == [1]
    reach(shop, START, *(stage.name for stage in SEQUENCE.stages))
    # It is not ready any more, it is the customer's.
    (ready,) = (mail.id for mail in outbox(shop) if mail.kind == MailKind.READY)
    assert given_up() == [1, ready]
    take_rod(shop, START)
    reach(shop, START, "agreed", number="26-002")
    add_customer(shop, now=START, name="Bo Fell", email="bo@example.org")
    change_build(shop, "26-002", bench, customer_id=2)
    assert given_up() == [1, ready, outbox(shop)[-1].id]


def test_what_a_process_left_long_ago_goes_out_once_a_person_says_so(shop: Session) -> None:
    reach(shop, START, "agreed")
    claimed_one(shop)
    late = START + STALE_AFTER + CLAIM + timedelta(days=1)
    try_again(shop, 1, now=late)
    assert claimed(shop, late) is not None


def test_two_processes_never_have_the_same_mail(hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        open_mail_shop(session, hands.wall_at)
        reach(session, hands.wall_at, "agreed", "wrapped", "coated")
    found = []
    for _ in range(3):
        with hub.database.writing(hands.wall_at) as session:
            found.append(claimed(session, hands.wall_at))
    assert [None if claim is None else claim.mail_id for claim in found] == [1, 2, None]


def test_a_person_can_be_taken_out_of_the_outbox(shop: Session) -> None:
    reach(shop, START, "agreed", "wrapped", "coated")
    mark_sent(shop, claimed_one(shop), now=START)
    claim = claimed_one(shop)
    forget_mails(shop, 1, now=LATER)
    mark_failed(shop, claim, now=LATER, says=f"550 {ADA} is unknown", is_for_good=True)
    for mail in outbox(shop):
        assert "Ada" not in repr(mail)
        assert ADA not in repr(mail)
    assert [mail.state for mail in mails_of_build(shop, 1)] == [MailState.GIVEN_UP, MailState.SENT]
    customer(email="")(shop)
    with pytest.raises(Overtaken, match="no address on file"):
        try_again(shop, 2, now=LATER)


def test_a_quote_goes_out_with_its_own_link_and_what_is_owed_is_said(session: Session) -> None:
    fill_for_quotes(session, START)
    customer(email=ADA)(session)
    switch_mail(session)
    switch_kind(session, MailKind.QUOTE)
    switch_kind(session, MailKind.READY)
    bench = bench_of(session, START)
    quote = make_quote(session, NUMBER, bench, SAID)
    assert outbox(session) == []
    token = send_quote(session, SECRET, quote.id, bench)
    claim = claimed_one(session)
    total = f"{say_money(quote.total_cents)} USD"
    assert f"It comes to {total}." in claim.words.text
    assert f"Read it and answer here: https://rods.example/quote/{token}\n" in claim.words.text
    take_down_answer(session, quote.id, bench, answer="yes")
    pay(session, quote.deposit_cents)
    for stage in ("agreed", "begun"):
        advance(session, NUMBER, bench, Logged(stage))
    owed = say_money(quote.total_cents - quote.deposit_cents)
    assert f"Still to be paid: {owed} USD." in outbox(session)[1].text


def test_a_quote_that_was_withdrawn_does_not_go_out(session: Session) -> None:
    fill_for_quotes(session, START)
    customer(email=ADA)(session)
    switch_mail(session)
    switch_kind(session, MailKind.QUOTE)
    bench = bench_of(session, START)
    quote = make_quote(session, NUMBER, bench, SAID)
    send_quote(session, SECRET, quote.id, bench)
    withdraw_quote(session, quote.id, bench)
    assert claimed(session) is None
    assert state(session) == (MailState.GIVEN_UP, "The quote was withdrawn before the mail went out.")
