"""What the pages of stock show: rows of the shelf, the facts and the moves of one item, what to buy."""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from shop.outside.spreadsheets import Cell
from shop.queries.purchases import PurchaseLine
from shop.queries.stocks import MoveView, StockView, UnitCost
from shop.rules.stock import MOVE_WORDS, MoveKind
from shop.web.wording import amount, day, when

HEAD = ["Item", "Kind", "Free", "On the shelf", "Set aside", "Least", "Where it lies", "Code"]
NUMERIC = [2, 3, 4, 5]
BUY_HEAD = ["Item", "Buy", "For", "Order by", "Takes", "Supplier's code"]
CSV_HEAD = (
    "supplier", "supplier_code", "item", "kind", "code", "count", "unit", "short", "builds", "order_by",
)  # fmt: skip
NO_SUPPLIER = "No supplier named"


class Line(NamedTuple):
    """One move of an item, as the list of a record takes it; nothing of it is put right."""

    at_iso: str
    at_text: str
    title: str
    text: str
    by: str
    struck: bool = False
    correct_href: str = ""


class Shop(NamedTuple):
    """What to buy of one supplier: who it is, how long it takes, a row for each item, what it may cost."""

    name: str
    says: str
    rows: list[list[Any]]
    costs: str


def stock_rows(stocks: Iterable[StockView]) -> list[list[Any]]:
    """A row for each counted item."""
    return [
        [
            {"text": item.name, "href": f"/shelf/stock/{item.id}"}, item.kind, item.free, item.on_shelf,
            item.set_aside, item.least, item.bin or "not said", item.code,
        ]
        for item in stocks
    ]  # fmt: skip


def many(count: int, unit: str) -> str:
    """A count with its unit: `3 pieces`, `1 share`."""
    return f"{count} {unit}" if count == 1 or unit.endswith("s") else f"{count} {unit}s"


def facts_of_stock(item: StockView, cost: UnitCost | None) -> list[tuple[str, str]]:
    """The facts of one item; `cost` is none for whoever does not see money."""
    lead = "not said" if item.lead_days is None else many(item.lead_days, "day")
    facts = [
        ("Free", many(item.free, item.unit)),
        ("On the shelf", many(item.on_shelf, item.unit)),
        ("Set aside for rods", many(item.set_aside, item.unit)),
        ("At least", many(item.least, item.unit)),
        ("Where it lies", item.bin or "not said"),
        ("Code", item.code),
        ("Supplier", item.supplier or "not said"),
        ("Supplier's code", item.supplier_code or "not said"),
        ("An order takes", lead),
    ]
    return facts if cost is None else [*facts, ("One costs", amount(cost.cents, cost.currency))]


def move_lines(moves: Iterable[MoveView], now: datetime, zone: ZoneInfo, may_money: bool) -> list[Line]:
    """What became of an item, newest first."""
    return [
        Line(
            move.at.isoformat(), when(move.at, now, zone),
            f"{move.moved:+d} {MOVE_WORDS[MoveKind(move.kind)]}", _said(move, may_money), move.by,
        )
        for move in moves
    ]  # fmt: skip


def _said(move: MoveView, may_money: bool) -> str:
    cost = move.unit_cost_cents if may_money else None
    said = (
        f"For {move.build}." if move.build else "",
        f"Delivery {move.delivery_id}." if move.delivery_id else "",
        f"One at {amount(cost, move.currency)}." if cost is not None else "",
        move.note,
    )
    return " ".join(filter(None, said))


def shops_to_buy_from(lines: Iterable[PurchaseLine], today: date, may_money: bool) -> list[Shop]:
    """What to buy, supplier by supplier, in the order that it comes in."""
    by_name: dict[str, list[PurchaseLine]] = {}
    for line in lines:
        by_name.setdefault(line.stock.supplier, []).append(line)
    return [
        Shop(
            name or NO_SUPPLIER, many(len(found), "item"), [_buy_row(line, today) for line in found],
            _costs(found) if may_money else "",
        )
        for name, found in by_name.items()
    ]  # fmt: skip


def _buy_row(line: PurchaseLine, today: date) -> list[Any]:
    stock, purchase = line.stock, line.purchase
    order_by = "–"
    if purchase.order_by is not None:
        order_by = day(purchase.order_by, today) + (", which is past" if purchase.is_late else "")
    return [
        {"text": stock.name, "href": f"/shelf/stock/{stock.id}"}, many(purchase.count, stock.unit),
        ", ".join(purchase.builds) or f"the least of {stock.least}", order_by,
        "not said" if stock.lead_days is None else many(stock.lead_days, "day"), stock.supplier_code or "–",
    ]  # fmt: skip


def _costs(lines: Iterable[PurchaseLine]) -> str:
    """About what it costs, in each currency, and how many items have no cost on file."""
    sums: dict[str, int] = {}
    unknown = 0
    for line in lines:
        if line.cost.cents is None:
            unknown += 1
        else:
            currency = line.cost.currency
            sums[currency] = sums.get(currency, 0) + line.cost.cents * line.purchase.count
    said = [f"about {amount(cents, currency)}" for currency, cents in sums.items()]
    if unknown:
        said.append(f"{many(unknown, 'item')} without a cost on file")
    return ", ".join(said)


def purchase_cells(lines: Iterable[PurchaseLine]) -> list[list[Cell]]:
    """What to buy as rows of a spreadsheet, under `CSV_HEAD`."""
    return [
        [
            line.stock.supplier, line.stock.supplier_code, line.stock.name, line.stock.kind, line.stock.code,
            line.purchase.count, line.stock.unit, line.purchase.short, " ".join(line.purchase.builds),
            line.purchase.order_by,
        ]
        for line in lines
    ]  # fmt: skip
