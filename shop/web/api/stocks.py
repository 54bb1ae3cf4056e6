"""The API of stock: what is counted, stock-takes, and the moves of each item."""

from typing import Annotated, Any

from fastapi import Query
from pydantic import BaseModel, Field

from shop.queries.stocks import StockView, moves_of_stock, stock_view, stocks_after
from shop.rules.refusals import BadInput
from shop.rules.stock import (
    MOST_BIN,
    MOST_CODE,
    MOST_COUNT,
    MOST_LEAD_DAYS,
    MOST_REASON,
    MOST_SUPPLIER_CODE,
    MOST_UNIT,
    MoveKind,
)
from shop.services.stocks import change_stock, count_stock, start_counting
from shop.web.addresses import MOST_WHOLE
from shop.web.api.base import (
    After,
    Body,
    Limit,
    Once,
    OnlyNumber,
    Page,
    Ref,
    api_router,
    changes_of,
    page_of,
)
from shop.web.api.times import InstantOut
from shop.web.benches import TheBench
from shop.web.deps import Reading, Writing
from shop.web.doors import KeyForDesk, KeyForLooking

router = api_router("stocks")

LEAST = "How many should at least be free; fewer are told of and bought."
LEAD = "Days that an order takes, where that differs from its supplier's."
CODE = "What a scan of its bin or of the part reads; each item has one of its own."
ITEMS = ("blank_id", "component_id", "adhesive_id")
Counted = Annotated[int, Field(ge=0, le=MOST_COUNT), OnlyNumber]
LeadDays = Annotated[int, Field(ge=0, le=MOST_LEAD_DAYS), OnlyNumber]
Code = Annotated[str, Field(max_length=MOST_CODE, examples=["C12"], description=CODE)]
Unit = Annotated[str, Field(max_length=MOST_UNIT, description="What is counted: piece, share, bottle.")]
Bin = Annotated[str, Field(max_length=MOST_BIN, examples=["drawer 4"], description="Where it lies.")]
SupplierCode = Annotated[str, Field(max_length=MOST_SUPPLIER_CODE, description="What the supplier calls it.")]
Before = Annotated[
    int, Query(ge=1, le=MOST_WHOLE, description="Only moves before this one: the `next` of the page before.")
]


class StockIn(Body):
    """An item that is counted from now on: one blank, one component or one adhesive."""

    blank_id: Ref | None = None
    component_id: Annotated[Ref | None, Field(examples=[1])] = None
    adhesive_id: Ref | None = None
    on_shelf: Counted = Field(default=0, description="How many lie on the shelf now.")
    supplier_id: Ref | None = None
    supplier_code: SupplierCode = ""
    code: Code = ""
    unit: Unit = ""
    bin: Bin = ""
    least: Counted = Field(default=0, description=LEAST)
    lead_days: LeadDays | None = Field(default=None, description=LEAD)


class StockChanges(Body):
    """What changes of what is said of an item; whatever is left out stays. How many there are is counted."""

    supplier_id: Ref | None = None
    supplier_code: SupplierCode | None = None
    code: Code | None = None
    unit: Unit | None = None
    bin: Bin | None = None
    least: Counted | None = Field(default=None, description=LEAST)
    lead_days: LeadDays | None = Field(default=None, description=LEAD)


class CountIn(Body):
    """A stock-take: how many lie there, those set aside included, and why that differs if it does."""

    counted: Counted = Field(description="How many lie on the shelf, those set aside included.")
    reason: Annotated[str, Field(max_length=MOST_REASON, examples=["One was cracked."])] = ""


class StockOut(BaseModel):
    """What is counted of one item."""

    id: int
    blank_id: int | None
    component_id: int | None
    adhesive_id: int | None
    kind: str = Field(description="`blank`, `adhesive`, or the component's kind.")
    name: str
    code: str = Field(description=CODE)
    unit: str
    bin: str
    on_shelf: int = Field(description="How many lie there.")
    set_aside: int = Field(description="How many of those are for some build.")
    free: int = Field(description="How many of those no build has.")
    least: int = Field(description=LEAST)
    is_below_least: bool
    supplier_id: int | None
    supplier: str
    supplier_code: str
    lead_days: int | None = Field(description="Days that an order takes: its own, or its supplier's.")


class MoveOut(BaseModel):
    """One move of an item; `count` has its sign. `build` is the number of the build it was for, or empty."""

    id: int
    kind: MoveKind
    count: int = Field(validation_alias="moved")
    build: str
    delivery_id: int | None
    unit_cost_cents: int | None = Field(description="What one cost at the time, in cents of `currency`.")
    currency: str
    at: InstantOut
    by: str
    note: str


def stock_out(stock: StockView) -> dict[str, Any]:
    """What is counted of an item, for `StockOut`."""
    return {**stock._asdict(), "free": stock.free, "is_below_least": stock.is_below_least}


@router.get("/stocks", response_model=Page[StockOut])
def list_stocks(actor: KeyForLooking, session: Reading, after: After = 0, limit: Limit = 50) -> Any:
    """Everything that is counted, by id."""
    page = page_of(stocks_after(session, after, limit + 1), limit, lambda item: item.id)
    return {**page, "items": [stock_out(stock) for stock in page["items"]]}


@router.post("/stocks", status_code=201, response_model=StockOut)
def post_stock(actor: KeyForDesk, session: Writing, _once: Once, bench: TheBench, body: StockIn) -> Any:
    """Begin to count an item; without a code it gets one, without a unit the usual one of its kind."""
    said = body.model_dump()
    items = {name: said.pop(name) for name in ITEMS}
    [what, item_id] = _the_one(items)
    stock = start_counting(session, bench.bench(session, actor), what=what, item_id=item_id, **said)
    return stock_out(stock_view(session, stock.id))


def _the_one(items: dict[str, int | None]) -> tuple[str, int]:
    """What is to be counted, and its id. Raises `BadInput` for none and for more than one."""
    named = [(name.removesuffix("_id"), item_id) for name, item_id in items.items() if item_id is not None]
    if len(named) != 1:
        raise BadInput({"component_id": f"Name one item to count: one of {', '.join(ITEMS)}."})
    return named[0]


@router.get("/stocks/{stock_id}", response_model=StockOut)
def get_stock(actor: KeyForLooking, session: Reading, stock_id: int) -> Any:
    """What is counted of one item."""
    return stock_out(stock_view(session, stock_id))


@router.patch("/stocks/{stock_id}", response_model=StockOut)
def patch_stock(actor: KeyForDesk, session: Writing, _once: Once, stock_id: int, body: StockChanges) -> Any:
    """Change what is said of an item; a null takes its supplier or its own lead time away."""
    change_stock(session, stock_id, **changes_of(body, "supplier_id", "lead_days"))
    return stock_out(stock_view(session, stock_id))


@router.post("/stocks/{stock_id}/count", response_model=StockOut)
def post_count(
    actor: KeyForDesk, session: Writing, _once: Once, bench: TheBench, stock_id: int, body: CountIn
) -> Any:
    """Write a stock-take down; refused where fewer lie there than are set aside."""
    count_stock(session, bench.bench(session, actor), stock_id, counted=body.counted, reason=body.reason)
    return stock_out(stock_view(session, stock_id))


@router.get("/stocks/{stock_id}/moves", response_model=Page[MoveOut])
def list_moves_of_stock(
    actor: KeyForDesk, session: Reading, stock_id: int, before: Before = MOST_WHOLE, limit: Limit = 50
) -> Any:
    """What became of an item, newest first; `next` is the `before` of the next page."""
    stock_view(session, stock_id)
    return page_of(moves_of_stock(session, stock_id, before, limit + 1), limit, lambda move: move.id)
