"""The bench calculator for a quote: every line with the rate it was worked out by."""

from shop.craft.faults import SumFault
from shop.craft.quote import (
    US_EXCISE_ON_RODS,
    Basis,
    Costs,
    PartLine,
    Quote,
    TaxedOn,
    TaxRule,
    Terms,
    exact,
    quote,
)
from shop.craft.quote_working import parts_working, say_percent, working_of
from shop.craft.sums.base import Column, Figure, Input, Kind, Outcome, Sum, Table, Values

_ASK = "Whether the excise is due, and on which price, is for an accountant to say (26 USC 4161)."


def _quote(values: Values) -> Outcome:
    parts = [PartLine(row["name"], row["count"], row["price"]) for row in values["parts"]]
    costs = Costs(_parts_cents(values, parts), values["consumables"], exact(values["hours"]), values["rate"])
    terms = Terms(
        exact(values["overhead_percent"]),
        Basis(values["basis"]),
        exact(values["percent"]),
        exact(values["deposit_percent"]),
    )
    rules = [_rule(row) for row in values["taxes"]]
    if values["us_excise"]:
        rules.append(_excise_beside(rules))
    made = quote(costs, terms, rules, values["day"])
    working = (*parts_working(parts, costs), *working_of(costs, terms, made))
    unused = [rule.name for rule in rules if not rule.holds_on(values["day"])]
    warnings = [f"The tax “{name}” does not hold on {values['day']}; it is left out." for name in unused]
    if values["us_excise"]:
        warnings.append(_ASK)
    return Outcome(_figures(costs, terms, made), working, (*warnings,))


def _parts_cents(values: Values, parts: list[PartLine]) -> int:
    total = values["parts_total"]
    if parts and total is not None:
        raise SumFault({"parts_total": "Give the parts one by one or their total, not both."})
    if not parts and total is None:
        raise SumFault({"parts": "Parts are missing: fill in at least one, or their total."})
    return sum(part.cents for part in parts) if parts else int(total)


def _rule(row: Values) -> TaxRule:
    percent, taxed_on = exact(row["percent"]), TaxedOn(row["taxed_on"])
    return TaxRule(row["name"], percent, row["from"], row["until"], row["cap"], taxed_on)


def _excise_beside(rules: list[TaxRule]) -> TaxRule:
    """The excise, unless it is among the shop's own rules already."""
    if US_EXCISE_ON_RODS.name in {rule.name for rule in rules}:
        raise SumFault({"us_excise": "The US excise is among the taxes already; give it only once."})
    return US_EXCISE_ON_RODS


def _figures(costs: Costs, terms: Terms, made: Quote) -> tuple[Figure | Table, ...]:
    columns = (
        Column("name", "Tax", Kind.TEXT),
        Column("percent", "Rate used", Kind.NUMBER, "%"),
        Column("taxed", "On", Kind.MONEY),
        Column("cap", "At most, a rod", Kind.MONEY),
        Column("amount", "Tax", Kind.MONEY),
    )
    rows = tuple(
        (line.rule.name, float(line.rule.percent), line.taxed_cents, line.rule.cap_cents, line.cents)
        for line in made.taxes
    )
    return (
        Figure("parts", "Parts", Kind.MONEY, costs.parts_cents),
        Figure("consumables", "Consumables", Kind.MONEY, costs.consumables_cents),
        Figure("labour", "Labour", Kind.MONEY, made.labour_cents),
        Figure("before_overhead", "Before overhead", Kind.MONEY, made.before_overhead_cents),
        Figure("overhead", "Overhead", Kind.MONEY, made.overhead_cents),
        Figure("cost", "Cost", Kind.MONEY, made.cost_cents),
        Figure("price", f"Price at {say_percent(terms.percent)} {terms.basis}", Kind.MONEY, made.price_cents),
        Figure("profit", "Price less cost", Kind.MONEY, made.profit_cents),
        Figure("margin_percent", "As a margin", Kind.NUMBER, _share(made, made.price_cents), "%"),
        Figure("markup_percent", "As a markup", Kind.NUMBER, _share(made, made.cost_cents), "%"),
        Table("taxes", "Taxes of the day", columns, rows),
        Figure("total", "Total", Kind.MONEY, made.total_cents),
        Figure("deposit", f"Deposit, {say_percent(terms.deposit_percent)}", Kind.MONEY, made.deposit_cents),
        Figure("balance", "Balance", Kind.MONEY, made.balance_cents),
    )


def _share(made: Quote, of_cents: int) -> float | None:
    return None if of_cents == 0 else 100 * made.profit_cents / of_cents


def _percent_input(name: str, label: str, hint: str, default: str = "", most: float = 100.0) -> Input:
    return Input(name, label, Kind.NUMBER, hint=hint, default=default, zero=True, most=most, unit="%")


_PARTS = (
    Input("name", "Part", Kind.TEXT),
    Input("count", "How many", Kind.COUNT, default="1"),
    Input("price", "Price each", Kind.MONEY, zero=True),
)
_TAXES = (
    Input("name", "Tax", Kind.TEXT),
    _percent_input("percent", "Percent", ""),
    Input("cap", "At most, a rod", Kind.MONEY, optional=True, zero=True),
    Input("from", "Holds from", Kind.DAY),
    Input("until", "Holds until", Kind.DAY, hint="The last day.", optional=True),
    Input("taxed_on", "Taken on", Kind.CHOICE, default=str(TaxedOn.PRICE), options=tuple(TaxedOn)),
)

QUOTE = Sum(
    name="quote",
    title="Quote for one rod",
    group="Money",
    about="What a rod costs the shop, the price by margin or by markup, the taxes of the day and the "
    "deposit. Each line is rounded once.",
    inputs=(
        Input("parts", "Parts", Kind.TABLE, optional=True, columns=_PARTS),
        Input(
            "parts_total",
            "Or the parts' total",
            Kind.MONEY,
            hint="Instead of the parts.",
            optional=True,
            zero=True,
        ),
        Input("consumables", "Consumables", Kind.MONEY, hint="Thread, finish, glue.", default="0", zero=True),
        Input("hours", "Hours of labour", Kind.NUMBER, zero=True, most=1000.0, unit="h"),
        Input("rate", "Rate an hour", Kind.MONEY, zero=True),
        _percent_input("overhead_percent", "Overhead", "Of parts, consumables and labour.", most=1000.0),
        Input(
            "basis",
            "Margin or markup",
            Kind.CHOICE,
            hint="A margin is a share of the price, a markup a share of the cost.",
            options=tuple(Basis),
        ),
        _percent_input("percent", "Percent of margin or markup", "", most=1000.0),
        Input("taxes", "Taxes", Kind.TABLE, optional=True, columns=_TAXES),
        Input(
            "us_excise",
            "US excise on fishing rods",
            Kind.YES,
            hint="10 % of the price, at most 10.00 a rod. Ask an accountant.",
        ),
        Input("day", "Day of the quote", Kind.DAY, hint="The rates that hold on this day count."),
        _percent_input("deposit_percent", "Deposit", "Of the total.", default="50"),
    ),
    formula="cost = (parts + consumables + hours × rate) × (1 + overhead); price = cost ÷ (1 − margin) or "
    "cost × (1 + markup); total = price + taxes",
    source="Common practice, no source. US excise: 26 USC 4161(a)(1), Public Law 109-59, section 11117.",
    work=_quote,
)

SUMS: tuple[Sum, ...] = (QUOTE,)
