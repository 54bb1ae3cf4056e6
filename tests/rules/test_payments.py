"""Payments and taxes: what can be said of one, what is owed, which rules may be on side by side; totals."""

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest

from shop.craft.quote import TaxRule
from shop.rules.payments import Owed, PaymentSaid, faults_of_payment, say_kind
from shop.rules.quotes import work_out
from shop.rules.tax_rules import TaxRuleFacts, faults_of_tax_rule, say_tax
from shop.rules.totals import (
    MoneyRow,
    SoldRod,
    TaxKey,
    faults_of_period,
    tax_keys,
    totals_of,
)
from tests.rules.test_quotes import DAY, LINES, SALES_TAX

OWED = Owed("EUR", 777_34, 388_67, 388_66)
TAKEN_ON = date(2026, 1, 10)
DEPOSIT = PaymentSaid("deposit", 388_67, "bank transfer", DAY)


@pytest.mark.parametrize(
    ("agreed", "deposit", "paid", "dropped", "expected"),
    [
        # What is owed, what of the deposit, what was paid beyond.
        (777_34, 388_67, 0, False, (777_34, 388_67, 0)),
        (777_34, 388_67, 388_66, False, (388_68, 1, 0)),
        (777_34, 388_67, 388_67, False, (388_67, 0, 0)),
        (777_34, 388_67, 777_34, False, (0, 0, 0)),
        (777_34, 388_67, 800_00, False, (0, 0, 22_66)),
        (None, None, 50_00, False, (0, 0, 50_00)),
        (None, None, 0, False, (0, 0, 0)),
        (777_34, 388_67, 100_00, True, (0, 0, 100_00)),
    ],
)
def test_what_is_owed(
    agreed: int | None, deposit: int | None, paid: int, dropped: bool, expected: tuple[int, int, int]
) -> None:
    owed = Owed("EUR", agreed, deposit, paid, dropped)
    assert (owed.owed_cents, owed.deposit_owed_cents, owed.over_cents) == expected


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({}, None, ""),
        ({"kind": "tip"}, "kind", "one of deposit, balance, other"),
        ({"method": "barter"}, "method", "must be one of cash"),
        ({"cents": 0}, "cents", "more than nothing"),
        ({"cents": -1}, "cents", "more than nothing"),
        ({"cents": 388_66, "given_back": True}, None, ""),
        ({"cents": 388_67, "given_back": True}, "cents", "Only 388.66 EUR has been paid"),
        ({"paid_on": date(2026, 3, 15)}, "paid_on", "still to come"),
        ({"paid_on": date(2025, 1, 9)}, None, ""),
        ({"paid_on": date(2025, 1, 8)}, "paid_on", "more than a year before the order"),
        ({"note": "x" * 201}, "note", "at most 200"),
    ],
)
def test_what_can_be_said_of_a_payment(changes: dict[str, object], field: str | None, says: str) -> None:
    said = replace(DEPOSIT, **changes)  # type: ignore[arg-type]
    errors = faults_of_payment(said, DAY, TAKEN_ON, OWED)
    assert list(errors) == ([] if field is None else [field])
    assert field is None or says in errors[field]


def test_money_that_went_back_says_so() -> None:
    assert [say_kind("deposit", 1), say_kind("balance", -1)] == ["Deposit", "Balance, given back"]


OLD = TaxRule("VAT", Fraction(19), date(2026, 1, 1), date(2026, 6, 30))


@pytest.mark.parametrize(
    ("rule", "is_on", "field", "says"),
    [
        (TaxRule("VAT", Fraction(21), date(2026, 7, 1)), True, None, ""),
        (TaxRule("VAT", Fraction(21), date(2026, 6, 30)), True, "name", "from 2026-01-01; end that one"),
        (TaxRule("vat ", Fraction(21), date(2026, 6, 30)), True, "name", "taxed twice"),
        (TaxRule("VAT", Fraction(21), date(2026, 6, 30)), False, None, ""),
        (TaxRule("VAT", Fraction(17), date(2025, 1, 1), date(2025, 12, 31)), True, None, ""),
        (TaxRule("VAT", Fraction(17), date(2025, 1, 1), date(2026, 1, 1)), True, "name", "taxed twice"),
        (TaxRule("Sales tax", Fraction(5), date(2026, 1, 1)), True, None, ""),
        (TaxRule(" ", Fraction(5), date(2026, 1, 1)), False, "name", "1 to 80"),
        (TaxRule("x", Fraction(101), date(2026, 1, 1)), False, "percent", "0 to 100"),
        (TaxRule("x", Fraction(1, 3), date(2026, 1, 1)), False, "percent", "4 decimal places"),
        (TaxRule("x", Fraction(1), date(2026, 1, 1), None, -1), False, "cap_cents", "from 0 to"),
        (
            TaxRule("x", Fraction(1), date(2026, 1, 2), date(2026, 1, 1)),
            False,
            "valid_until",
            "ends on 2026-01-01",
        ),
    ],
)
def test_which_rules_may_be_on(rule: TaxRule, is_on: bool, field: str | None, says: str) -> None:
    errors = faults_of_tax_rule(TaxRuleFacts(rule, is_on=is_on), [OLD])
    assert list(errors) == ([] if field is None else [field])
    assert field is None or says in errors[field]


def test_a_rule_in_a_line() -> None:
    capped = TaxRule("x", Fraction(10), date(2026, 1, 1), None, 10_00)
    assert say_tax(capped) == "10 % of the price, at most 10.00 a rod"


def sold(number: str, *rules: TaxRule, currency: str = "USD") -> SoldRod:
    return SoldRod(number, "7 ft", "Ada Thorn", DAY, work_out(LINES, rules, DAY, currency))


def test_the_totals_of_a_period() -> None:
    dearer = replace(SALES_TAX, percent=Fraction(7))
    rods = [
        sold("26-001", SALES_TAX), sold("26-002", SALES_TAX), sold("26-003", dearer),
        sold("26-004", currency="EUR"), SoldRod("26-005", "a gift", "Ada Thorn", DAY, None),
    ]  # fmt: skip
    money = [
        MoneyRow("USD", "cash", 100_00), MoneyRow("USD", "card", 50_00), MoneyRow("USD", "cash", -30_00),
        MoneyRow("GBP", "cash", 1),
    ]  # fmt: skip
    euro, pound, dollar = totals_of(rods, money)
    assert (dollar.currency, dollar.rods, dollar.price_cents) == ("USD", 3, 3 * 722_20)
    # 6.25 % of 722.20 is 45.14, 7 % of it 50.55.
    assert [(line.tax.percent, line.taxed_cents, line.cents) for line in dollar.taxes] == [
        (Fraction("6.25"), 1444_40, 90_28), (Fraction(7), 722_20, 50_55),
    ]  # fmt: skip
    assert dollar.total_cents == dollar.price_cents + 90_28 + 50_55
    assert [(line.method, line.in_cents, line.back_cents, line.cents) for line in dollar.methods] == [
        ("card", 50_00, 0, 50_00), ("cash", 100_00, 30_00, 70_00),
    ]  # fmt: skip
    assert dollar.paid_cents == 120_00
    assert (euro.currency, euro.rods, euro.total_cents, euro.methods) == ("EUR", 1, 722_20, ())
    assert (pound.currency, pound.rods, pound.paid_cents) == ("GBP", 0, 1)
    assert tax_keys(rods) == [
        TaxKey("Sales tax", Fraction("6.25")), TaxKey("Sales tax", Fraction(7)),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("first", "last", "field"),
    [
        (DAY, DAY, None),
        (DAY, date(2026, 3, 13), "until"),
        (date(1969, 12, 31), DAY, "from"),
        (DAY, date(9999, 12, 31), "until"),
        (date(2010, 1, 1), DAY, "until"),
    ],
)
def test_a_period_is_of_days_that_can_be_summed_up(first: date, last: date, field: str | None) -> None:
    assert list(faults_of_period(first, last)) == ([] if field is None else [field])
