"""The API of the bench: what is free, what is setting, what is held."""

from datetime import date
from typing import Any

from pydantic import BaseModel

from shop.queries.bench import BenchRow
from shop.web.api.base import api_router
from shop.web.api.holds import HoldOut, next_out
from shop.web.api.times import InstantOut
from shop.web.benches import TheBench
from shop.web.deps import Reading
from shop.web.doors import KeyForLooking

router = api_router("bench")


class SoftCure(BaseModel):
    """A cure that is not fully cured yet; of several cups in a joint each has the times of the joint."""

    id: int
    place: str
    adhesive: str
    set_at: InstantOut | None
    full_at: InstantOut | None
    recoat_from: InstantOut | None
    recoat_until: InstantOut | None


class BenchBuild(BaseModel):
    """An open build with its next stage, that stage's holds, and what is still soft on it."""

    number: str
    title: str
    customer: str
    stage: str | None
    promised_on: date | None
    next: str | None
    allowed: bool
    ready_at: InstantOut | None
    holds: list[HoldOut]
    cures: list[SoftCure]


class BenchOut(BaseModel):
    """Every open build: to be touched now, setting, or held for another reason than time."""

    free: list[BenchBuild]
    curing: list[BenchBuild]
    held: list[BenchBuild]


def _row(row: BenchRow) -> dict[str, Any]:
    build, decision = row.build, next_out(row.decision)
    return {
        **decision,
        "number": build.number, "title": build.title, "customer": build.customer, "stage": build.stage,
        "promised_on": build.promised_on, "next": decision["stage"], "cures": row.cures,
    }  # fmt: skip


@router.get("/bench", response_model=BenchOut)
def get_bench(actor: KeyForLooking, session: Reading, bench: TheBench) -> Any:
    """The bench as it stands."""
    view = bench.view(session)
    return {name: [_row(row) for row in rows] for name, rows in view._asdict().items()}
