"""The API of returns: rods that came back, and why."""

from datetime import date
from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field

from shop.queries.returns import return_view, returns_after
from shop.rules.intakes import MOST_WISH, MOST_WORK
from shop.rules.returns import MOST_NOTE, MOST_PERSON, MOST_STAGE, ReturnSaid
from shop.services.returns import record_return
from shop.web.api.base import After, Body, Limit, Once, Page, Ref, api_router, page_of
from shop.web.api.money import CentsIn
from shop.web.api.times import DayIn
from shop.web.benches import TheBench
from shop.web.deps import Reading, Writing
from shop.web.doors import KeyForDesk

router = api_router("returns")

Cause = Literal[
    "wrap came loose", "finish soft or yellow", "finish came off", "joint came loose", "ring cracked or lost",
    "guide out of line", "section broke", "ferrule loose", "rust", "use or accident", "other",
]  # fmt: skip


class ReturnIn(Body):
    """A rod that came back. With `repair_wish` it is taken in for repair too, to do `repair_work`."""

    build: Annotated[str, Field(max_length=20, examples=["26-014"])]
    returned_on: DayIn
    cause: Cause
    stage_name: Annotated[str, Field(max_length=MOST_STAGE)] = ""
    lot_id: Ref | None = None
    person: Annotated[str, Field(max_length=MOST_PERSON)] = ""
    cost_cents: CentsIn | None = None
    note: Annotated[str, Field(max_length=MOST_NOTE)] = ""
    repair_wish: Annotated[str, Field(max_length=MOST_WISH)] | None = None
    repair_work: Annotated[str, Field(max_length=MOST_WORK)] = ""


class ReturnOut(BaseModel):
    """A rod that came back; `repair` is the number of the repair that answers it."""

    id: int
    build: str
    repair: str | None
    returned_on: date
    cause: Cause
    stage_name: str
    lot_id: int | None
    person: str
    under_warranty: bool
    cost_cents: int | None
    note: str
    by: str


@router.get("/returns", response_model=Page[ReturnOut])
def list_returns(actor: KeyForDesk, session: Reading, after: After = 0, limit: Limit = 50) -> Any:
    """Rods that came back, by id; `next` is the `after` of the next page."""
    return page_of(returns_after(session, after, limit + 1), limit, lambda item: item.id)


@router.post("/returns", status_code=201, response_model=ReturnOut)
def post_returned_rod(
    actor: KeyForDesk, session: Writing, _once: Once, bench: TheBench, body: ReturnIn
) -> Any:
    """Write down that a rod came back; whether its warranty runs is told from the day."""
    given = body.model_dump(exclude={"build", "repair_wish", "repair_work"})
    kept = record_return(
        session, body.build, bench.bench(session, actor), ReturnSaid(**given), wish=body.repair_wish,
        work=body.repair_work,
    )  # fmt: skip
    return return_view(session, kept.id)
