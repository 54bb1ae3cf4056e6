"""A quote as lines of finished words: those that the customer reads, and the desk's own beside them."""

from collections.abc import Sequence
from datetime import date
from typing import NamedTuple

from shop.craft.quote import TaxLine
from shop.craft.quote_working import say_decimal, say_percent
from shop.craft.saying import say_money
from shop.rules.quotes import Offer
from shop.web.sums import address_of
from shop.web.wording import amount


class OfferLine(NamedTuple):
    """One line of a quote: what it is, what it comes to, and whether it is a sum of those above."""

    label: str
    amount: str
    is_sum: bool = False


def customer_lines(offer: Offer) -> list[OfferLine]:
    """What the customer pays and for what, without what the rod costs the shop."""
    made, currency = offer.made, offer.currency
    lines = [OfferLine("Your rod", amount(made.rod_price_cents, currency))]
    lines += [OfferLine(line.name, amount(line.cents, currency)) for line in offer.lines.reworks]
    lines += [OfferLine(_tax_words(line), amount(line.cents, currency)) for line in made.taxes]
    lines.append(OfferLine("Total", amount(made.total_cents, currency), True))
    if made.deposit_cents:
        lines.append(OfferLine("Of it, deposit before work begins", amount(made.deposit_cents, currency)))
        lines.append(OfferLine("And the rest before you get the rod", amount(made.balance_cents, currency)))
    return lines


def _tax_words(line: TaxLine) -> str:
    rule = line.rule
    most = f", at most {say_money(line.cents)}" if line.capped else ""
    return f"{rule.name}, {say_percent(rule.percent)} of {say_money(line.taxed_cents)}{most}"


def what_goes_in(offer: Offer) -> list[str]:
    """The parts of the rod by name, with how many where there are several, and no prices."""
    return [part.name if part.count == 1 else f"{part.count} × {part.name}" for part in offer.lines.parts]


def desk_figures(offer: Offer) -> list[tuple[str, str]]:
    """The sums that the desk looks at first, each with its name."""
    made, terms, currency = offer.made, offer.lines.terms, offer.currency
    pairs = (
        ("Cost", made.cost_cents),
        (f"Price at {say_percent(terms.percent)} {terms.basis}", made.rod_price_cents),
        ("Rework", made.rework_cents or None),
        ("Taxes", sum(line.cents for line in made.taxes) if made.taxes else None),
        ("Total", made.total_cents),
        (f"Deposit, {say_percent(terms.deposit_percent)}", made.deposit_cents),
        ("Balance", made.balance_cents),
    )
    return [(label, amount(cents, currency)) for label, cents in pairs if cents is not None]


def address_in_sums(offer: Offer) -> str:
    """The calculator for quotes, filled in with an offer; empty where it could not hold all of it."""
    lines, terms = offer.lines, offer.lines.terms
    if lines.reworks or not lines.parts:
        return ""
    parts = [
        {"name": part.name, "count": str(part.count), "price": say_money(part.price_cents)}
        for part in lines.parts
    ]
    return address_of(
        "quote",
        {
            "parts": parts, "consumables": say_money(lines.consumables_cents),
            "hours": say_decimal(lines.hours), "rate": say_money(lines.rate_cents),
            "overhead_percent": say_decimal(terms.overhead_percent), "basis": terms.basis.value,
            "percent": say_decimal(terms.percent), "taxes": _tax_rows(offer.made.taxes), "us_excise": "no",
            "day": offer.day.isoformat(), "deposit_percent": say_decimal(terms.deposit_percent),
        },
    )  # fmt: skip


def _tax_rows(taxes: Sequence[TaxLine]) -> list[dict[str, str]]:
    return [
        {
            "name": line.rule.name, "percent": say_decimal(line.rule.percent),
            "cap": "" if line.rule.cap_cents is None else say_money(line.rule.cap_cents),
            "from": line.rule.valid_from.isoformat(), "until": _day(line.rule.valid_until),
            "taxed_on": line.rule.taxed_on.value,
        }
        for line in taxes
    ]  # fmt: skip


def _day(day: date | None) -> str:
    return "" if day is None else day.isoformat()
