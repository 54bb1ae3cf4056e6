"""The API of deliveries: what came, looking at it, and sending back what is not right."""

from datetime import date
from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field

from shop.db.sessions import Session
from shop.queries.deliveries import (
    DeliveryView,
    deliveries_after,
    delivery_view,
    lines_of_deliveries,
)
from shop.queries.shop import shop_day
from shop.rules.deliveries import MOST_LINES, MOST_NOTE, MOST_REFERENCE, DeliveryDays
from shop.rules.lots import MOST_NUMBER
from shop.rules.stock import MOST_COUNT, MOST_REASON, MOST_UNIT_CENTS, days_left
from shop.services.deliveries import (
    DeliverySaid,
    LineSaid,
    inspect_delivery,
    receive_delivery,
    return_to_supplier,
)
from shop.web.api.base import After, Body, Limit, Once, OnlyNumber, Page, Ref, api_router, page_of
from shop.web.api.times import DayIn, InstantOut
from shop.web.benches import TheBench
from shop.web.deps import Now, Reading, Writing
from shop.web.doors import KeyForDesk

router = api_router("deliveries")

COST = "What one cost, in cents of the item's currency."
INSPECT_LEFT = "Days until then, 0 on the day itself and below 0 after it; null where no day was said."
Count = Annotated[int, Field(ge=1, le=MOST_COUNT), OnlyNumber]
Cents = Annotated[int, Field(ge=0, le=MOST_UNIT_CENTS), OnlyNumber]


class LineIn(Body):
    """How many of a counted item came. Each bottle of an adhesive becomes a lot, with the fields for that."""

    stock_id: Ref
    count: Count
    unit_cost_cents: Cents | None = Field(default=None, description=COST)
    lot_number: Annotated[str, Field(max_length=MOST_NUMBER, description="The maker's, of an adhesive.")] = ""
    part: Literal["A", "B", "kit"] = "kit"
    use_by: DayIn | None = None


class DeliveryIn(Body):
    """What came from a supplier on one day, and by when it must be looked at or sent back."""

    supplier_id: Ref | None = None
    reference: Annotated[str, Field(max_length=MOST_REFERENCE, examples=["DN 4471"])] = ""
    received_on: DayIn
    inspect_by: DayIn | None = None
    return_by: DayIn | None = None
    lines: Annotated[list[LineIn], Field(min_length=1, max_length=MOST_LINES)]
    note: Annotated[str, Field(max_length=MOST_NOTE)] = ""


class InspectionIn(Body):
    """That somebody has looked at all of it, and what was found."""

    note: Annotated[str, Field(max_length=MOST_NOTE, examples=["One blank is 2 mm short."])] = ""


class ReturnIn(Body):
    """How many of an item go back to the supplier, and what is wrong with them."""

    stock_id: Ref
    count: Count
    reason: Annotated[str, Field(min_length=1, max_length=MOST_REASON, examples=["Too short."])]


class LineOut(BaseModel):
    """One item of a delivery."""

    stock_id: int
    name: str
    unit: str
    received: int = Field(description="How many came.")
    returned: int = Field(description="How many of those went back.")
    unit_cost_cents: int | None = Field(description=COST)
    currency: str


class DeliveryOut(BaseModel):
    """A delivery; `inspected_at` is null until somebody has looked at it."""

    id: int
    supplier_id: int | None
    supplier: str
    reference: str
    received_on: date
    inspect_by: date | None
    inspect_days_left: int | None = Field(description=INSPECT_LEFT)
    return_by: date | None
    return_days_left: int | None = Field(description=INSPECT_LEFT)
    inspected_at: InstantOut | None
    inspected_by: str
    note: str
    by: str
    lines: list[LineOut]


def _out(session: Session, found: list[DeliveryView], today: date) -> list[dict[str, Any]]:
    """Deliveries with their lines, for `DeliveryOut`."""
    lines = lines_of_deliveries(session, [delivery.id for delivery in found])
    return [
        {
            **delivery._asdict(),
            "inspect_days_left": days_left(delivery.inspect_by, today),
            "return_days_left": days_left(delivery.return_by, today),
            "lines": lines.get(delivery.id, []),
        }
        for delivery in found
    ]


def _one(session: Session, delivery_id: int, today: date) -> dict[str, Any]:
    return _out(session, [delivery_view(session, delivery_id)], today)[0]


@router.get("/deliveries", response_model=Page[DeliveryOut])
def list_deliveries(
    actor: KeyForDesk, session: Reading, now: Now, after: After = 0, limit: Limit = 50
) -> Any:
    """Deliveries by id, with what came."""
    page = page_of(deliveries_after(session, after, limit + 1), limit, lambda item: item.id)
    return {**page, "items": _out(session, page["items"], shop_day(session, now))}


@router.post("/deliveries", status_code=201, response_model=DeliveryOut)
def post_delivery(actor: KeyForDesk, session: Writing, _once: Once, bench: TheBench, body: DeliveryIn) -> Any:
    """Take a delivery in: what came lies on the shelf from now on, and adhesives have their lots."""
    said = DeliverySaid(
        DeliveryDays(body.received_on, body.inspect_by, body.return_by),
        [LineSaid(**line.model_dump()) for line in body.lines],
        body.supplier_id, body.reference, body.note,
    )  # fmt: skip
    delivery = receive_delivery(session, bench.bench(session, actor), said)
    return _one(session, delivery.id, shop_day(session, bench.now))


@router.get("/deliveries/{delivery_id}", response_model=DeliveryOut)
def get_delivery(actor: KeyForDesk, session: Reading, now: Now, delivery_id: int) -> Any:
    """One delivery, with what came and what went back."""
    return _one(session, delivery_id, shop_day(session, now))


@router.post("/deliveries/{delivery_id}/inspect", response_model=DeliveryOut)
def post_inspection(
    actor: KeyForDesk, session: Writing, _once: Once, bench: TheBench, delivery_id: int, body: InspectionIn
) -> Any:
    """Write down that somebody has looked at all of it."""
    inspect_delivery(session, bench.bench(session, actor), delivery_id, note=body.note)
    return _one(session, delivery_id, shop_day(session, bench.now))


@router.post("/deliveries/{delivery_id}/return", response_model=DeliveryOut)
def post_return(
    actor: KeyForDesk, session: Writing, _once: Once, bench: TheBench, delivery_id: int, body: ReturnIn
) -> Any:
    """Send some of it back; refused where not so many are free on the shelf."""
    return_to_supplier(session, bench.bench(session, actor), delivery_id, **body.model_dump())
    return _one(session, delivery_id, shop_day(session, bench.now))
