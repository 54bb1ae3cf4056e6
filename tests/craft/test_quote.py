"""Quotes against decimals worked by hand, the tax law's own cap and dates, and amounts that cannot be."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.craft.faults import SumFault
from shop.craft.quote import (
    US_EXCISE_ON_RODS,
    Basis,
    Costs,
    PartLine,
    TaxedOn,
    TaxRule,
    Terms,
    price_of,
    quote,
    taxes_on,
)
from shop.craft.sums.base import Outcome
from shop.craft.sums.quote import QUOTE
from shop.craft.sums.reading import read_inputs

DAY = date(2026, 3, 14)
COSTS = Costs(186_40, 6_20, Fraction("6.5"), 38_00)
TERMS = Terms(Fraction(15), Basis.MARGIN, Fraction(30), Fraction(50))
SALES_TAX = TaxRule("sales tax", Fraction("6.25"), date(2020, 1, 1))


def half_up(amount: Decimal) -> int:
    """Whole cents of an amount, by the decimal module."""
    return int(amount.quantize(Decimal("0.01"), ROUND_HALF_UP) * 100)


def test_a_quote_line_by_line() -> None:
    # Common practice, no source; each line worked by hand.
    made = quote(COSTS, TERMS, [SALES_TAX, US_EXCISE_ON_RODS], DAY)
    assert made.labour_cents == half_up(Decimal("6.5") * Decimal("38.00")) == 247_00
    assert made.before_overhead_cents == 439_60
    assert made.overhead_cents == half_up(Decimal("439.60") * Decimal("0.15")) == 65_94
    assert made.cost_cents == 505_54
    assert made.price_cents == half_up(Decimal("505.54") / Decimal("0.70")) == 722_20
    assert [line.cents for line in made.taxes] == [half_up(Decimal("722.20") * Decimal("0.0625")), 10_00]
    assert made.taxes[0].cents == 45_14
    assert (made.total_cents, made.deposit_cents, made.balance_cents) == (777_34, 388_67, 388_67)
    assert made.profit_cents == 216_66


def test_markup_is_not_margin() -> None:
    made = quote(COSTS, replace(TERMS, basis=Basis.MARKUP), [], DAY)
    assert made.price_cents == made.total_cents == half_up(Decimal("505.54") * Decimal("1.30")) == 657_20


@pytest.mark.parametrize(
    ("cost", "basis", "percent", "price"),
    [
        (100_00, "margin", "0", 100_00),
        (100_00, "margin", "50", 200_00),
        (100_00, "markup", "100", 200_00),
        (0, "margin", "30", 0),
        # Exactly half a cent: 0.01 × 1.5 = 0.015.
        (1, "markup", "50", 2),
        (100_00, "margin", "99.99", 1_000_000_00),
        # 10.00 / 0.67 = 14.92537…
        (10_00, "margin", "33", 14_93),
    ],
)
def test_price_of_a_cost(cost: int, basis: str, percent: str, price: int) -> None:
    assert price_of(cost, Basis(basis), Fraction(percent)) == price


@pytest.mark.parametrize(
    ("price", "tax", "capped"),
    # 26 USC 4161(a)(1): 10 % of the price, not more than $10 on a rod.
    [
        (99_95, 10_00, False),
        (99_94, 9_99, False),
        (100_00, 10_00, False),
        (100_05, 10_00, True),
        (0, 0, False),
    ],
)
def test_the_excise_is_capped_for_a_rod(price: int, tax: int, capped: bool) -> None:
    (line,) = taxes_on(price, [US_EXCISE_ON_RODS], DAY)
    assert (line.cents, line.capped) == (tax, capped)


def test_the_cap_came_after_september_2005() -> None:
    # Public Law 109-59, section 11117(c): articles sold after 30 September 2005.
    assert taxes_on(722_20, [US_EXCISE_ON_RODS], date(2005, 9, 30)) == ()
    assert len(taxes_on(722_20, [US_EXCISE_ON_RODS], date(2005, 10, 1))) == 1


def test_a_rule_holds_from_its_first_day_to_its_last() -> None:
    first, last = date(2026, 1, 1), date(2026, 6, 30)
    old = TaxRule("VAT", Fraction(19), first, last)
    new = TaxRule("VAT", Fraction(21), last + timedelta(1))
    for day, percent in [(first, 19), (last, 19), (last + timedelta(1), 21), (date(2030, 1, 1), 21)]:
        (line,) = taxes_on(100_00, [old, new], day)
        assert line.rule.percent == percent
    assert taxes_on(100_00, [old, new], first - timedelta(1)) == ()


def test_a_tax_on_the_taxes_before_it() -> None:
    # 10.00 excise, then 6.25 % of 732.20 = 45.7625.
    on_all = replace(SALES_TAX, taxed_on=TaxedOn.PRICE_AND_TAXES)
    lines = taxes_on(722_20, [US_EXCISE_ON_RODS, on_all], DAY)
    assert [(line.taxed_cents, line.cents) for line in lines] == [(722_20, 10_00), (732_20, 45_76)]
    assert taxes_on(722_20, [on_all, US_EXCISE_ON_RODS], DAY)[0].cents == 45_14


PERCENTS = st.integers(0, 9_999).map(lambda hundredths: Fraction(hundredths, 100))
RULES = st.lists(
    st.builds(
        TaxRule,
        name=st.text("abcdefgh", min_size=1, max_size=8),
        percent=PERCENTS,
        valid_from=st.just(DAY),
        cap_cents=st.none() | st.integers(0, 100_00),
        taxed_on=st.sampled_from(TaxedOn),
    ),
    max_size=4,
    unique_by=lambda rule: rule.name,
)
COSTS_DRAWN = st.builds(
    Costs,
    parts_cents=st.integers(0, 5_000_00),
    consumables_cents=st.integers(0, 100_00),
    hours=st.integers(0, 400).map(lambda tenths: Fraction(tenths, 10)),
    rate_cents=st.integers(0, 200_00),
)


@settings(max_examples=60, deadline=None)
@given(COSTS_DRAWN, PERCENTS, st.sampled_from(Basis), PERCENTS, RULES, PERCENTS)
def test_the_lines_add_up_to_the_total(
    costs: Costs, overhead: Fraction, basis: Basis, percent: Fraction, rules: list[TaxRule], deposit: Fraction
) -> None:
    made = quote(costs, Terms(overhead, basis, percent, deposit), rules, DAY)
    assert costs.parts_cents + costs.consumables_cents + made.labour_cents == made.before_overhead_cents
    assert made.before_overhead_cents + made.overhead_cents + made.profit_cents == made.price_cents
    assert made.price_cents + sum(line.cents for line in made.taxes) == made.total_cents
    assert made.deposit_cents + made.balance_cents == made.total_cents
    assert 0 <= made.deposit_cents <= made.total_cents
    assert all(line.rule.cap_cents is None or line.cents <= line.rule.cap_cents for line in made.taxes)
    share_of = made.price_cents if basis is Basis.MARGIN else made.cost_cents
    assert abs(made.profit_cents - share_of * percent / 100) <= 1


REFUSED: list[tuple[Callable[[], object], str, str]] = [
    (lambda: price_of(1, Basis.MARGIN, Fraction(100)), "percent", "A margin of 100 % cannot be"),
    (lambda: price_of(1, Basis.MARGIN, Fraction(130)), "percent", "Did you mean a markup?"),
    (lambda: price_of(1, Basis.MARKUP, Fraction(-1)), "percent", "A markup cannot be less than nothing"),
    (lambda: quote(replace(COSTS, parts_cents=-1), TERMS, [], DAY), "parts_total", "less than nothing"),
    (lambda: quote(replace(COSTS, consumables_cents=-1), TERMS, [], DAY), "consumables", "less than nothing"),
    (lambda: quote(replace(COSTS, hours=Fraction(-1)), TERMS, [], DAY), "hours", "less than nothing"),
    (lambda: quote(replace(COSTS, rate_cents=-1), TERMS, [], DAY), "rate", "less than nothing"),
    (
        lambda: quote(COSTS, replace(TERMS, overhead_percent=Fraction(-1)), [], DAY),
        "overhead_percent",
        "less than nothing",
    ),
    (
        lambda: quote(COSTS, replace(TERMS, deposit_percent=Fraction("100.01")), [], DAY),
        "deposit_percent",
        "more than 100 %",
    ),
    (lambda: taxes_on(1, [replace(SALES_TAX, percent=Fraction(101))], DAY), "taxes.1.percent", "0 to 100 %"),
    (lambda: taxes_on(1, [replace(SALES_TAX, percent=Fraction(-1))], DAY), "taxes.1.percent", "0 to 100 %"),
    (lambda: taxes_on(1, [replace(SALES_TAX, cap_cents=-1)], DAY), "taxes.1.cap", "less than nothing"),
    (
        lambda: taxes_on(1, [SALES_TAX, replace(SALES_TAX, name="late", valid_until=date(2019, 1, 1))], DAY),
        "taxes.2.until",
        "ends on 2019-01-01, before it begins on 2020-01-01",
    ),
    (
        lambda: taxes_on(1, [SALES_TAX, SALES_TAX], DAY),
        "taxes.2.name",
        "Two rules called “sales tax” hold on 2026-03-14",
    ),
]


@pytest.mark.parametrize(("work", "name", "words"), REFUSED)
def test_what_cannot_be_is_refused(work: Callable[[], object], name: str, words: str) -> None:
    with pytest.raises(SumFault) as caught:
        work()
    assert set(caught.value.errors) == {name}
    assert words in caught.value.errors[name]


TAX_ROW = {"name": "sales tax", "percent": "6.25", "from": "2020-01-01"}
TYPED = {
    "parts": [
        {"name": "blank", "price": "120.00"},
        {"name": "guide", "count": "8", "price": "8.30"},
    ],
    "consumables": "6.20",
    "hours": "6.5 h",
    "rate": "38",
    "overhead_percent": "15 %",
    "basis": "margin",
    "percent": "30",
    "taxes": [TAX_ROW, {"name": "old tax", "percent": "5", "from": "2010-01-01", "until": "2019-12-31"}],
    "us_excise": "yes",
    "day": "2026-03-14",
}


def worked(given: dict[str, Any]) -> Outcome:
    return QUOTE.work(read_inputs(QUOTE, given))


def test_part_lines() -> None:
    assert PartLine("guide", 8, 8_30).cents == 66_40


def test_the_quote_calculator() -> None:
    outcome = worked(TYPED)
    names = ("parts", "labour", "overhead", "cost", "price", "total", "deposit", "balance")
    assert [outcome.value(name) for name in names] == [
        186_40, 247_00, 65_94, 505_54, 722_20, 777_34, 388_67, 388_67,
    ]  # fmt: skip
    assert outcome.value("taxes") == (
        ("sales tax", 6.25, 722_20, None, 45_14),
        ("US excise on fishing rods", 10.0, 722_20, 10_00, 10_00),
    )
    assert "Price at 30 % margin" in [figure.label for figure in outcome.figures]
    assert outcome.value("margin_percent") == pytest.approx(30, abs=0.01)
    assert outcome.value("markup_percent") == pytest.approx(42.857, abs=0.01)
    assert outcome.warnings[0] == "The tax “old tax” does not hold on 2026-03-14; it is left out."
    assert "accountant" in outcome.warnings[1]


def test_the_quote_keeps_its_rates_in_the_working() -> None:
    assert worked(TYPED).working == (
        "blank: 1 × 120.00 = 120.00",
        "guide: 8 × 8.30 = 66.40",
        "parts = 186.40",
        "labour = 6.5 h × 38.00 = 247.00",
        "before overhead = 186.40 + 6.20 + 247.00 = 439.60",
        "overhead = 15 % of 439.60 = 65.94",
        "cost = 439.60 + 65.94 = 505.54",
        "price at 30 % margin, a share of the price = 505.54 ÷ (1 − 30 %) = 722.20",
        "not to be mixed up: 30 % markup would make 657.20",
        "sales tax = 6.25 % of 722.20 = 45.14 (rate from 2020-01-01)",
        "US excise on fishing rods = 10 % of 722.20, capped at 10.00 a rod = 10.00 (rate from 2005-10-01)",
        "total = 722.20 + 45.14 + 10.00 = 777.34",
        "deposit = 50 % of 777.34 = 388.67",
        "balance = 777.34 − 388.67 = 388.67",
    )


def test_the_quote_without_what_may_be_left_out() -> None:
    bare = {"parts_total": "186.40", "hours": "0", "rate": "0", "overhead_percent": "0", "day": "2026-03-14"}
    outcome = worked({**bare, "basis": "markup", "percent": "30"})
    assert outcome.value("price") == outcome.value("total") == 242_32
    assert "not to be mixed up: 30 % margin would make 266.29" in outcome.working
    assert (outcome.value("taxes"), outcome.warnings) == ((), ())
    doubled = worked({**bare, "basis": "markup", "percent": "100"})
    assert doubled.value("price") == 372_80
    assert not [line for line in doubled.working if "mixed up" in line]
    nothing = worked({**bare, "parts_total": "0", "basis": "markup", "percent": "30"})
    assert (nothing.value("total"), nothing.value("margin_percent")) == (0, None)


@pytest.mark.parametrize(
    ("changes", "name", "words"),
    [
        ({"percent": "100"}, "percent", "A margin of 100 % cannot be"),
        ({"percent": "-5"}, "percent", "less than nothing"),
        ({"percent": "nan"}, "percent", "must be a number of %"),
        ({"basis": ""}, "basis", "missing"),
        ({"basis": "profit"}, "basis", "must be one of margin, markup"),
        ({"hours": "1e9"}, "hours", "at most 1000 h"),
        ({"rate": "38.005"}, "rate", "an amount such as 18.50"),
        ({"parts_total": "5"}, "parts_total", "not both"),
        ({"parts": []}, "parts", "fill in at least one, or their total"),
        ({"parts": [{"name": "blank", "count": "0", "price": "1"}]}, "parts.1.count", "more than nothing"),
        ({"deposit_percent": "101"}, "deposit_percent", "at most 100 %"),
        ({"taxes": [TAX_ROW, TAX_ROW]}, "taxes.2.name", "end one of them"),
        ({"taxes": [{**TAX_ROW, "until": "2019-12-31"}]}, "taxes.1.until", "before it begins"),
        ({"taxes": [{**TAX_ROW, "name": "US excise on fishing rods"}]}, "us_excise", "only once"),
        ({"day": "14 March"}, "day", "a day such as"),
    ],
)
def test_the_quote_calculator_refuses(changes: dict[str, Any], name: str, words: str) -> None:
    with pytest.raises(SumFault) as caught:
        worked({**TYPED, **changes})
    assert set(caught.value.errors) == {name}
    assert words in caught.value.errors[name]
