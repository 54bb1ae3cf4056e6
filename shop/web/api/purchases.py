"""The API of what to buy."""

from datetime import date
from typing import Any

from pydantic import BaseModel, Field

from shop.queries.purchases import PurchaseLine, purchases
from shop.queries.shop import shop_day
from shop.web.api.base import Page, api_router
from shop.web.deps import Now, Reading
from shop.web.doors import KeyForLooking

router = api_router("purchases")


class PurchaseOut(BaseModel):
    """What to buy of one item. `builds` are those that have no free one, by number."""

    stock_id: int
    name: str
    kind: str
    code: str
    unit: str
    supplier_id: int | None
    supplier: str
    supplier_code: str
    count: int
    short: int = Field(description="How many of those are for builds that have no free one.")
    builds: list[str]
    lead_days: int | None = Field(description="Days that an order takes; null where nobody said.")
    order_by: date | None = Field(description="The last day to order it for the first promise.")
    is_late: bool


def _out(line: PurchaseLine) -> dict[str, Any]:
    stock, purchase = line.stock, line.purchase
    return {
        **stock._asdict(), "stock_id": stock.id, "count": purchase.count, "short": purchase.short,
        "builds": purchase.builds, "order_by": purchase.order_by, "is_late": purchase.is_late,
    }  # fmt: skip


@router.get("/purchases", response_model=Page[PurchaseOut])
def list_purchases(actor: KeyForLooking, session: Reading, now: Now) -> Any:
    """What to buy now, by supplier, all in one page: for open builds, and up to each item's least.

    What is set aside for a build that does not take it any more counts as free: it is to be put back.
    """
    return {"items": [_out(line) for line in purchases(session, shop_day(session, now))], "next": None}
