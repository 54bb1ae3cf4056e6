"""The API of enquiries: those that are open, and what each of them waits for.

One is taken down as a build that is an enquiry, and its spec is written; see `builds`, `specs` and `orders`.
"""

from typing import Annotated, Any

from pydantic import BaseModel, Field

from shop.queries.enquiries import waiting_at_desk
from shop.queries.shop import shop_day
from shop.rules.enquiries import Waits
from shop.web.api.base import Page, api_router
from shop.web.api.times import InstantOut
from shop.web.deps import Now, Reading
from shop.web.doors import KeyForLooking

router = api_router("enquiries")


class EnquiryOut(BaseModel):
    """An enquiry that is open, and what comes next for it."""

    build: Annotated[str, Field(description="Its printed number, which it keeps as an order.")]
    title: str
    rod_kind: str
    customer_id: int
    created_at: InstantOut
    waits_for: Waits
    says: Annotated[str, Field(description="What it waits for, as a sentence.")]


@router.get("/enquiries", response_model=Page[EnquiryOut])
def list_enquiries(actor: KeyForLooking, session: Reading, now: Now) -> Any:
    """Every enquiry that is open, newest first, all in one page."""
    open_now = waiting_at_desk(session, shop_day(session, now)).enquiries
    items = [
        {
            "build": build.number, "title": build.title, "rod_kind": build.rod_kind,
            "customer_id": build.customer_id, "created_at": build.created_at, "waits_for": waiting.what,
            "says": waiting.says,
        }
        for build, waiting in open_now
    ]  # fmt: skip
    return {"items": items, "next": None}
