"""What a rod costs and what is asked for it: parts, labour, overhead, margin or markup, taxes of the day.

Money is whole cents. Each line is worked out exactly and rounded once, half a cent up; the lines then add
up. Which taxes apply is for the shop and its accountant to say: a rule counts only where it is named.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from fractions import Fraction

from shop.craft.faults import SumFault
from shop.craft.lengths import half_away


class Basis(StrEnum):
    """What the profit is a share of: the price (margin) or the cost (markup)."""

    MARGIN = "margin"
    MARKUP = "markup"


class TaxedOn(StrEnum):
    """What a tax is a share of."""

    PRICE = "price"
    PRICE_AND_TAXES = "price and taxes before it"


@dataclass(frozen=True, slots=True)
class TaxRule:
    """A tax of so many percent, at most `cap_cents` a rod, from a first day to a last one, both included."""

    name: str
    percent: Fraction
    valid_from: date
    valid_until: date | None = None
    cap_cents: int | None = None
    taxed_on: TaxedOn = TaxedOn.PRICE

    def holds_on(self, day: date) -> bool:
        """Whether the rule holds on that day."""
        return self.valid_from <= day and (self.valid_until is None or day <= self.valid_until)


# 26 USC 4161(a)(1): 10 % of the price for which the maker sells, at most $10 on a fishing rod, for rods sold
# after 30 September 2005 (Public Law 109-59, section 11117). What that price is, and whether a rod is taxed
# at all, is for an accountant (26 USC 4216, 26 CFR 48.4161(a)-1).
US_EXCISE_ON_RODS = TaxRule("US excise on fishing rods", Fraction(10), date(2005, 10, 1), None, 10_00)


@dataclass(frozen=True, slots=True)
class PartLine:
    """So many of one part at a price each, in cents."""

    name: str
    count: int
    price_cents: int

    @property
    def cents(self) -> int:
        """The line's amount."""
        return self.count * self.price_cents


@dataclass(frozen=True, slots=True)
class Costs:
    """What goes into one rod: parts and consumables in cents, hours of labour at a rate in cents an hour."""

    parts_cents: int
    consumables_cents: int
    hours: Fraction
    rate_cents: int


@dataclass(frozen=True, slots=True)
class Terms:
    """How a price is made of a cost: `percent` is of the price or of the cost, as `basis` says."""

    overhead_percent: Fraction
    basis: Basis
    percent: Fraction
    deposit_percent: Fraction


@dataclass(frozen=True, slots=True)
class TaxLine:
    """What a rule adds, with the rule as it was used; `capped` where its cap held the amount down."""

    rule: TaxRule
    taxed_cents: int
    cents: int
    capped: bool


@dataclass(frozen=True, slots=True)
class Quote:
    """Every line of a quote in cents. Parts, consumables and labour make `before_overhead_cents`.

    `rework_cents` is what is asked for later changes; it is part of the price as it stands, with no overhead
    and no profit added to it.
    """

    labour_cents: int
    before_overhead_cents: int
    overhead_cents: int
    cost_cents: int
    price_cents: int
    taxes: tuple[TaxLine, ...]
    total_cents: int
    deposit_cents: int
    rework_cents: int = 0

    @property
    def rod_price_cents(self) -> int:
        """The price without what is asked for later changes."""
        return self.price_cents - self.rework_cents

    @property
    def balance_cents(self) -> int:
        """What is left to pay after the deposit."""
        return self.total_cents - self.deposit_cents

    @property
    def profit_cents(self) -> int:
        """What the price leaves above the cost."""
        return self.price_cents - self.cost_cents


def quote(costs: Costs, terms: Terms, rules: Sequence[TaxRule], day: date, rework_cents: int = 0) -> Quote:
    """The quote for one rod on a day, by the taxes that hold on it.

    `rework_cents` is added to the price before taxes. Overhead is a share of parts, consumables and labour
    together. Common practice, no source. Raises `SumFault` on the inputs' names, `taxes.1.percent` for the
    first rule.
    """
    _check(costs, terms, rework_cents)
    labour = half_away(costs.hours * costs.rate_cents)
    before = costs.parts_cents + costs.consumables_cents + labour
    overhead = half_away(before * terms.overhead_percent / 100)
    price = price_of(before + overhead, terms.basis, terms.percent) + rework_cents
    taxes = taxes_on(price, rules, day)
    total = price + sum(line.cents for line in taxes)
    deposit = half_away(total * terms.deposit_percent / 100)
    return Quote(labour, before, overhead, before + overhead, price, taxes, total, deposit, rework_cents)


def _check(costs: Costs, terms: Terms, rework_cents: int) -> None:
    figures = {
        "parts_total": ("The parts", Fraction(costs.parts_cents)),
        "consumables": ("The consumables", Fraction(costs.consumables_cents)),
        "hours": ("The hours", costs.hours),
        "rate": ("The rate", Fraction(costs.rate_cents)),
        "overhead_percent": ("The overhead", terms.overhead_percent),
        "deposit_percent": ("The deposit", terms.deposit_percent),
        "rework": ("The rework", Fraction(rework_cents)),
    }
    errors = {name: f"{words} cannot be less than nothing." for name, (words, n) in figures.items() if n < 0}
    if terms.deposit_percent > 100:
        errors["deposit_percent"] = "The deposit cannot be more than 100 % of the total."
    if errors:
        raise SumFault(errors)


def exact(value: float) -> Fraction:
    """The decimal number that was typed, not the nearest binary one."""
    return Fraction(str(value))


def price_of(cost_cents: int, basis: Basis, percent: Fraction) -> int:
    """The price of a cost: cost ÷ (1 − margin), or cost × (1 + markup).

    A margin is a share of the price, a markup a share of the cost. Raises `SumFault` on `percent`.
    """
    if percent < 0:
        raise SumFault({"percent": f"A {basis} cannot be less than nothing."})
    if basis is Basis.MARKUP:
        return half_away(cost_cents * (1 + percent / 100))
    if percent >= 100:
        sentence = (
            f"A margin of {float(percent):g} % cannot be: it is a share of the price, and at 100 % no price "
            "is high enough. Did you mean a markup?"
        )
        raise SumFault({"percent": sentence})
    return half_away(cost_cents / (1 - percent / 100))


def taxes_on(price_cents: int, rules: Sequence[TaxRule], day: date) -> tuple[TaxLine, ...]:
    """What each rule that holds on the day adds to a price, in their order, each rounded once.

    Raises `SumFault` on `taxes.1.percent`, `.cap`, `.until`, or on `.name` where two rules of one name hold
    on the same day.
    """
    _check_rules(rules, day)
    lines: list[TaxLine] = []
    for rule in rules:
        if not rule.holds_on(day):
            continue
        before = sum(line.cents for line in lines) if rule.taxed_on is TaxedOn.PRICE_AND_TAXES else 0
        taxed = price_cents + before
        full = half_away(taxed * rule.percent / 100)
        cents = full if rule.cap_cents is None else min(full, rule.cap_cents)
        lines.append(TaxLine(rule, taxed, cents, cents < full))
    return tuple(lines)


def _check_rules(rules: Sequence[TaxRule], day: date) -> None:
    errors = {}
    seen: set[str] = set()
    for number, rule in enumerate(rules, 1):
        if not 0 <= rule.percent <= 100:
            errors[f"taxes.{number}.percent"] = f"The tax “{rule.name}” must be from 0 to 100 %."
        if rule.cap_cents is not None and rule.cap_cents < 0:
            errors[f"taxes.{number}.cap"] = f"The cap of “{rule.name}” cannot be less than nothing."
        if rule.valid_until is not None and rule.valid_until < rule.valid_from:
            errors[f"taxes.{number}.until"] = (
                f"The tax “{rule.name}” ends on {rule.valid_until}, before it begins on {rule.valid_from}."
            )
        if rule.holds_on(day):
            if rule.name in seen:
                errors[f"taxes.{number}.name"] = (
                    f"Two rules called “{rule.name}” hold on {day}; end one of them."
                )
            seen.add(rule.name)
    if errors:
        raise SumFault(errors)
