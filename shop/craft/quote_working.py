"""How a quote comes about, line by line, with the numbers put in: what the desk can hold up and check."""

from collections.abc import Sequence
from fractions import Fraction

from shop.craft.quote import Basis, Costs, PartLine, Quote, TaxLine, Terms, price_of
from shop.craft.saying import say_money


def say_percent(percent: Fraction) -> str:
    """A decimal share of at most four places: `6.25 %`."""
    return f"{say_decimal(percent)} %"


def say_decimal(number: Fraction) -> str:
    """A decimal number of at most four places as it is typed: `6.5`."""
    return str(float(number)).removesuffix(".0")


def parts_working(parts: Sequence[PartLine], costs: Costs) -> tuple[str, ...]:
    """Each part's line, and what they come to."""
    lines = [
        f"{part.name}: {part.count} × {say_money(part.price_cents)} = {say_money(part.cents)}"
        for part in parts
    ]
    return (*lines, f"parts = {say_money(costs.parts_cents)}")


def working_of(costs: Costs, terms: Terms, made: Quote) -> tuple[str, ...]:
    """Every further line of a quote, from labour to what is left to pay after the deposit."""
    parts, consumables = say_money(costs.parts_cents), say_money(costs.consumables_cents)
    labour, before, cost = map(say_money, (made.labour_cents, made.before_overhead_cents, made.cost_cents))
    overhead, total = say_money(made.overhead_cents), say_money(made.total_cents)
    deposit = say_percent(terms.deposit_percent)
    added = (made.price_cents, *(line.cents for line in made.taxes))
    return (
        f"labour = {say_decimal(costs.hours)} h × {say_money(costs.rate_cents)} = {labour}",
        f"before overhead = {parts} + {consumables} + {labour} = {before}",
        f"overhead = {say_percent(terms.overhead_percent)} of {before} = {overhead}",
        f"cost = {before} + {overhead} = {cost}",
        *_price_working(terms, made),
        *(_tax_line(line) for line in made.taxes),
        f"total = {' + '.join(map(say_money, added))} = {total}",
        f"deposit = {deposit} of {total} = {say_money(made.deposit_cents)}",
        f"balance = {total} − {say_money(made.deposit_cents)} = {say_money(made.balance_cents)}",
    )


def _price_working(terms: Terms, made: Quote) -> tuple[str, ...]:
    """The price, and beside it what the same figure would give on the other basis."""
    cost, percent = say_money(made.cost_cents), say_percent(terms.percent)
    price = say_money(made.rod_price_cents)
    rework = _rework_working(made)
    if terms.basis is Basis.MARGIN:
        markup = say_money(price_of(made.cost_cents, Basis.MARKUP, terms.percent))
        return (
            f"price at {percent} margin, a share of the price = {cost} ÷ (1 − {percent}) = {price}",
            f"not to be mixed up: {percent} markup would make {markup}",
            *rework,
        )
    line = f"price at {percent} markup, a share of the cost = {cost} × (1 + {percent}) = {price}"
    if terms.percent >= 100:
        return (line, *rework)
    margin = say_money(price_of(made.cost_cents, Basis.MARGIN, terms.percent))
    return (line, f"not to be mixed up: {percent} margin would make {margin}", *rework)


def _rework_working(made: Quote) -> tuple[str, ...]:
    if not made.rework_cents:
        return ()
    rod, rework, price = map(say_money, (made.rod_price_cents, made.rework_cents, made.price_cents))
    return (f"price with the rework = {rod} + {rework} = {price}",)


def _tax_line(line: TaxLine) -> str:
    rule = line.rule
    until = f"from {rule.valid_from}" + (f" until {rule.valid_until}" if rule.valid_until else "")
    capped = f", capped at {say_money(line.cents)} a rod" if line.capped else ""
    return (
        f"{rule.name} = {say_percent(rule.percent)} of {say_money(line.taxed_cents)}{capped} = "
        f"{say_money(line.cents)} (rate {until})"
    )
