"""Quotes through the services: made, sent, answered once, withdrawn; and the holds that wait for all that."""

from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest
from sqlalchemy import text
from sqlalchemy.orm import Session

from shop.craft.quote import PartLine
from shop.queries.builds import build_record, build_view
from shop.queries.enquiries import waiting_of
from shop.queries.events import events_of_build
from shop.queries.payments import owed_of_build
from shop.queries.quote_beginnings import suggestion_for
from shop.queries.quotes import QuoteView, quote_of_token, quote_view, quotes_of_build
from shop.queries.tax_rules import tax_rule_view
from shop.rules.enquiries import Waits
from shop.rules.quote_answers import QuoteState
from shop.rules.quote_terms import PartsAt
from shop.rules.quotes import ReworkLine
from shop.rules.refusals import BadInput, Held, NotOnFile, Overtaken
from shop.rules.spec import HandleRow, Spec
from shop.services.builds import change_build
from shop.services.components import change_component
from shop.services.customers import add_customer
from shop.services.events import Logged, advance
from shop.services.orders import close_order
from shop.services.payments import take_back_payment
from shop.services.quotes import (
    CUSTOMER,
    QuoteSaid,
    answer_quote,
    live_token,
    make_quote,
    send_quote,
    take_down_answer,
    withdraw_quote,
)
from shop.services.specs import revise_spec
from shop.services.status_links import live_token as live_status_token
from shop.services.tax_rules import switch_tax_rule
from shop.services.tokens import hash_of
from tests.conftest import START
from tests.make_up_shop import RING
from tests.quote_shop import (
    EXCISE,
    LINES,
    NUMBER,
    SAID,
    SECRET,
    SEQUENCE,
    WORDS,
    bench_of,
    fill_for_quotes,
    lay_down,
)
from tests.services.test_payments import pay


@pytest.fixture
def shop(session: Session) -> Session:
    fill_for_quotes(session, START)
    return session


def make(session: Session, said: QuoteSaid = SAID, days: int = 0) -> QuoteView:
    quote = make_quote(session, NUMBER, bench_of(session, START + timedelta(days=days)), said)
    return quote_view(session, quote.id)


def sent(session: Session, said: QuoteSaid = SAID, days: int = 0) -> tuple[QuoteView, str]:
    view = make(session, said, days)
    token = send_quote(session, SECRET, view.id, bench_of(session, START + timedelta(days=days)))
    return quote_view(session, view.id), token


def says(
    session: Session, token: str, answer: str = "yes", at: datetime = START, name: str = "Ada Thorn"
) -> QuoteView:
    bench = replace(bench_of(session, at), actor=CUSTOMER)
    return answer_quote(session, SECRET, token, bench, answer=answer, name=name)


def told(session: Session, kind: str) -> list[str]:
    events = events_of_build(session, build_view(session, NUMBER).id)
    return [event.note for event in events if event.kind == kind]


def test_a_quote_is_kept_whole_to_the_cent(shop: Session) -> None:
    view = make(shop)
    assert (view.number, view.spec_revision, view.by, view.note) == (1, 0, "Nell", SAID.note)
    made = view.offer.made
    # Worked by hand: 722.20 + 6.25 % tax 45.14 + 10.00 excise at its cap = 777.34; half of it 388.67.
    assert (made.price_cents, made.total_cents, made.deposit_cents) == (722_20, 777_34, 388_67)
    assert [(line.rule.name, line.cents) for line in made.taxes] == [
        ("Example: US excise on fishing rods", 10_00), ("Sales tax", 45_14),
    ]  # fmt: skip
    assert (view.offer.currency, view.offer.words, view.offer.day) == ("USD", WORDS, date(2026, 3, 2))
    switch_tax_rule(shop, EXCISE, is_on=False)
    assert quote_view(shop, view.id).offer == view.offer
    assert make(shop).offer.made.total_cents == 767_34


def test_the_example_rule_is_named_as_one_and_off(session: Session) -> None:
    rule = tax_rule_view(session, EXCISE)
    assert (rule.is_on, rule.name.startswith("Example:"), rule.cap_cents) == (False, True, 10_00)
    assert "ask an accountant" in rule.note


def test_what_the_make_up_and_the_stages_suggest(shop: Session) -> None:
    build = build_view(shop, NUMBER)
    assert suggestion_for(shop, build, SEQUENCE, PartsAt.PRICE, "USD").lines == ()
    lay_down(shop, START)
    found = suggestion_for(shop, build, SEQUENCE, PartsAt.PRICE, "USD")
    # A blank has no price on file; it is named, and not left out.
    assert found.lines == (
        ("Heron 70", 1, None), ("Cork rear grip", 1, 40_00), ("Casting seat", 1, 40_00),
        ("Cork fore grip", 1, 40_00), ("Ring guide 8", 3, 8_30),
    )  # fmt: skip
    assert (found.unpriced, found.hours) == (("Heron 70",), LINES.hours)
    at_cost = suggestion_for(shop, build, SEQUENCE, PartsAt.COST, "USD")
    assert at_cost.lines[-1] == ("Ring guide 8", 3, 5_00)
    assert at_cost.unpriced == ("Heron 70", "Cork rear grip", "Casting seat", "Cork fore grip")
    change_component(shop, RING, currency="EUR")
    assert "Ring guide 8" in suggestion_for(shop, build, SEQUENCE, PartsAt.PRICE, "USD").unpriced


def test_two_people_at_one_quote_are_told_apart(shop: Session) -> None:
    seen = replace(SAID, revision=0, newest=0)
    make(shop, seen)
    with pytest.raises(Overtaken, match="Quote 1 has been made meanwhile"):
        make(shop, seen)
    spec = Spec("casting", "7 ft casting")
    revise_spec(shop, NUMBER, bench_of(shop, START), spec, revision=0)
    with pytest.raises(Overtaken, match="The spec is at revision 1 now"):
        make(shop, replace(seen, newest=1))
    assert make(shop).spec_revision == 1


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"valid_until": date(2026, 3, 1)}, "valid_until"),
        ({"note": "x" * 2001}, "note"),
        ({"lines": replace(LINES, parts=(PartLine("", 1, 1),))}, "parts.1.name"),
    ],
)
def test_what_cannot_be_of_a_quote(shop: Session, changes: dict[str, object], field: str) -> None:
    with pytest.raises(BadInput) as bad:
        make(shop, replace(SAID, **changes))  # type: ignore[arg-type]
    assert list(bad.value.errors) == [field]
    assert quotes_of_build(shop, build_view(shop, NUMBER).id) == []


def test_a_quote_has_a_link_once_it_is_sent(shop: Session) -> None:
    draft = make(shop)
    assert live_token(SECRET, draft) is None
    view, token = sent(shop)
    found = quote_of_token(shop, hash_of(token))
    assert found is not None
    assert (found.id, live_token(SECRET, view)) == (view.id, token)
    kept = shop.execute(text("SELECT * FROM quotes WHERE id = :id"), {"id": view.id}).mappings().one()
    assert token not in map(str, kept.values())
    with pytest.raises(Overtaken, match="cannot be sent again"):
        send_quote(shop, SECRET, view.id, bench_of(shop, START))
    with pytest.raises(Overtaken, match="Quote 2 has been sent already"):
        send_quote(shop, SECRET, draft.id, bench_of(shop, START))
    assert told(shop, "quote") == ["Quote 2, for revision 0 of the spec, was sent."]


def test_a_quote_that_is_no_longer_meant_is_not_sent(shop: Session) -> None:
    old, short = make(shop), make(shop, replace(SAID, valid_until=date(2026, 3, 2)))
    with pytest.raises(Overtaken, match="The last day to answer it was 2026-03-02"):
        send_quote(shop, SECRET, short.id, bench_of(shop, START + timedelta(days=1)))
    revise_spec(shop, NUMBER, bench_of(shop, START), Spec("casting", "7 ft casting"), revision=0)
    with pytest.raises(Overtaken, match="at revision 1 now and this quote is for revision 0"):
        send_quote(shop, SECRET, old.id, bench_of(shop, START))
    fresh = make(shop)
    close_order(shop, NUMBER, bench_of(shop, START), reason="changed their mind")
    with pytest.raises(Overtaken, match="was closed"):
        send_quote(shop, SECRET, fresh.id, bench_of(shop, START))
    with pytest.raises(Overtaken, match="needs no quote"):
        make(shop)


def test_a_yes_is_taken_once_and_a_second_press_does_no_harm(shop: Session) -> None:
    view, token = sent(shop)
    for hours in (1, 2):
        answered = says(shop, token, at=START + timedelta(hours=hours))
        assert (answered.answer, answered.said_by, answered.taken_down_by) == ("yes", "Ada Thorn", "")
        assert answered.answered_at == START + timedelta(hours=1)
    with pytest.raises(Overtaken, match="answered with yes already"):
        says(shop, token, "no")
    notes = told(shop, "quote")
    assert notes[1:] == ["Quote 1, for revision 0 of the spec, was answered with yes, over its link."]
    assert not [note for note in notes if "Thorn" in note]
    with pytest.raises(Overtaken, match="has been agreed to"):
        withdraw_quote(shop, view.id, bench_of(shop, START))
    assert owed_of_build(shop, view.build_id).owed_cents == 777_34


def test_a_yes_gives_the_rod_a_status_link_unless_it_has_one(shop: Session) -> None:
    view, token = sent(shop)
    assert live_status_token(shop, SECRET, view.build_id) is None
    says(shop, token)
    given = live_status_token(shop, SECRET, view.build_id)
    _, rework = sent(shop, replace(SAID, lines=replace(LINES, reworks=(ReworkLine("Thread", 10_00),))))
    says(shop, rework)
    assert given is not None
    assert live_status_token(shop, SECRET, view.build_id) == given


@pytest.mark.parametrize(
    ("answer", "name", "field"), [("maybe", "Ada", "answer"), ("yes", " ", "name"), ("no", "x" * 121, "name")]
)
def test_an_answer_needs_a_word_and_a_name(shop: Session, answer: str, name: str, field: str) -> None:
    _, token = sent(shop)
    with pytest.raises(BadInput) as bad:
        says(shop, token, answer, name=name)
    assert list(bad.value.errors) == [field]


def test_a_quote_counts_on_its_last_day_and_not_after_it(shop: Session) -> None:
    # The shop's days are UTC here; the last minute of the day still counts.
    last = replace(SAID, valid_until=date(2026, 3, 4))
    _, first = sent(shop, last)
    over = datetime(2026, 3, 5, tzinfo=START.tzinfo)
    with pytest.raises(Overtaken, match="could be answered until 2026-03-04"):
        says(shop, first, at=over)
    assert says(shop, first, at=over - timedelta(minutes=1)).answer == "yes"


def test_only_the_newest_that_was_sent_can_be_answered(shop: Session) -> None:
    _, first = sent(shop)
    make(shop)
    assert quote_view(shop, 1).state(date(2026, 3, 2)) is QuoteState.OPEN
    _, third = sent(shop)
    with pytest.raises(Overtaken, match="Quote 3 has been sent since"):
        says(shop, first)
    says(shop, third, "no")
    with pytest.raises(Overtaken, match="Quote 3 has been sent since"):
        says(shop, first)


def test_a_wrong_token_opens_nothing_and_a_withdrawn_one_neither(shop: Session) -> None:
    view, token = sent(shop)
    withdraw_quote(shop, view.id, bench_of(shop, START))
    for wrong in (token, "x", "", view.nonce, hash_of(token)):
        with pytest.raises(NotOnFile, match="There is no quote at this address"):
            says(shop, wrong)
    with pytest.raises(Overtaken, match="withdrawn already"):
        withdraw_quote(shop, view.id, bench_of(shop, START))
    with pytest.raises(Overtaken, match="withdrawn"):
        take_down_answer(shop, view.id, bench_of(shop, START), answer="yes")
    assert told(shop, "quote")[-1] == "Quote 1, for revision 0 of the spec, was withdrawn."


def test_what_was_said_to_the_shop_is_taken_down(shop: Session) -> None:
    view, token = sent(shop, replace(SAID, valid_until=date(2026, 3, 4)))
    later = bench_of(shop, START + timedelta(days=5), "Ott")
    with pytest.raises(Overtaken, match="that day is over"):
        take_down_answer(shop, view.id, later, answer="yes")
    with pytest.raises(BadInput, match="before this quote was sent"):
        take_down_answer(shop, view.id, later, answer="yes", said_at=START - timedelta(hours=1))
    says(shop, token, "no")
    said_at = START + timedelta(days=1)
    answered = take_down_answer(shop, view.id, later, answer="yes", name="Ada", said_at=said_at, note="rang")
    assert (answered.answer, answered.answered_at, answered.taken_down_by) == ("yes", said_at, "Ott")
    assert (answered.said_by, answered.answer_note) == ("Ada", "rang")
    with pytest.raises(Overtaken, match="yes already"):
        take_down_answer(shop, view.id, later, answer="no", said_at=said_at)
    assert told(shop, "quote")[-1].endswith("was answered with yes, as the customer told the shop.")
    assert [event.by for event in events_of_build(shop, view.build_id) if event.kind == "quote"] == [
        "Nell", "the customer", "Ott",
    ]  # fmt: skip


def test_a_draft_is_not_answered(shop: Session) -> None:
    with pytest.raises(Overtaken, match="has not been sent yet"):
        take_down_answer(shop, make(shop).id, bench_of(shop, START), answer="yes")


def held(session: Session, to: str) -> str:
    with pytest.raises(Held) as refusal:
        advance(session, NUMBER, bench_of(session, START), Logged(to))
    return refusal.value.sentence


def reach(session: Session, to: str) -> None:
    advance(session, NUMBER, bench_of(session, START), Logged(to))


def test_an_outdated_quote_is_waited_for_by_nobody_once_the_newest_is_withdrawn(shop: Session) -> None:
    spec = Spec("casting", "7 ft casting", length_words="7 ft", guides="nine", thread_name="red", handle=(
        HandleRow("rear grip", "cork"), HandleRow("reel seat", "size 16"),
    ))  # fmt: skip
    revise_spec(shop, NUMBER, bench_of(shop, START), spec, revision=0)
    build = build_record(shop, NUMBER)
    build.is_enquiry = True
    sent(shop)
    newest, _ = sent(shop)
    assert waiting_of(shop, build.id, START.date()).what is Waits.YES
    withdraw_quote(shop, newest.id, bench_of(shop, START))
    # The first one can no longer be answered, so a further quote is what comes next.
    assert waiting_of(shop, build.id, START.date()).what is Waits.QUOTE
    assert held(shop, "agreed").startswith("No quote has been sent")


def test_the_holds_open_and_shut_with_yes_deposit_and_balance(shop: Session) -> None:
    revise_spec(shop, NUMBER, bench_of(shop, START), Spec("casting", "7 ft casting"), revision=0)
    assert held(shop, "agreed") == "No quote has been sent, so the customer has said yes to nothing."
    withdrawn, _ = sent(shop)
    withdraw_quote(shop, withdrawn.id, bench_of(shop, START))
    assert held(shop, "agreed").startswith("No quote has been sent")
    _, token = sent(shop)
    assert held(shop, "agreed") == "The customer has not said yes to revision 1."
    says(shop, token)
    reach(shop, "agreed")
    pay(shop, 388_66)
    assert held(shop, "begun") == "The deposit has been paid only in part."
    pay(shop, 1)
    reach(shop, "begun")
    assert held(shop, "handed over").startswith("The whole price has been paid only in part")
    # A priced rework is a further quote; once agreed to, it is what is owed: 767.34 − 722.20 + 10.63 …
    _, rework = sent(
        shop, replace(SAID, lines=replace(LINES, reworks=(ReworkLine("Another thread", 10_00),)))
    )
    last = pay(shop, 388_67)
    says(shop, rework)
    # 732.20 + 45.76 + 10.00 = 787.96.
    assert held(shop, "handed over").startswith("The whole price has been paid only in part")
    pay(shop, 10_62)
    take_back_payment(shop, last, bench_of(shop, START), reason="entered twice")
    # 388.67 + 10.62 = 399.29 of 787.96 are in: 388.67 are owed, to the cent.
    pay(shop, 388_66)
    assert held(shop, "handed over").startswith("The whole price has been paid only in part")
    pay(shop, 1)
    reach(shop, "handed over")
    assert build_record(shop, NUMBER).closed_at == START


def test_another_customer_s_rod_gets_other_links(shop: Session) -> None:
    agreed, first = sent(shop)
    says(shop, first)
    open_one, second = sent(shop, replace(SAID, lines=replace(LINES, reworks=(ReworkLine("Thread", 10_00),))))
    other = add_customer(shop, now=START, name="Runa Fjeld").id
    change_build(shop, NUMBER, bench_of(shop, START), customer_id=other)
    assert [quote_of_token(shop, hash_of(token)) for token in (first, second)] == [None, None]
    assert quote_view(shop, open_one.id).withdrawn_at == START
    # What was agreed still stands and is owed.
    assert quote_view(shop, agreed.id).withdrawn_at is None
    assert owed_of_build(shop, agreed.build_id).agreed_cents == 777_34
