"""The API of the same again: an enquiry for a rod like one that was built."""

from typing import Annotated, Any

from pydantic import BaseModel, Field

from shop.queries.builds import build_view
from shop.queries.shop import read_shop
from shop.services.re_orders import order_same_again
from shop.web.api.base import Body, Once, Ref, api_router
from shop.web.api.builds import BuildOut, build_out
from shop.web.benches import TheBench
from shop.web.deps import Writing
from shop.web.doors import KeyForDesk

router = api_router("builds")


class SameAgainIn(Body):
    """For whom it is; left out, for the customer of the rod before."""

    customer_id: Ref | None = None


class SameAgainOut(BaseModel):
    """The enquiry, what of its make-up is another than it was, and why it has none, if it has none."""

    build: BuildOut
    changes: Annotated[list[str], Field(examples=[["The reel seat: Perch 17 instead of Perch 16."]])]
    left_out: str


@router.post("/builds/{number}/same-again", status_code=201, response_model=SameAgainOut)
def post_same_again(
    actor: KeyForDesk, session: Writing, _once: Once, bench: TheBench, number: str, body: SameAgainIn
) -> Any:
    """Take down an enquiry for a rod like this one, with what is on the shelf today."""
    at_bench, zone = bench.bench(session, actor), read_shop(session).zone
    made = order_same_again(session, number, at_bench, zone=zone, customer_id=body.customer_id)
    view = build_view(session, made.build.number)
    return {"build": build_out(view), "changes": list(made.changes), "left_out": made.left_out}
