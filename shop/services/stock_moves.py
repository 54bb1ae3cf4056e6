"""Moves of stock: written down once and for all, with the counts that follow from them, in one transaction.

Whoever moves stock has locked its record (`shop.queries.stocks.stock_records`), so of two at once the second
sees what the first has left. What moves mean for a build is in `shop.services.build_parts`.
"""

from datetime import datetime

from sqlalchemy.orm import Session

from shop.db.stocks import Stock, StockMove
from shop.queries.stocks import UnitCost, stock_id_of, stock_record
from shop.rules.refusals import Overtaken
from shop.rules.stock import Level, MoveKind, counted, moved, refusal_of_move
from shop.services.bench import Signer

NO_COST = UnitCost(None, "")


def move_stock(
    session: Session,
    signer: Signer,
    stock: Stock,
    kind: MoveKind,
    count: int,
    *,
    name: str,
    at: datetime | None = None,
    cost: UnitCost = NO_COST,
    build_id: int | None = None,
    delivery_id: int | None = None,
    note: str = "",
) -> StockMove:
    """Move `count` of an item that is called `name`; for a stock-take, how many more (or fewer) were found.

    Raises `Overtaken` with a sentence where what is there does not allow it.
    """
    level = Level(stock.on_shelf, stock.set_aside)
    if refusal := refusal_of_move(level, kind, count, name):
        raise Overtaken(refusal)
    after = moved(level, kind, count)
    stock.on_shelf, stock.set_aside = after.on_shelf, after.set_aside
    move = StockMove(
        stock_id=stock.id, kind=kind, count=counted(kind, count), build_id=build_id, delivery_id=delivery_id,
        unit_cost_cents=cost.cents, currency="" if cost.cents is None else cost.currency, at=at or signer.now,
        entered_at=signer.now, by=signer.name(""), note=note,
    )  # fmt: skip
    session.add(move)
    session.flush()
    return move


def move_bottle(
    session: Session, signer: Signer, adhesive_id: int, kind: MoveKind, *, name: str, note: str
) -> None:
    """Move one bottle of an adhesive, where its bottles are counted at all.

    A bottle that is used up though the count has none left is not held against whoever used it; the next
    stock-take finds what is there.
    """
    stock_id = stock_id_of(session, "adhesive", adhesive_id)
    if stock_id is None:
        return
    stock = stock_record(session, stock_id)
    level = Level(stock.on_shelf, stock.set_aside)
    if not refusal_of_move(level, kind, 1, name):
        move_stock(session, signer, stock, kind, 1, name=name, note=note)
