"""The API of promises: every day that was promised for a build, and why it moved.

A promise is made and moved with the build itself: `promised_on` and `promise_reason` of `PATCH`.
"""

from datetime import date
from typing import Any

from pydantic import BaseModel

from shop.queries.builds import build_view
from shop.queries.promises import promises_after
from shop.web.api.base import After, Limit, Page, api_router, page_of
from shop.web.api.times import InstantOut
from shop.web.deps import Reading
from shop.web.doors import KeyForLooking

router = api_router("promises")


class PromiseOut(BaseModel):
    """A promise or a change of one; `promised_on` is null where it was taken back, `was_on` at the first."""

    id: int
    promised_on: date | None
    was_on: date | None
    reason: str
    at: InstantOut
    by: str


@router.get("/builds/{number}/promises", response_model=Page[PromiseOut])
def list_promises(
    actor: KeyForLooking, session: Reading, number: str, after: After = 0, limit: Limit = 50
) -> Any:
    """Every promise of a build and every change of it, in the order in which they were made."""
    found = promises_after(session, build_view(session, number).id, after, limit + 1)
    return page_of([promise._asdict() for promise in found], limit, lambda item: item["id"])
