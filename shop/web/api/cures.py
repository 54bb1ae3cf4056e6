"""The API of cures: their times, and their corrections. They are closed through their mix."""

from typing import Annotated, Any

from pydantic import BaseModel, Field

from shop.db.sessions import Session
from shop.queries.cure_clock import Warmth
from shop.queries.cures import cure_view
from shop.services.corrections import CureAnew, correct_cure
from shop.web.api.base import CAN_BE_HELD, Body, Once, Ref, Truth, api_router
from shop.web.api.logged import By, Reason
from shop.web.api.times import InstantIn, InstantOut
from shop.web.benches import TheBench
from shop.web.deps import Reading, Writing
from shop.web.doors import KeyForCorrecting, KeyForLooking

router = api_router("cures")

Place = Annotated[str, Field(min_length=1, max_length=60, examples=["rear grip"])]


class CureIn(Body):
    """A place that was closed; `closed_at` is now if left out, `zone_id` that of the mix."""

    build: Annotated[str, Field(max_length=20, examples=["26-014"])]
    place: Place
    closed_at: InstantIn | None = Field(default=None, description="When it was closed; now if left out.")
    zone_id: Ref | None = Field(
        default=None, description="Where the rod lies; the zone of the mix if left out."
    )
    by: By = ""
    again: Truth = Field(
        default=False, description="Done anew: the joint that counts at the place ends as failed."
    )
    reason: Annotated[str, Field(max_length=500)] = Field(
        default="", description="Why it is done anew; with `again` alone."
    )


class MoveOut(BaseModel):
    """A cure carried to another zone; `undone` says why it was not after all, else it is empty."""

    id: int
    zone: str
    at: InstantOut
    by: str
    undone: str


class CureOut(BaseModel):
    """A cure and its times, null where it is stalled or where the sheet is silent.

    `zone` is where it lies now, `closed_in` where it lay when it was closed; a coat is kept turning until
    `turned_at`.
    """

    id: int
    build: str
    place: str
    mix_id: int
    adhesive: str
    zone: str
    pass_: Annotated[int, Field(serialization_alias="pass")]
    closed_at: InstantOut
    by: str
    set_at: InstantOut | None
    full_at: InstantOut | None
    recoat_from: InstantOut | None
    recoat_until: InstantOut | None
    turned_at: InstantOut | None
    stalled: bool
    failed: str
    corrects: int | None
    corrected_by: int | None
    sheet_mark: str = Field(
        description="What its mix's figures lacked to be a data sheet's at mixing; empty where nothing."
    )
    closed_in: str
    moves: list[MoveOut]


class ClosedOut(CureOut):
    """A cure that began; `warnings` say what to know of the mix it was closed with, as of its lots."""

    warnings: list[str]


class CureCorrection(Body):
    """The facts that were wrong, anew, and why. `failed` says that the joint did not hold."""

    reason: Reason
    place: Place | None = None
    closed_at: InstantIn | None = None
    mix_id: Ref | None = None
    zone_id: Ref | None = None
    failed: Truth | None = None


def cure_out(session: Session, cure_id: int, warmth: Warmth) -> dict[str, Any]:
    """A cure, for `CureOut`."""
    view = cure_view(session, cure_id, warmth)
    return {**view._asdict(), "pass_": view.pass_number}


@router.get("/cures/{cure_id}", response_model=CureOut)
def get_cure(actor: KeyForLooking, session: Reading, bench: TheBench, cure_id: int) -> Any:
    """One cure with its times."""
    return cure_out(session, cure_id, bench.warmth(session))


@router.post("/cures/{cure_id}/correct", status_code=201, response_model=CureOut, openapi_extra=CAN_BE_HELD)
def post_cure_correction(
    actor: KeyForCorrecting,
    session: Writing,
    _once: Once,
    bench: TheBench,
    cure_id: int,
    body: CureCorrection,
) -> Any:
    """Put a cure's facts right with a new entry; the old one stays and is pointed at."""
    at_bench = bench.bench(session, actor)
    anew = CureAnew(**body.model_dump(exclude={"reason"}))
    cure = correct_cure(session, at_bench, cure_id, anew=anew, reason=body.reason)
    return cure_out(session, cure.id, at_bench.warmth)
