"""The API of moves: a rod carried to another zone with what is soft on it, and a move undone."""

from typing import Any

from pydantic import BaseModel, Field

from shop.services.moves import move_cures, undo_move
from shop.web.api.base import Body, Once, Ref, api_router
from shop.web.api.cures import CureOut, cure_out
from shop.web.api.logged import By, Reason
from shop.web.api.times import InstantIn
from shop.web.benches import TheBench
from shop.web.deps import Writing
from shop.web.doors import KeyForBench, KeyForCorrecting

router = api_router("moves")

MOST_CURES = 100


class MoveIn(Body):
    """Where a rod was carried; `at` is now if left out."""

    zone_id: Ref
    at: InstantIn | None = Field(default=None, description="When it was carried; now if left out.")
    cure_ids: list[Ref] | None = Field(
        default=None, max_length=MOST_CURES, description="What was carried; all that was soft if left out."
    )
    by: By = ""


class UndoIn(Body):
    """Why the cure was not carried after all."""

    reason: Reason


class Carried(BaseModel):
    """The cures that were carried, as they stand."""

    items: list[CureOut]


@router.post("/builds/{number}/move", response_model=Carried)
def post_move(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, number: str, body: MoveIn
) -> Any:
    """Carry a rod to another zone; what is soft on it then goes by the warmth there."""
    at_bench = bench.bench(session, actor)
    carried = move_cures(session, at_bench, number, **body.model_dump())
    return {"items": [cure_out(session, cure_id, at_bench.warmth) for cure_id in carried]}


@router.post("/moves/{move_id}/undo", response_model=CureOut)
def post_undoing(
    actor: KeyForCorrecting, session: Writing, _once: Once, bench: TheBench, move_id: int, body: UndoIn
) -> Any:
    """Undo a move of one cure; it stays on the record with the reason."""
    at_bench = bench.bench(session, actor)
    cure = undo_move(session, at_bench, move_id, reason=body.reason)
    return cure_out(session, cure.id, at_bench.warmth)
