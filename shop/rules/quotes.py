"""Quotes: what a quote holds, how it is worked out, kept and read back, and what it begins with.

Every line is kept as it was used: prices, rates, tax rules with their dates, the shop's words. So a quote
stays true whatever changes afterwards. The sums are `shop.craft.quote`'s, the shop's own rates
`shop.rules.quote_terms`'s, and whether a quote may still be answered `shop.rules.quote_answers`'s.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import Any, NamedTuple

from shop.craft.faults import SumFault
from shop.craft.lengths import half_away
from shop.craft.quote import Basis, Costs, PartLine, Quote, TaxedOn, TaxLine, TaxRule, Terms, quote
from shop.craft.quote_working import parts_working, say_decimal, working_of
from shop.craft.saying import say_money
from shop.rules.refusals import BadInput

MOST_PARTS, MOST_REWORKS = 60, 20
MOST_NAME, MOST_NOTE = 120, 2000
MOST_COUNT = 10_000
# What every engine's whole number holds, with room to spare; some currencies write a rod in millions.
MOST_CENTS = 2_000_000_000
MOST_HOURS = 1000
# Percentages are typed to four places at most, hours to two; more could not be written out again.
PLACES_OF_PERCENT, PLACES_OF_HOURS = 4, 2
# How the sums' inputs are called in a quote's form and in the API.
_NAMED = {
    "consumables": "consumables_cents",
    "rate": "rate_cents",
    "parts_total": "parts",
    "rework": "reworks",
}


@dataclass(frozen=True, slots=True)
class ReworkLine:
    """What is asked for a later change, in cents: part of the price, with nothing further added to it."""

    name: str
    cents: int


@dataclass(frozen=True, slots=True)
class QuoteLines:
    """What is said of a rod for its quote: parts and consumables in cents, hours at a rate, rework."""

    parts: tuple[PartLine, ...]
    consumables_cents: int
    hours: Fraction
    rate_cents: int
    terms: Terms
    reworks: tuple[ReworkLine, ...] = ()

    @property
    def costs(self) -> Costs:
        """The same as the sums take it."""
        parts_cents = sum(part.cents for part in self.parts)
        return Costs(parts_cents, self.consumables_cents, self.hours, self.rate_cents)


@dataclass(frozen=True, slots=True)
class Offer:
    """A quote worked out: its lines, the sums of the day, and the shop's words as they stood then."""

    day: date
    currency: str
    lines: QuoteLines
    made: Quote
    words: str = ""

    @property
    def working(self) -> tuple[str, ...]:
        """How every sum comes about, with the numbers put in."""
        rework = (f"{line.name} = {say_money(line.cents)}" for line in self.lines.reworks)
        parts = parts_working(self.lines.parts, self.lines.costs)
        return (*parts, *rework, *working_of(self.lines.costs, self.lines.terms, self.made))


def work_out(lines: QuoteLines, rules: Sequence[TaxRule], day: date, currency: str, words: str = "") -> Offer:
    """The offer that the lines make on a day, by the tax rules that are on. Raises `BadInput` by field."""
    if errors := faults_of_lines(lines):
        raise BadInput(errors)
    rework = sum(line.cents for line in lines.reworks)
    try:
        made = quote(lines.costs, lines.terms, rules, day, rework)
    except SumFault as fault:
        raise BadInput(_renamed(fault.errors)) from fault
    if max(made.total_cents, made.before_overhead_cents) > MOST_CENTS:
        raise BadInput({"percent": f"The total may be at most {say_money(MOST_CENTS)}; look at every line."})
    return Offer(day, currency, lines, made, words)


def _renamed(errors: Mapping[str, str]) -> dict[str, str]:
    return {
        "taxes" if name.startswith("taxes.") else _NAMED.get(name, name): words
        for name, words in errors.items()
    }


def faults_of_lines(lines: QuoteLines) -> dict[str, str]:
    """What cannot be of a quote's lines, by field; what the sums refuse themselves is left to them."""
    errors: dict[str, str] = {}
    if len(lines.parts) > MOST_PARTS:
        errors["parts"] = f"A quote has at most {MOST_PARTS} lines of parts."
    if len(lines.reworks) > MOST_REWORKS:
        errors["reworks"] = f"A quote has at most {MOST_REWORKS} lines of rework."
    for number, part in enumerate(lines.parts, 1):
        _check_name(part.name, f"parts.{number}", f"Part {number}", errors)
        if not 1 <= part.count <= MOST_COUNT:
            errors[f"parts.{number}.count"] = f"Part {number}: how many must be from 1 to {MOST_COUNT}."
        _check_cents(part.price_cents, f"parts.{number}.price_cents", f"Part {number}: the price", errors)
    for number, line in enumerate(lines.reworks, 1):
        _check_name(line.name, f"reworks.{number}", f"Rework {number}", errors)
        _check_cents(line.cents, f"reworks.{number}.cents", f"Rework {number}: the amount", errors)
    _check_cents(lines.consumables_cents, "consumables_cents", "The consumables", errors)
    _check_cents(lines.rate_cents, "rate_cents", "The rate", errors)
    if not 0 <= lines.hours <= MOST_HOURS:
        errors["hours"] = f"The hours must be from 0 to {MOST_HOURS}."
    elif has_more_places(lines.hours, PLACES_OF_HOURS):
        errors["hours"] = f"The hours are written with at most {PLACES_OF_HOURS} decimal places."
    return errors | faults_of_percents(lines.terms)


def faults_of_percents(terms: Terms) -> dict[str, str]:
    """What cannot be of a price's percentages, by field."""
    asked = {
        "overhead_percent": ("The overhead", terms.overhead_percent, 1000),
        "percent": (f"The {terms.basis}", terms.percent, 1000),
        "deposit_percent": ("The deposit", terms.deposit_percent, 100),
    }
    errors = {}
    for name, (label, percent, most) in asked.items():
        if not 0 <= percent <= most:
            errors[name] = f"{label} must be from 0 to {most} %."
        elif has_more_places(percent, PLACES_OF_PERCENT):
            errors[name] = f"{label} is written with at most {PLACES_OF_PERCENT} decimal places."
    return errors


def has_more_places(number: Fraction, places: int) -> bool:
    """Whether a decimal number has more places than that."""
    return bool((number * 10**places).denominator != 1)


def _check_name(name: str, key: str, what: str, errors: dict[str, str]) -> None:
    if not 1 <= len(name.strip()) <= MOST_NAME or "\0" in name:
        errors[f"{key}.name"] = f"{what} needs words of 1 to {MOST_NAME} characters."


def _check_cents(cents: int, key: str, what: str, errors: dict[str, str]) -> None:
    if not 0 <= cents <= MOST_CENTS:
        errors[key] = f"{what} must be from 0 to {say_money(MOST_CENTS)}."


class PricedPart(NamedTuple):
    """A part that a rod is to get, by the words of the shelf; `cents` is none where no price is on file."""

    name: str
    cents: int | None


class SuggestedLine(NamedTuple):
    """A line to begin with; `cents` is none where somebody must say the price first."""

    name: str
    how_many: int
    cents: int | None


class Suggestion(NamedTuple):
    """What a quote begins with: the parts of the make-up, and the hours of the sequence's stages."""

    lines: tuple[SuggestedLine, ...]
    hours: Fraction

    @property
    def unpriced(self) -> tuple[str, ...]:
        """The parts that have no price on file, by name."""
        return tuple(line.name for line in self.lines if line.cents is None)


def suggest(parts: Sequence[PricedPart], attended_minutes: int) -> Suggestion:
    """The lines to begin with: each part once with how many of it, and the hours to two places."""
    counts: dict[PricedPart, int] = {}
    for part in parts:
        counts[part] = counts.get(part, 0) + 1
    lines = tuple(SuggestedLine(part.name, count, part.cents) for part, count in counts.items())
    return Suggestion(lines, Fraction(half_away(Fraction(attended_minutes * 100, 60)), 100))


def document_of(offer: Offer) -> dict[str, Any]:
    """An offer as it is kept: maps, lists, whole cents and words; percentages and hours as decimals."""
    lines, terms = offer.lines, offer.lines.terms
    return {
        "day": offer.day.isoformat(),
        "currency": offer.currency,
        "words": offer.words,
        "parts": [{"name": p.name, "count": p.count, "price_cents": p.price_cents} for p in lines.parts],
        "consumables_cents": lines.consumables_cents,
        "hours": say_decimal(lines.hours),
        "rate_cents": lines.rate_cents,
        "overhead_percent": say_decimal(terms.overhead_percent),
        "basis": terms.basis.value,
        "percent": say_decimal(terms.percent),
        "deposit_percent": say_decimal(terms.deposit_percent),
        "reworks": [{"name": line.name, "cents": line.cents} for line in lines.reworks],
        "labour_cents": offer.made.labour_cents,
        "before_overhead_cents": offer.made.before_overhead_cents,
        "overhead_cents": offer.made.overhead_cents,
        "cost_cents": offer.made.cost_cents,
        "price_cents": offer.made.price_cents,
        "taxes": [_tax_map(line) for line in offer.made.taxes],
        "total_cents": offer.made.total_cents,
        "deposit_cents": offer.made.deposit_cents,
        "rework_cents": offer.made.rework_cents,
    }


def _tax_map(line: TaxLine) -> dict[str, Any]:
    rule = line.rule
    return {
        "name": rule.name,
        "percent": say_decimal(rule.percent),
        "valid_from": rule.valid_from.isoformat(),
        "valid_until": None if rule.valid_until is None else rule.valid_until.isoformat(),
        "cap_cents": rule.cap_cents,
        "taxed_on": rule.taxed_on.value,
        "taxed_cents": line.taxed_cents,
        "cents": line.cents,
        "capped": line.capped,
    }


def quote_from(document: Mapping[str, Any]) -> Offer:
    """An offer from what was kept of it; the reverse of `document_of`."""
    terms = Terms(
        Fraction(document["overhead_percent"]), Basis(document["basis"]), Fraction(document["percent"]),
        Fraction(document["deposit_percent"]),
    )  # fmt: skip
    lines = QuoteLines(
        tuple(PartLine(**part) for part in document["parts"]), document["consumables_cents"],
        Fraction(document["hours"]), document["rate_cents"], terms,
        tuple(ReworkLine(**line) for line in document["reworks"]),
    )  # fmt: skip
    made = Quote(
        document["labour_cents"], document["before_overhead_cents"], document["overhead_cents"],
        document["cost_cents"], document["price_cents"], tuple(map(_tax_line, document["taxes"])),
        document["total_cents"], document["deposit_cents"], document["rework_cents"],
    )  # fmt: skip
    return Offer(date.fromisoformat(document["day"]), document["currency"], lines, made, document["words"])


def _tax_line(kept: Mapping[str, Any]) -> TaxLine:
    until = kept["valid_until"]
    rule = TaxRule(
        kept["name"], Fraction(kept["percent"]), date.fromisoformat(kept["valid_from"]),
        None if until is None else date.fromisoformat(until), kept["cap_cents"], TaxedOn(kept["taxed_on"]),
    )  # fmt: skip
    return TaxLine(rule, kept["taxed_cents"], kept["cents"], kept["capped"])


def trimmed(lines: QuoteLines) -> QuoteLines:
    """The same lines without blanks around what they are called."""
    return replace(
        lines,
        parts=tuple(replace(part, name=part.name.strip()) for part in lines.parts),
        reworks=tuple(replace(line, name=line.name.strip()) for line in lines.reworks),
    )
