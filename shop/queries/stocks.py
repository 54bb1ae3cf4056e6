"""Stock: what is counted, its moves, what one of it cost last; one locked record or several for a verb."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, case, func, literal, select
from sqlalchemy.orm import Session

from shop.db.adhesives import Adhesive
from shop.db.blanks import Blank
from shop.db.builds import Build
from shop.db.components import Component
from shop.db.shop import Shop
from shop.db.stocks import Stock, StockMove
from shop.db.suppliers import Supplier
from shop.rules.refusals import NotOnFile
from shop.rules.stock import MoveKind


class StockView(NamedTuple):
    """What is counted of one item. One of the three ids says which; `kind` is `blank`, `adhesive` or the
    component's.

    `own_lead_days` is what was said of the item itself, `lead_days` that or else its supplier's. `currency`
    is what its cost is said in, `file_cost_cents` what its component says that one costs.
    """

    id: int
    blank_id: int | None
    component_id: int | None
    adhesive_id: int | None
    kind: str
    name: str
    code: str
    unit: str
    bin: str
    least: int
    own_lead_days: int | None
    lead_days: int | None
    supplier_id: int | None
    supplier: str
    supplier_code: str
    on_shelf: int
    set_aside: int
    currency: str
    file_cost_cents: int | None
    version: int

    @property
    def free(self) -> int:
        """How many no build has."""
        return self.on_shelf - self.set_aside

    @property
    def is_below_least(self) -> bool:
        """Whether fewer are free than there should at least be."""
        return self.free < self.least


class MoveView(NamedTuple):
    """One move of stock; `build` is the number of the one it was for, empty where it was for none.

    `moved` is its count, with its sign.
    """

    id: int
    kind: str
    moved: int
    build: str
    delivery_id: int | None
    unit_cost_cents: int | None
    currency: str
    at: datetime
    by: str
    note: str


class UnitCost(NamedTuple):
    """What one of an item costs, in whole cents; none where nobody said."""

    cents: int | None
    currency: str


_NAME = func.coalesce(Component.name, Adhesive.name, func.trim(Blank.maker + " " + Blank.model))
_KIND = case(
    (Stock.component_id.is_not(None), Component.kind),
    (Stock.blank_id.is_not(None), literal("blank")),
    else_=literal("adhesive"),
)
_VIEW: Select[*tuple[Any, ...]] = (
    select(
        Stock.id, Stock.blank_id, Stock.component_id, Stock.adhesive_id, _KIND, _NAME, Stock.code, Stock.unit,
        Stock.bin, Stock.least, Stock.lead_days, func.coalesce(Stock.lead_days, Supplier.lead_days),
        Stock.supplier_id, func.coalesce(Supplier.name, ""), Stock.supplier_code, Stock.on_shelf,
        Stock.set_aside, func.coalesce(Component.currency, Shop.currency), Component.cost_cents,
        Stock.version,
    )
    .select_from(Stock)
    .join(Shop, Shop.id == 1)
    .join(Component, Component.id == Stock.component_id, isouter=True)
    .join(Blank, Blank.id == Stock.blank_id, isouter=True)
    .join(Adhesive, Adhesive.id == Stock.adhesive_id, isouter=True)
    .join(Supplier, Supplier.id == Stock.supplier_id, isouter=True)
)  # fmt: skip
_ONE = _VIEW.where(Stock.id == bindparam("id"))
_BY_CODE = _VIEW.where(Stock.code == bindparam("code"))
_PAGE = _VIEW.where(Stock.id > bindparam("after")).order_by(Stock.id).limit(bindparam("most"))
# What is below its least first, the emptiest of those first of all; then by kind and name.
_ALL = _VIEW.order_by(
    case((Stock.on_shelf - Stock.set_aside < Stock.least, 0), else_=1), _KIND, _NAME, Stock.id
)
ITEMS = {"blank": Stock.blank_id, "component": Stock.component_id, "adhesive": Stock.adhesive_id}
_OF_ITEM = {what: select(Stock.id).where(column == bindparam("item_id")) for what, column in ITEMS.items()}
_MOVES: Select[*tuple[Any, ...]] = (
    select(
        StockMove.id, StockMove.kind, StockMove.count, func.coalesce(Build.number, ""), StockMove.delivery_id,
        StockMove.unit_cost_cents, StockMove.currency, StockMove.at, StockMove.by, StockMove.note,
    )
    .join(Build, Build.id == StockMove.build_id, isouter=True)
    .where(StockMove.stock_id == bindparam("stock_id"), StockMove.id < bindparam("before"))
    .order_by(StockMove.id.desc())
    .limit(bindparam("most"))
)  # fmt: skip
_NEWEST_COST = (
    select(StockMove.stock_id, func.max(StockMove.id).label("id"))
    .where(
        StockMove.stock_id.in_(bindparam("stock_ids", expanding=True)),
        StockMove.kind == MoveKind.RECEIVED, StockMove.unit_cost_cents.is_not(None),
    )
    .group_by(StockMove.stock_id)
    .subquery()
)  # fmt: skip
_COSTS = select(StockMove.stock_id, StockMove.unit_cost_cents, StockMove.currency).join(
    _NEWEST_COST, _NEWEST_COST.c.id == StockMove.id
)


def stock_view(session: Session, stock_id: int) -> StockView:
    """What is counted of one item. Raises `NotOnFile`."""
    row = session.execute(_ONE, {"id": stock_id}).first()
    if row is None:
        raise NotOnFile(f"There is no stock {stock_id} on file.")
    return StockView(*row)


def stock_of_code(session: Session, code: str) -> StockView | None:
    """The item whose bin or part carries a code, or none."""
    row = session.execute(_BY_CODE, {"code": code}).first()
    return None if row is None else StockView(*row)


def stocks_after(session: Session, after: int, most: int) -> list[StockView]:
    """At most `most` counted items whose id is above `after`, by id."""
    return [StockView(*row) for row in session.execute(_PAGE, {"after": after, "most": most})]


def stocks_on_shelf(session: Session) -> list[StockView]:
    """Every counted item, those below their least first."""
    return [StockView(*row) for row in session.execute(_ALL)]


def stock_id_of(session: Session, what: str, item_id: int) -> int | None:
    """The id of the stock of a `blank`, `component` or `adhesive`; none where it is not counted."""
    return session.scalar(_OF_ITEM[what], {"item_id": item_id})


def moves_of_stock(session: Session, stock_id: int, before: int, most: int) -> list[MoveView]:
    """At most `most` moves of an item whose id is below `before`, newest first."""
    values = {"stock_id": stock_id, "before": before, "most": most}
    return [MoveView(*row) for row in session.execute(_MOVES, values)]


def unit_costs(session: Session, stocks: Iterable[StockView]) -> dict[int, UnitCost]:
    """What one of each of some items costs: what the newest delivery said, else its component's own figure.

    By the stock's id; in one statement.
    """
    known = {stock.id: UnitCost(stock.file_cost_cents, stock.currency) for stock in stocks}
    rows = session.execute(_COSTS, {"stock_ids": list(known)})
    return known | {stock_id: UnitCost(cents, currency) for stock_id, cents, currency in rows}


def stock_record(session: Session, stock_id: int) -> Stock:
    """The record of one item's stock, locked, for a verb. Raises `NotOnFile`."""
    found = stock_records(session, [stock_id])
    if stock_id not in found:
        raise NotOnFile(f"There is no stock {stock_id} on file.")
    return found[stock_id]


def stock_records(session: Session, stock_ids: Iterable[int]) -> dict[int, Stock]:
    """The records of several items' stock by their ids, locked in that order so that no two wait for another.

    What another has committed meanwhile is seen: two people never take the same last part.
    """
    statement = (
        select(Stock)
        .where(Stock.id.in_(sorted(set(stock_ids))))
        .order_by(Stock.id)
        .with_for_update()
        .execution_options(populate_existing=True)
    )
    return {stock.id: stock for stock in session.scalars(statement)}
