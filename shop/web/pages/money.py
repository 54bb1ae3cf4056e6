"""Money at the desk: who owes what, and the totals of a period, also as CSV for the accountant."""

from datetime import date, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from fastapi import APIRouter
from starlette.responses import Response

from shop.craft.quote_working import say_percent
from shop.db.sessions import Session
from shop.outside.spreadsheets import Cell, amount_of, csv_text
from shop.queries.payments import OwedLine, payments_between, uneven_builds
from shop.queries.totals import money_between, sold_between
from shop.rules.totals import SoldRod, TaxKey, Totals, tax_keys, taxes_of, totals_of
from shop.web.benches import TheBench
from shop.web.deps import Reading
from shop.web.doors import AtDesk
from shop.web.periods import AskedPeriod, Period, csv_of_period, quarter_of
from shop.web.running import ReadingRoute
from shop.web.templating import Page
from shop.web.wording import amount, day

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/money.html"
MOST_ROWS = 200


@router.get("/desk/money")
def show_money(
    actor: AtDesk,
    page: Page,
    session: Reading,
    bench: TheBench,
    asked: AskedPeriod,
) -> Response:
    """Who owes what, and what a period came to; this quarter where no other is asked for."""
    today = bench.now.astimezone(page.zone).date()
    period, form, status = asked.or_usual(quarter_of(today))
    context = {
        "owing": [_owing(line, today, page.zone) for line in uneven_builds(session)],
        **_sums(session, period, page.zone, page.shop.currency),
        "periods": _periods(today),
    }
    return page.show(TEMPLATE, status, here="desk", tab="money", form=form, period=period, **context)


def _periods(today: date) -> list[tuple[str, str]]:
    """Periods that are asked for most, as words and the query of their address."""
    this = quarter_of(today)
    before = quarter_of(this.first - timedelta(days=1))
    years = [
        (str(year), Period(date(year, 1, 1), date(year, 12, 31))) for year in (today.year, today.year - 1)
    ]
    named = [("this quarter", this), ("the quarter before", before), *years]
    return [(words, period.query) for words, period in named]


def _owing(line: OwedLine, today: date, zone: ZoneInfo) -> list[Any]:
    owed = line.owed
    if owed.over_cents and line.closed_as:
        says = f"paid, but the order is {line.closed_as}"
    elif owed.over_cents:
        says = "paid, nothing agreed" if owed.agreed_cents is None else "paid beyond what was agreed"
    elif owed.deposit_owed_cents:
        says = f"deposit: {amount(owed.deposit_owed_cents, owed.currency)}"
    else:
        says = "balance"
    if line.closed_at is not None and not line.closed_as:
        says += f"; handed over {day(line.closed_at.astimezone(zone).date(), today)}"
    return [
        {"text": f"{line.build} {line.title}", "href": f"/builds/{line.build}/payments"}, line.customer,
        amount(owed.agreed_cents, owed.currency), amount(owed.paid_cents, owed.currency),
        amount(owed.owed_cents, owed.currency), says,
    ]  # fmt: skip


def _sums(session: Session, period: Period, zone: ZoneInfo, currency: str) -> dict[str, Any]:
    rods = sold_between(session, *period, zone)
    totals = totals_of(rods, money_between(session, *period))
    return {
        "rods": [_rod(rod) for rod in rods[:MOST_ROWS]],
        "rods_left": max(0, len(rods) - MOST_ROWS),
        "sold": len(rods),
        "unquoted": sum(rod.offer is None for rod in rods),
        "totals": [_totals(total) for total in totals],
        "currency": currency,
    }


def _rod(rod: SoldRod) -> list[Any]:
    made = None if rod.offer is None else rod.offer.made
    currency = "" if rod.offer is None else rod.offer.currency
    taxes = None if made is None else made.total_cents - made.price_cents
    return [
        {"text": f"{rod.build} {rod.title}", "href": f"/builds/{rod.build}/payments"}, rod.customer,
        rod.sold_on.isoformat(), amount(None if made is None else made.price_cents, currency),
        amount(taxes, currency), amount(None if made is None else made.total_cents, currency),
    ]  # fmt: skip


def _totals(total: Totals) -> dict[str, Any]:
    """The sums of one currency in finished words."""

    def said(cents: int) -> str:
        return amount(cents, total.currency)

    taxes = [(tax_words(line.tax), said(line.cents)) for line in total.taxes]
    return {
        "currency": total.currency,
        "rods": [("Rods with an agreed quote", str(total.rods)), ("Price", said(total.price_cents)), *taxes,
                 ("Total", said(total.total_cents))],
        "methods": [
            [line.method, said(line.in_cents), said(line.back_cents), said(line.cents)]
            for line in total.methods
        ],
        "paid": said(total.paid_cents),
    }  # fmt: skip


def tax_words(tax: TaxKey) -> str:
    """A tax with its rate: `Sales tax, 6.25 %`."""
    return f"{tax.name}, {say_percent(tax.percent)}"


@router.get("/desk/money/totals.csv")
def give_totals(
    actor: AtDesk,
    page: Page,
    session: Reading,
    asked: AskedPeriod,
) -> Response:
    """The sums of a period, one a line, currency by currency. Raises `BadInput` by field."""
    period = asked.read()
    rods = sold_between(session, *period, page.zone)
    return csv_of_period("totals", period, totals_csv(totals_of(rods, money_between(session, *period))))


def totals_csv(totals: list[Totals]) -> str:
    """The sums of a period as CSV: price, each tax by rule and rate with what it was taken on, payments."""
    head = ["currency", "what", "which", "rods", "taken_on", "amount"]
    return csv_text(head, [row for total in totals for row in _total_rows(total)])


def _total_rows(total: Totals) -> list[list[Cell]]:
    rows: list[list[Cell]] = [["price", None, total.rods, None, amount_of(total.price_cents)]]
    rows += [
        ["tax", tax_words(line.tax), None, amount_of(line.taxed_cents), amount_of(line.cents)]
        for line in total.taxes
    ]
    rows.append(["total", None, total.rods, None, amount_of(total.total_cents)])
    for line in total.methods:
        rows.append(["came in", line.method, None, None, amount_of(line.in_cents)])
        rows.append(["went back", line.method, None, None, amount_of(-line.back_cents)])
    return [[total.currency, *row] for row in rows]


@router.get("/desk/money/rods.csv")
def give_rods(
    actor: AtDesk,
    page: Page,
    session: Reading,
    asked: AskedPeriod,
) -> Response:
    """The rods sold in a period, one a line, with a column for each tax. Raises `BadInput` by field."""
    period = asked.read()
    rods = sold_between(session, *period, page.zone)
    return csv_of_period("rods", period, rods_csv(rods))


def rods_csv(rods: list[SoldRod]) -> str:
    """Rods sold as CSV: price, each tax by rule and rate, and total, of the quote that was agreed."""
    taxes = tax_keys(rods)
    head = ["number", "title", "customer", "sold_on", "currency", "price", *map(tax_words, taxes), "total"]
    return csv_text(head, [_rod_cells(rod, taxes) for rod in rods])


def _rod_cells(rod: SoldRod, taxes: list[TaxKey]) -> list[Cell]:
    begin: list[Cell] = [rod.build, rod.title, rod.customer, rod.sold_on]
    if rod.offer is None:
        return [*begin, None, None, *(None for _ in taxes), None]
    made, of_rule = rod.offer.made, taxes_of(rod.offer)
    sums = [amount_of(of_rule.get(tax)) for tax in taxes]
    return [*begin, rod.offer.currency, amount_of(made.price_cents), *sums, amount_of(made.total_cents)]


@router.get("/desk/money/payments.csv")
def give_payments(
    actor: AtDesk,
    page: Page,
    session: Reading,
    asked: AskedPeriod,
) -> Response:
    """The payments of a period, one a line; what went back is below nothing. Raises `BadInput` by field."""
    period = asked.read()
    head = ["no", "day", "build", "what", "method", "currency", "amount", "takes_back_no", "note", "by"]
    rows: list[list[Cell]] = [
        [
            line.id, line.paid_on, line.build, line.kind, line.method, line.currency, amount_of(line.cents),
            line.corrects_id, line.note, line.by,
        ]
        for line in payments_between(session, *period)
    ]  # fmt: skip
    return csv_of_period("payments", period, csv_text(head, rows))
