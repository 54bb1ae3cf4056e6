"""The totals of a period for the accountant: rods sold with their price and taxes, and money in by method.

A rod counts in the period in which its last stage was reached, by the quote that was agreed; money counts
on the day it came in or went back. Sums of different currencies are never put together.
"""

from collections.abc import Iterable, Sequence
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from shop.rules.quotes import Offer

MOST_DAYS = 3700
FIRST_YEAR, LAST_YEAR = 1970, 2200


class SoldRod(NamedTuple):
    """A rod and the day it was first handed over; `offer` is none where no quote was ever agreed for it."""

    build: str
    title: str
    customer: str
    sold_on: date
    offer: Offer | None


class MoneyRow(NamedTuple):
    """A row of money: below nothing where it went back."""

    currency: str
    method: str
    cents: int


class TaxKey(NamedTuple):
    """A tax by name and rate: the same tax at another rate is a line of its own."""

    name: str
    percent: Fraction


class TaxSum(NamedTuple):
    """What one tax came to, and what it was taken on."""

    tax: TaxKey
    taxed_cents: int
    cents: int


class MethodSum(NamedTuple):
    """What came in by one method and what went back by it, both at least nothing."""

    method: str
    in_cents: int
    back_cents: int

    @property
    def cents(self) -> int:
        """What stays."""
        return self.in_cents - self.back_cents


class Totals(NamedTuple):
    """The sums of one currency. `rods` counts those with an agreed quote in it."""

    currency: str
    rods: int
    price_cents: int
    taxes: tuple[TaxSum, ...]
    total_cents: int
    methods: tuple[MethodSum, ...]

    @property
    def paid_cents(self) -> int:
        """All money that came in, less what went back."""
        return sum(line.cents for line in self.methods)


def taxes_of(offer: Offer) -> dict[TaxKey, int]:
    """What each tax of an offer comes to."""
    return {TaxKey(line.rule.name, line.rule.percent): line.cents for line in offer.made.taxes}


def tax_keys(rods: Iterable[SoldRod]) -> list[TaxKey]:
    """Every tax on some rods, in order of name and rate."""
    return sorted({key for rod in rods if rod.offer is not None for key in taxes_of(rod.offer)})


def totals_of(rods: Sequence[SoldRod], money: Sequence[MoneyRow]) -> list[Totals]:
    """The sums of a period, currency by currency in order."""
    offers = [rod.offer for rod in rods if rod.offer is not None]
    currencies = {offer.currency for offer in offers} | {row.currency for row in money}
    return [_totals(currency, offers, money) for currency in sorted(currencies)]


def _totals(currency: str, offers: Sequence[Offer], money: Sequence[MoneyRow]) -> Totals:
    mine = [offer for offer in offers if offer.currency == currency]
    return Totals(
        currency, len(mine), sum(offer.made.price_cents for offer in mine), _tax_sums(mine),
        sum(offer.made.total_cents for offer in mine),
        _method_sums(row for row in money if row.currency == currency),
    )  # fmt: skip


def _tax_sums(offers: Sequence[Offer]) -> tuple[TaxSum, ...]:
    sums: dict[TaxKey, tuple[int, int]] = {}
    for line in (line for offer in offers for line in offer.made.taxes):
        key = TaxKey(line.rule.name, line.rule.percent)
        taxed, cents = sums.get(key, (0, 0))
        sums[key] = (taxed + line.taxed_cents, cents + line.cents)
    return tuple(TaxSum(key, *sums[key]) for key in sorted(sums))


def _method_sums(money: Iterable[MoneyRow]) -> tuple[MethodSum, ...]:
    sums: dict[str, tuple[int, int]] = {}
    for row in money:
        came, went = sums.get(row.method, (0, 0))
        sums[row.method] = (came + max(row.cents, 0), went + max(-row.cents, 0))
    return tuple(MethodSum(method, *sums[method]) for method in sorted(sums))


def faults_of_period(first: date, last: date) -> dict[str, str]:
    """What cannot be of a period, by field."""
    for name, day in (("from", first), ("until", last)):
        if not FIRST_YEAR <= day.year <= LAST_YEAR:
            return {name: f"The period must lie between the years {FIRST_YEAR} and {LAST_YEAR}."}
    if last < first:
        return {"until": f"The period ends on {last}, before it begins on {first}."}
    if (last - first).days > MOST_DAYS:
        return {"until": "A period of more than ten years is not summed up; take a shorter one."}
    return {}
