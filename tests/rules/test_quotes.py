"""Quotes: one worked by hand to the cent, sums against the decimal module, what is kept, what cannot be."""

import json
from dataclasses import replace
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.craft.quote import US_EXCISE_ON_RODS, Basis, PartLine, TaxedOn, TaxRule, Terms
from shop.rules.quote_terms import (
    PartsAt,
    QuoteTerms,
    faults_of_quote_terms,
    quote_terms_from,
    quote_terms_map,
)
from shop.rules.quotes import (
    MOST_CENTS,
    PricedPart,
    QuoteLines,
    ReworkLine,
    SuggestedLine,
    document_of,
    quote_from,
    suggest,
    work_out,
)
from shop.rules.refusals import BadInput

DAY = date(2026, 3, 14)
TERMS = Terms(Fraction(15), Basis.MARGIN, Fraction(30), Fraction(50))
PARTS = (PartLine("blank", 1, 120_00), PartLine("guide", 8, 8_30))
LINES = QuoteLines(PARTS, 6_20, Fraction("6.5"), 38_00, TERMS)
SALES_TAX = TaxRule("Sales tax", Fraction("6.25"), date(2020, 1, 1))


def half_up(amount: Decimal) -> int:
    """Whole cents of an amount, by the decimal module."""
    return int(amount.quantize(Decimal("0.01"), ROUND_HALF_UP) * 100)


def test_a_quote_worked_by_hand_to_the_cent() -> None:
    # Common practice, no source: 186.40 + 6.20 + 6.5 h × 38.00 = 439.60; 15 % overhead 65.94; 30 % margin.
    made = work_out(LINES, [SALES_TAX, US_EXCISE_ON_RODS], DAY, "USD").made
    assert (made.before_overhead_cents, made.overhead_cents, made.cost_cents) == (439_60, 65_94, 505_54)
    assert made.price_cents == half_up(Decimal("505.54") / Decimal("0.70")) == 722_20
    assert [line.cents for line in made.taxes] == [45_14, 10_00]
    assert (made.total_cents, made.deposit_cents, made.balance_cents) == (777_34, 388_67, 388_67)
    marked_up = replace(LINES, terms=replace(TERMS, basis=Basis.MARKUP))
    assert work_out(marked_up, [], DAY, "USD").made.price_cents == 657_20


def test_rework_is_added_before_taxes_and_nothing_is_added_to_it() -> None:
    # 722.20 + 25.00 + 10.05 = 757.25; 6.25 % of it is 47.328125; half of 804.58 is 402.29.
    reworks = (ReworkLine("Wraps in another colour", 25_00), ReworkLine("Another inscription", 10_05))
    offer = work_out(replace(LINES, reworks=reworks), [SALES_TAX], DAY, "USD")
    made = offer.made
    assert (made.rod_price_cents, made.rework_cents, made.price_cents) == (722_20, 35_05, 757_25)
    assert (made.taxes[0].taxed_cents, made.taxes[0].cents) == (757_25, 47_33)
    assert (made.total_cents, made.deposit_cents) == (804_58, 402_29)
    assert "Another inscription = 10.05" in offer.working
    assert "price with the rework = 722.20 + 35.05 = 757.25" in offer.working
    assert made.profit_cents == 757_25 - 505_54


def test_the_working_names_every_rate() -> None:
    working = work_out(LINES, [SALES_TAX], DAY, "USD").working
    assert working[:2] == ("blank: 1 × 120.00 = 120.00", "guide: 8 × 8.30 = 66.40")
    assert "not to be mixed up: 30 % markup would make 657.20" in working
    assert working[-1] == "balance = 767.34 − 383.67 = 383.67"


PERCENTS = st.integers(0, 99_999).map(lambda thousandths: Fraction(thousandths, 1000))
SHARES = st.integers(0, 95_000).map(lambda thousandths: Fraction(thousandths, 1000))
NAMES = st.text("abcdefgh €ß,;\"'\n", min_size=1, max_size=12).filter(str.strip)
RULES = st.lists(
    st.builds(
        TaxRule, name=NAMES, percent=PERCENTS, valid_from=st.sampled_from([DAY, date(2030, 1, 1)]),
        valid_until=st.none() | st.just(date(2040, 1, 1)), cap_cents=st.none() | st.integers(0, 100_00),
        taxed_on=st.sampled_from(TaxedOn),
    ),
    max_size=4,
    unique_by=lambda rule: rule.name,
)  # fmt: skip
DRAWN = st.builds(
    QuoteLines,
    parts=st.lists(st.builds(PartLine, NAMES, st.integers(1, 30), st.integers(0, 50_00)), max_size=6).map(
        tuple
    ),
    consumables_cents=st.integers(0, 100_00),
    hours=st.integers(0, 4000).map(lambda hundredths: Fraction(hundredths, 100)),
    rate_cents=st.integers(0, 200_00),
    # A margin near 100 % makes any price too high to be quoted.
    terms=st.builds(Terms, PERCENTS, st.sampled_from(Basis), SHARES, PERCENTS),
    reworks=st.lists(st.builds(ReworkLine, NAMES, st.integers(0, 200_00)), max_size=3).map(tuple),
)


def decimal(number: Fraction) -> Decimal:
    return Decimal(number.numerator) / Decimal(number.denominator)


@settings(max_examples=80, deadline=None)
@given(DRAWN, RULES)
def test_every_line_is_rounded_once_and_the_lines_add_up(lines: QuoteLines, rules: list[TaxRule]) -> None:
    made = work_out(lines, rules, DAY, "EUR").made
    labour = half_up(decimal(lines.hours) * lines.rate_cents / 100)
    before = sum(part.count * part.price_cents for part in lines.parts) + lines.consumables_cents + labour
    overhead = half_up(decimal(lines.terms.overhead_percent) * before / 10_000)
    share = decimal(lines.terms.percent) / 100
    cost = Decimal(before + overhead) / 100
    rod = half_up(cost / (1 - share) if lines.terms.basis is Basis.MARGIN else cost * (1 + share))
    price = rod + sum(line.cents for line in lines.reworks)
    assert (made.labour_cents, made.overhead_cents, made.rod_price_cents, made.price_cents) == (
        labour, overhead, rod, price,
    )  # fmt: skip
    taxes = 0
    for line in made.taxes:
        taxed = price + (taxes if line.rule.taxed_on is TaxedOn.PRICE_AND_TAXES else 0)
        full = half_up(decimal(line.rule.percent) * taxed / 10_000)
        assert line.cents == (full if line.rule.cap_cents is None else min(full, line.rule.cap_cents))
        taxes += line.cents
    assert len(made.taxes) == sum(rule.valid_from == DAY for rule in rules)
    assert made.total_cents == made.price_cents + taxes
    assert made.deposit_cents == half_up(decimal(lines.terms.deposit_percent) * made.total_cents / 10_000)
    assert made.deposit_cents + made.balance_cents == made.total_cents


@settings(max_examples=40, deadline=None)
@given(DRAWN, RULES)
def test_what_is_kept_is_read_back_the_same(lines: QuoteLines, rules: list[TaxRule]) -> None:
    offer = work_out(lines, rules, DAY, "EUR", "Half to begin with.\nThe rest when it is done.")
    assert quote_from(json.loads(json.dumps(document_of(offer)))) == offer


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"parts": (PartLine(" ", 1, 0),)}, "parts.1.name", "words of 1 to 120"),
        ({"parts": (*PARTS, PartLine("x", 0, 0))}, "parts.3.count", "from 1 to 10000"),
        ({"parts": (PartLine("x", 1, -1),)}, "parts.1.price_cents", "from 0 to"),
        ({"parts": PARTS * 31}, "parts", "at most 60"),
        ({"reworks": (ReworkLine("", 1),)}, "reworks.1.name", "words"),
        ({"reworks": (ReworkLine("x", -1),)}, "reworks.1.cents", "from 0 to"),
        ({"consumables_cents": -1}, "consumables_cents", "from 0 to"),
        ({"rate_cents": MOST_CENTS + 1}, "rate_cents", "from 0 to"),
        ({"hours": Fraction(-1)}, "hours", "from 0 to 1000"),
        ({"hours": Fraction("6.125")}, "hours", "at most 2 decimal places"),
        ({"terms": replace(TERMS, percent=Fraction(100))}, "percent", "Did you mean a markup?"),
        ({"terms": replace(TERMS, percent=Fraction("6.00001"))}, "percent", "at most 4 decimal places"),
        ({"terms": replace(TERMS, deposit_percent=Fraction(101))}, "deposit_percent", "from 0 to 100"),
        ({"terms": replace(TERMS, overhead_percent=Fraction(-1))}, "overhead_percent", "from 0 to 1000"),
        ({"parts": (PartLine("gold", 9999, 10_000_00),)}, "percent", "total may be at most 20000000.00"),
    ],
)
def test_what_cannot_be_of_a_quote(changes: dict[str, object], field: str, says: str) -> None:
    with pytest.raises(BadInput) as bad:
        work_out(replace(LINES, **changes), [SALES_TAX], DAY, "EUR")  # type: ignore[arg-type]
    assert set(bad.value.errors) == {field}
    assert says in bad.value.errors[field]


def test_two_rules_of_one_name_are_told_at_the_taxes() -> None:
    with pytest.raises(BadInput, match="Two rules called") as bad:
        work_out(LINES, [SALES_TAX, SALES_TAX], DAY, "EUR")
    assert set(bad.value.errors) == {"taxes"}


def test_a_suggestion_counts_parts_and_names_those_without_a_price() -> None:
    ring, blank = PricedPart("Ring guide 8", 8_30), PricedPart("Heron 70", None)
    found = suggest([blank, ring, PricedPart("Tip-top 5", 0), ring, ring], 500)
    assert found.lines == (
        SuggestedLine("Heron 70", 1, None), SuggestedLine("Ring guide 8", 3, 8_30),
        SuggestedLine("Tip-top 5", 1, 0),
    )  # fmt: skip
    # 500 minutes are 8.333… hours.
    assert (found.unpriced, found.hours) == (("Heron 70",), Fraction("8.33"))
    assert suggest([], 0) == ((), Fraction(0))
    # Half of a hundredth of an hour, 18 seconds, does not come in whole minutes; 63 min are 1.05 h exactly.
    assert suggest([], 63).hours == Fraction("1.05")


RATES = QuoteTerms(38_00, TERMS, 6_20, 30, PartsAt.COST)


def test_rates_are_kept_and_read_back() -> None:
    assert quote_terms_from(json.loads(json.dumps(quote_terms_map(RATES)))) == RATES
    assert quote_terms_from({}) is None


@pytest.mark.parametrize(
    ("changes", "words", "field"),
    [
        ({}, "", None),
        ({}, "x" * 5000, None),
        ({}, "x" * 5001, "words"),
        ({"days_valid": 0}, "", "days_valid"),
        ({"days_valid": 366}, "", "days_valid"),
        ({"rate_cents": -1}, "", "rate_cents"),
        ({"consumables_cents": -1}, "", "consumables_cents"),
        ({"terms": replace(TERMS, percent=Fraction("99.9999"))}, "", None),
        ({"terms": replace(TERMS, percent=Fraction(100))}, "", "percent"),
        ({"terms": replace(TERMS, basis=Basis.MARKUP, percent=Fraction(100))}, "", None),
        ({"terms": replace(TERMS, deposit_percent=Fraction(101))}, "", "deposit_percent"),
    ],
)
def test_what_cannot_be_of_a_shop_s_rates(changes: dict[str, object], words: str, field: str | None) -> None:
    said = replace(RATES, **changes)  # type: ignore[arg-type]
    assert list(faults_of_quote_terms(said, words)) == ([] if field is None else [field])
