"""The form of a quote: rows as typed, what they say as values, and the rows to begin with.

A fault is named as `shop.rules.quotes` names it (`parts.2.price_cents`), so that it stands beside its cell;
rows left empty do not count.
"""

from datetime import date, timedelta
from fractions import Fraction
from typing import NamedTuple

from shop.craft.quote import Basis, PartLine, Terms, exact
from shop.craft.quote_working import say_decimal
from shop.craft.saying import say_money
from shop.rules.quote_terms import QuoteTerms
from shop.rules.quotes import (
    MOST_COUNT,
    MOST_HOURS,
    MOST_NAME,
    MOST_NOTE,
    QuoteLines,
    ReworkLine,
    Suggestion,
)
from shop.services.quotes import QuoteSaid
from shop.web.deps import Posted
from shop.web.forms import Fields

SPARE_PARTS, SPARE_REWORKS = 3, 1
MOST_NUMBER = 2**31 - 1


class PartRow(NamedTuple):
    """A part as typed."""

    name: str = ""
    how_many: str = ""
    price: str = ""


class ReworkRow(NamedTuple):
    """A line of rework as typed."""

    name: str = ""
    amount: str = ""


class QuoteRows(NamedTuple):
    """What the form shows besides what was typed into its single fields: `values` are those to begin with."""

    parts: list[PartRow]
    reworks: list[ReworkRow]
    values: dict[str, str]


def typed_parts(posted: Posted) -> list[PartRow]:
    """The rows of the parts as typed, empty ones left out."""
    columns = (posted.all(f"part_{name}") for name in PartRow._fields)
    return [PartRow(*cells) for cells in zip(*columns, strict=False) if any(cells)]


def typed_reworks(posted: Posted) -> list[ReworkRow]:
    """The rows of the rework as typed, empty ones left out."""
    columns = (posted.all(f"rework_{name}") for name in ReworkRow._fields)
    return [ReworkRow(*cells) for cells in zip(*columns, strict=False) if any(cells)]


def rows_to_begin_with(terms: QuoteTerms | None, suggestion: Suggestion, today: date) -> QuoteRows:
    """The form before anything is said: the shop's own rates, and what the make-up and the stages suggest."""
    parts = [
        PartRow(line.name, str(line.how_many), "" if line.cents is None else say_money(line.cents))
        for line in suggestion.lines
    ]
    values = {"hours": say_decimal(suggestion.hours), **_valid_until(terms, today)}
    if terms is not None:
        values |= _values(terms.consumables_cents, terms.rate_cents, terms.terms)
    return QuoteRows(parts, [], values)


def rows_of(lines: QuoteLines, terms: QuoteTerms | None, today: date) -> QuoteRows:
    """The form that begins with the lines of a quote that was made before."""
    parts = [PartRow(part.name, str(part.count), say_money(part.price_cents)) for part in lines.parts]
    reworks = [ReworkRow(line.name, say_money(line.cents)) for line in lines.reworks]
    values = _values(lines.consumables_cents, lines.rate_cents, lines.terms)
    values |= {"hours": say_decimal(lines.hours), **_valid_until(terms, today)}
    return QuoteRows(parts, reworks, values)


def _valid_until(terms: QuoteTerms | None, today: date) -> dict[str, str]:
    if terms is None:
        return {}
    return {"valid_until": (today + timedelta(days=terms.days_valid)).isoformat()}


def _values(consumables_cents: int, rate_cents: int, terms: Terms) -> dict[str, str]:
    return {
        "consumables_cents": say_money(consumables_cents), "rate_cents": say_money(rate_cents),
        **percent_values(terms),
    }  # fmt: skip


def percent_values(terms: Terms) -> dict[str, str]:
    """How a price is made, as a form shows it."""
    return {
        "overhead_percent": say_decimal(terms.overhead_percent), "basis": terms.basis.value,
        "percent": say_decimal(terms.percent), "deposit_percent": say_decimal(terms.deposit_percent),
    }  # fmt: skip


def said_of(posted: Posted) -> QuoteSaid:
    """The quote as typed. Raises `BadInput` with every fault by field."""
    parts, reworks = typed_parts(posted), typed_reworks(posted)
    fields = Fields(posted | _cells(parts, reworks))
    lines = QuoteLines(
        tuple(_part(fields, number, row) for number, row in enumerate(parts, 1)),
        _cents(fields, "consumables_cents", "The consumables"),
        _decimal(fields, "hours", "The hours", MOST_HOURS),
        _cents(fields, "rate_cents", "The rate"),
        terms_of(fields),
        tuple(_rework(fields, number, row) for number, row in enumerate(reworks, 1)),
    )
    valid_until = fields.day("valid_until", "The last day to answer")
    note = fields.text("note", "The words", MOST_NOTE)
    revision = fields.whole("revision", "The revision", 0, MOST_NUMBER)
    newest = fields.whole("newest", "The newest quote", 0, MOST_NUMBER)
    fields.done()
    return QuoteSaid(lines, valid_until, note, revision, newest)


def _cells(parts: list[PartRow], reworks: list[ReworkRow]) -> dict[str, str]:
    """The cells of the rows by the names that their faults have."""
    cells: dict[str, str] = {}
    for number, part in enumerate(parts, 1):
        cells |= {f"parts.{number}.count": part.how_many, f"parts.{number}.price_cents": part.price}
    for number, rework in enumerate(reworks, 1):
        cells[f"reworks.{number}.cents"] = rework.amount
    return cells


def _part(fields: Fields, number: int, row: PartRow) -> PartLine:
    key, what = f"parts.{number}", f"Part {number}"
    count = 1
    if row.how_many:
        count = fields.whole(f"{key}.count", f"{what}: how many", 1, MOST_COUNT) or 1
    if not row.name:
        fields.errors[f"{key}.name"] = f"{what}: say what it is."
    elif len(row.name) > MOST_NAME:
        fields.errors[f"{key}.name"] = f"{what} needs words of 1 to {MOST_NAME} characters."
    price = fields.cents(f"{key}.price_cents", f"{what}: the price")
    if price is None and f"{key}.price_cents" not in fields.errors:
        named = row.name or what
        fields.errors[f"{key}.price_cents"] = f"{named} has no price; write one, or 0 where it costs nothing."
    return PartLine(row.name, count, price or 0)


def _rework(fields: Fields, number: int, row: ReworkRow) -> ReworkLine:
    key = f"reworks.{number}"
    if not row.name:
        fields.errors[f"{key}.name"] = f"Rework {number}: say what is done."
    cents = _cents(fields, f"{key}.cents", f"Rework {number}: the amount")
    return ReworkLine(row.name, cents)


def terms_of(fields: Fields) -> Terms:
    """How a price is made, as typed; faults are noted."""
    overhead = _decimal(fields, "overhead_percent", "The overhead", 1000)
    basis = fields.choice("basis", "Margin or markup", tuple(Basis))
    percent = _decimal(fields, "percent", "The percentage of margin or markup", 1000)
    deposit = _decimal(fields, "deposit_percent", "The deposit", 100)
    return Terms(overhead, Basis(basis) if basis in tuple(Basis) else Basis.MARKUP, percent, deposit)


def _cents(fields: Fields, name: str, label: str) -> int:
    return fields.required(name, label, fields.cents(name, label)) or 0


def _decimal(fields: Fields, name: str, label: str, most: float) -> Fraction:
    number = fields.required(name, label, fields.number(name, label, 0, most))
    return exact(number or 0)
