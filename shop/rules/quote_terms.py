"""The shop's own rates: what a quote begins with until somebody says otherwise for one rod."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import Any

from shop.craft.quote import Basis, Terms
from shop.craft.quote_working import say_decimal
from shop.craft.saying import say_money
from shop.rules.quotes import MOST_CENTS, faults_of_percents

MOST_DAYS_VALID = 365
MOST_WORDS = 5000


class PartsAt(StrEnum):
    """Which figure of the shelf a part counts with: what the shop asks for it, or what it paid for it."""

    PRICE = "price"
    COST = "cost"


@dataclass(frozen=True, slots=True)
class QuoteTerms:
    """The rates of a shop: cents an hour, how a cost becomes a price, what small stuff a rod takes.

    `days_valid` is how long a quote stands, counted from the day it is made.
    """

    rate_cents: int
    terms: Terms
    consumables_cents: int
    days_valid: int
    parts_at: PartsAt = PartsAt.PRICE


def faults_of_quote_terms(said: QuoteTerms, words: str) -> dict[str, str]:
    """What cannot be of a shop's rates and of its words to customers, by field."""
    errors = faults_of_percents(said.terms)
    if said.terms.basis is Basis.MARGIN and said.terms.percent >= 100:
        errors["percent"] = (
            "A margin is a share of the price, so it must be below 100 %. Did you mean a markup?"
        )
    for name, what, cents in (
        ("rate_cents", "The rate", said.rate_cents),
        ("consumables_cents", "The consumables", said.consumables_cents),
    ):
        if not 0 <= cents <= MOST_CENTS:
            errors[name] = f"{what} must be from 0 to {say_money(MOST_CENTS)}."
    if not 1 <= said.days_valid <= MOST_DAYS_VALID:
        errors["days_valid"] = f"A quote stands for 1 to {MOST_DAYS_VALID} days."
    if len(words) > MOST_WORDS:
        errors["words"] = f"The words have {len(words)} characters; at most {MOST_WORDS} fit."
    return errors


def quote_terms_map(said: QuoteTerms) -> dict[str, Any]:
    """A shop's rates as they are kept."""
    return {
        "rate_cents": said.rate_cents,
        "overhead_percent": say_decimal(said.terms.overhead_percent),
        "basis": said.terms.basis.value,
        "percent": say_decimal(said.terms.percent),
        "deposit_percent": say_decimal(said.terms.deposit_percent),
        "consumables_cents": said.consumables_cents,
        "days_valid": said.days_valid,
        "parts_at": said.parts_at.value,
    }


def quote_terms_from(kept: Mapping[str, Any]) -> QuoteTerms | None:
    """A shop's rates from what was kept of them; none before they were said."""
    if not kept:
        return None
    terms = Terms(
        Fraction(kept["overhead_percent"]), Basis(kept["basis"]), Fraction(kept["percent"]),
        Fraction(kept["deposit_percent"]),
    )  # fmt: skip
    return QuoteTerms(
        kept["rate_cents"], terms, kept["consumables_cents"], kept["days_valid"], PartsAt(kept["parts_at"])
    )
