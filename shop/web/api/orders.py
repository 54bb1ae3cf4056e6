"""The API of orders: taking an enquiry on, ending one that comes to nothing, taking it up again."""

from typing import Annotated, Any, Literal

from pydantic import Field

from shop.queries.builds import build_view
from shop.services.orders import close_order, reopen_order, take_on_order
from shop.web.api.base import Body, Once, api_router
from shop.web.api.builds import BuildOut, build_out
from shop.web.benches import TheBench
from shop.web.deps import Writing
from shop.web.doors import KeyForDesk

router = api_router("builds")


class DeclineIn(Body):
    """Why it comes to nothing: a reason that names nobody, for the record, and a note for the shop."""

    reason: Literal[
        "the price", "the time it takes", "not a rod we build", "parts not to be had", "no answer any more",
        "changed their mind", "ordered elsewhere", "another reason",
    ]  # fmt: skip
    note: Annotated[str, Field(max_length=1000)] = ""


@router.post("/builds/{number}/take-on", response_model=BuildOut)
def post_take_on(actor: KeyForDesk, session: Writing, _once: Once, bench: TheBench, number: str) -> Any:
    """Take an enquiry on as an order; from then on the bench sees it."""
    take_on_order(session, number, bench.bench(session, actor))
    return build_out(build_view(session, number))


@router.post("/builds/{number}/decline", response_model=BuildOut)
def post_decline(
    actor: KeyForDesk, session: Writing, _once: Once, bench: TheBench, number: str, body: DeclineIn
) -> Any:
    """End an enquiry as declined, or an order as cancelled; its record stays."""
    close_order(session, number, bench.bench(session, actor), reason=body.reason, note=body.note)
    return build_out(build_view(session, number))


@router.post("/builds/{number}/reopen", response_model=BuildOut)
def post_reopen(actor: KeyForDesk, session: Writing, _once: Once, bench: TheBench, number: str) -> Any:
    """Take a declined enquiry or a cancelled order up again, where it stood."""
    reopen_order(session, number, bench.bench(session, actor))
    return build_out(build_view(session, number))
