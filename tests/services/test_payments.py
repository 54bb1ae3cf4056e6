"""Payments and tax rules through the services: written down once, taken back, never changed; what is owed."""

from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DatabaseError
from sqlalchemy.orm import Session

from shop.craft.quote import TaxRule
from shop.queries.builds import build_view
from shop.queries.events import events_of_build
from shop.queries.payments import (
    newest_payment_id,
    owed_of_build,
    payments_of_build,
    uneven_builds,
)
from shop.queries.shop import shop_record, shop_version
from shop.queries.tax_rules import tax_rule_view, tax_rules, tax_rules_on
from shop.rules.payments import PaymentSaid
from shop.rules.refusals import BadInput, NotOnFile, Overtaken
from shop.rules.tax_rules import TaxRuleFacts
from shop.services.orders import close_order
from shop.services.payments import record_payment, take_back_payment
from shop.services.quote_terms import save_quote_terms
from shop.services.quotes import make_quote, send_quote, take_down_answer
from shop.services.tax_rules import add_tax_rule, change_tax_rule, switch_tax_rule
from tests.conftest import START
from tests.quote_shop import NUMBER, RATES, SAID, SALES_TAX, SECRET, bench_of, fill_for_quotes

TODAY = date(2026, 3, 2)
CASH = PaymentSaid("deposit", 100_00, "cash", TODAY)


@pytest.fixture
def shop(session: Session) -> Session:
    fill_for_quotes(session, START)
    return session


def pay(session: Session, cents: int, given_back: bool = False, newest: int | None = None) -> int:
    """Write a payment down; gives its id."""
    said = replace(CASH, cents=cents, given_back=given_back)
    return record_payment(session, NUMBER, bench_of(session, START), said, newest=newest).id


def agree(session: Session) -> None:
    bench = bench_of(session, START)
    quote = make_quote(session, NUMBER, bench, SAID)
    send_quote(session, SECRET, quote.id, bench)
    take_down_answer(session, quote.id, bench, answer="yes")


def build_id(session: Session) -> int:
    return build_view(session, NUMBER).id


def test_money_comes_in_and_goes_back(shop: Session) -> None:
    agree(shop)
    pay(shop, 400_00)
    pay(shop, 50_00, given_back=True)
    rows = payments_of_build(shop, build_id(shop))
    assert [(row.cents, row.currency, row.method, row.paid_on, row.by) for row in rows] == [
        (400_00, "USD", "cash", TODAY, "Nell"), (-50_00, "USD", "cash", TODAY, "Nell"),
    ]  # fmt: skip
    owed = owed_of_build(shop, build_id(shop))
    assert (owed.agreed_cents, owed.deposit_cents, owed.paid_cents, owed.owed_cents) == (
        777_34, 388_67, 350_00, 427_34,
    )  # fmt: skip
    notes = [event.note for event in events_of_build(shop, build_id(shop)) if event.kind == "payment"]
    # The bench reads the record, and money is the desk's.
    assert notes == ["A payment is written down: deposit came in.",
                     "A payment is written down: deposit given back."]  # fmt: skip


def test_a_second_press_is_not_a_second_payment(shop: Session) -> None:
    first = pay(shop, 100_00, newest=0)
    with pytest.raises(Overtaken, match="A further payment has been written down meanwhile"):
        pay(shop, 100_00, newest=0)
    pay(shop, 100_00, newest=first)
    assert newest_payment_id(shop, build_id(shop)) == first + 1


@pytest.mark.parametrize(
    ("said", "field"),
    [
        (replace(CASH, cents=0), "cents"),
        (replace(CASH, given_back=True), "cents"),
        (replace(CASH, paid_on=date(2026, 3, 3)), "paid_on"),
        (replace(CASH, kind="tip"), "kind"),
        (replace(CASH, method="barter"), "method"),
    ],
)
def test_what_cannot_be_of_a_payment(shop: Session, said: PaymentSaid, field: str) -> None:
    with pytest.raises(BadInput) as bad:
        record_payment(shop, NUMBER, bench_of(shop, START), said)
    assert list(bad.value.errors) == [field]
    with pytest.raises(NotOnFile):
        record_payment(shop, "26-999", bench_of(shop, START), CASH)
    assert payments_of_build(shop, build_id(shop)) == []


def test_a_mistake_is_answered_by_a_further_row(shop: Session) -> None:
    wrong = pay(shop, 100_00)
    later = bench_of(shop, START + timedelta(days=40), "Ott")
    with pytest.raises(BadInput, match="needs a reason"):
        take_back_payment(shop, wrong, later, reason=" ")
    back = take_back_payment(shop, wrong, later, reason="for another rod")
    # Dated on the day of the taking back: a quarter that was closed stays as it was.
    assert (back.cents, back.corrects_id, back.paid_on, back.by) == (
        -100_00, wrong, date(2026, 4, 11), "Ott",
    )  # fmt: skip
    assert [row.corrected_by for row in payments_of_build(shop, build_id(shop))] == [back.id, None]
    for again in (wrong, back.id):
        with pytest.raises(Overtaken):
            take_back_payment(shop, again, later, reason="again")
    with pytest.raises(NotOnFile):
        take_back_payment(shop, 99, later, reason="x")
    assert owed_of_build(shop, build_id(shop)).paid_cents == 0


def test_the_database_refuses_to_change_a_payment(shop: Session) -> None:
    pay(shop, 100_00)
    for statement in ("UPDATE payments SET cents = 1", "DELETE FROM payments"):
        with pytest.raises(DatabaseError, match="never changed or deleted"), shop.begin_nested():
            shop.execute(text(statement))


def test_money_stays_in_the_currency_it_began_in(shop: Session) -> None:
    pay(shop, 100_00)
    shop_record(shop).currency = "EUR"
    shop.flush()
    assert owed_of_build(shop, build_id(shop)).currency == "USD"
    assert make_quote(shop, NUMBER, bench_of(shop, START), SAID).currency == "USD"
    other = build_view(shop, "26-001").id
    assert owed_of_build(shop, other).currency == "EUR"


def test_who_owes_and_who_has_paid_too_much(shop: Session) -> None:
    assert uneven_builds(shop) == []
    agree(shop)
    record_payment(shop, "26-001", bench_of(shop, START), CASH)
    first, second = uneven_builds(shop)
    assert (first.build, first.owed.over_cents, first.owed.agreed_cents) == ("26-001", 100_00, None)
    assert (second.build, second.customer, second.owed.owed_cents) == (NUMBER, "Ada Thorn", 777_34)
    pay(shop, 777_34)
    assert [line.build for line in uneven_builds(shop)] == ["26-001"]
    close_order(shop, NUMBER, bench_of(shop, START), reason="changed their mind")
    dropped = uneven_builds(shop)[1]
    assert (dropped.closed_as, dropped.owed.owed_cents, dropped.owed.over_cents) == ("cancelled", 0, 777_34)


def test_rules_are_put_on_file_changed_and_switched(shop: Session) -> None:
    assert [view.name for view in tax_rules_on(shop)] == ["Example: US excise on fishing rods", "Sales tax"]
    with pytest.raises(BadInput, match="taxed twice"):
        add_tax_rule(shop, SALES_TAX, now=START)
    off = add_tax_rule(shop, replace(SALES_TAX, is_on=False), now=START)
    with pytest.raises(BadInput, match="taxed twice"):
        switch_tax_rule(shop, off.id, is_on=True)
    first = tax_rules(shop)[1]
    ended = replace(first.rule, valid_until=date(2026, 6, 30))
    change_tax_rule(shop, first.id, TaxRuleFacts(ended, is_on=True), version=first.version)
    with pytest.raises(Overtaken, match="Somebody else changed this tax"):
        change_tax_rule(shop, first.id, TaxRuleFacts(ended), version=first.version)
    dearer = TaxRule("Sales tax", Fraction("7.125"), date(2026, 7, 1))
    change_tax_rule(shop, off.id, TaxRuleFacts(dearer, "council", is_on=True))
    view = tax_rule_view(shop, off.id)
    assert (view.rule, view.is_on, view.note) == (dearer, True, "council")
    with pytest.raises(NotOnFile):
        switch_tax_rule(shop, 99, is_on=True)


def test_rates_are_saved_on_what_was_looked_at(shop: Session) -> None:
    seen = shop_version(shop)
    save_quote_terms(shop, replace(RATES, days_valid=14), " Terms. ", version=seen)
    kept = shop_record(shop)
    assert (kept.quote_terms["days_valid"], kept.terms) == (14, "Terms.")
    with pytest.raises(Overtaken):
        save_quote_terms(shop, RATES, "", version=seen)
    with pytest.raises(BadInput):
        save_quote_terms(shop, replace(RATES, days_valid=0), "", version=shop_version(shop))
