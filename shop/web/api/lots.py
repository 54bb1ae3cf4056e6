"""The API of lots: what is on the shelf, what became of it, and recall both ways."""

from datetime import date
from typing import Annotated, Any, Literal

from fastapi import Query
from pydantic import BaseModel, Field

from shop.queries.builds import build_view
from shop.queries.lots import builds_of_lot, lot_view, lots_after, lots_of_build
from shop.queries.shop import shop_day
from shop.rules.lots import MOST_NUMBER, MOST_POSITION
from shop.services.lots import (
    MOST_REASON,
    add_lot,
    change_lot,
    empty_lot,
    open_lot,
    quarantine_lot,
    release_lot,
)
from shop.web.addresses import MOST_WHOLE
from shop.web.api.base import (
    After,
    Body,
    Limit,
    Number,
    Once,
    Page,
    Ref,
    Truth,
    Whole,
    api_router,
    changes_of,
    page_of,
)
from shop.web.api.times import DayIn, InstantOut
from shop.web.benches import TheBench
from shop.web.deps import Now, Reading, Writing
from shop.web.doors import KeyForBench, KeyForDesk, KeyForLooking, KeyForReleasing

router = api_router("lots")

MAY_BE_UNKNOWN = ("opened_on", "use_by", "opened_life_days", "amount_ml")
LIFE = "Days for which it may be used once opened, where the bottle says otherwise than its adhesive."
Part = Literal["A", "B", "kit"]
MakersNumber = Annotated[
    str, Field(max_length=MOST_NUMBER, examples=["R-2207"], description="The maker's lot number.")
]
Position = Annotated[
    str, Field(max_length=MOST_POSITION, examples=["cupboard, top shelf"], description="Where it stands.")
]
Why = Annotated[str, Field(max_length=MOST_REASON, examples=["The hardener has turned brown."])]
OfAdhesive = Annotated[
    int | None, Query(ge=1, le=MOST_WHOLE, description="Only the lots of this adhesive, by its id.")
]


class LotIn(Body):
    """A bottle of part A or B, or a kit of both, as it came."""

    adhesive_id: Ref
    part: Part
    number: MakersNumber
    received_on: DayIn
    opened_on: DayIn | None = None
    use_by: DayIn | None = None
    opened_life_days: Whole | None = Field(default=None, description=LIFE)
    position: Position = ""
    amount_ml: Number | None = Field(default=None, description="Millilitres it held when it came.")


class LotChanges(Body):
    """What changes of a lot; whatever is left out stays, and null means that nobody knows."""

    part: Part | None = None
    number: MakersNumber | None = None
    received_on: DayIn | None = None
    opened_on: DayIn | None = None
    use_by: DayIn | None = None
    opened_life_days: Whole | None = Field(default=None, description=LIFE)
    position: Position | None = None
    amount_ml: Number | None = Field(default=None, description="Millilitres it held when it came.")
    emptied_on: None = Field(default=None, description="Null takes back that it is used up.")


class DayOfLot(Body):
    """On which day of the shop it happened; today if left out."""

    on: DayIn | None = None


class QuarantineIn(Body):
    """Why nobody may use it; `suspect_mixes` puts its mixes that are in hand under suspicion too."""

    reason: Why
    suspect_mixes: Truth = False


class LotRelease(Body):
    """Why it may be used again."""

    reason: Why


class LotOut(BaseModel):
    """A lot on file as it stands today.

    `left_ml` is what it held less what its mixes drew, where amounts were stated; it is at most that where
    `unsaid_mixes` of them did not say. `last_day` still counts.
    `fault` is why it may not be used today, `quarantined` the reason of a quarantine; both empty if not so.
    """

    id: int
    adhesive_id: int
    adhesive: str
    part: Part
    number: str
    received_on: date
    opened_on: date | None
    use_by: date | None
    opened_life_days: int | None = Field(description=LIFE)
    position: str
    amount_ml: float | None = Field(description="Millilitres it held when it came.")
    left_ml: float | None
    unsaid_mixes: int = Field(description="How many mixes from it did not say how much they drew.")
    emptied_on: date | None
    quarantined: str
    last_day: date | None
    usable: bool
    fault: str


class QuarantinedOut(LotOut):
    """The quarantined lot, and the ids of the mixes that were put under suspicion with it."""

    suspected_mixes: list[int]


class LotUseOut(BaseModel):
    """One place on one build closed with a mix from a lot. `failed` is why the joint no longer stands."""

    lot_id: int
    lot: str
    adhesive: str
    parts: Literal["A", "B", "A and B"]
    build: str
    title: str
    customer: str
    handed_over: bool
    place: str
    pass_: Annotated[int, Field(validation_alias="pass_number", serialization_alias="pass")]
    mix_id: int
    mixed_at: InstantOut
    closed_at: InstantOut
    failed: str


@router.get("/lots", response_model=Page[LotOut])
def list_lots(
    actor: KeyForLooking, session: Reading, now: Now, after: After = 0, limit: Limit = 50,
    adhesive_id: OfAdhesive = None,
) -> Any:  # fmt: skip
    """Lots by id, of every adhesive or of one."""
    found = lots_after(session, after, limit + 1, shop_day(session, now), adhesive_id)
    return page_of(found, limit, lambda lot: lot.id)


@router.post("/lots", status_code=201, response_model=LotOut)
def post_lot(actor: KeyForDesk, session: Writing, _once: Once, bench: TheBench, body: LotIn) -> Any:
    """Put a lot on the shelf."""
    lot = add_lot(session, bench.bench(session, actor), **body.model_dump())
    return lot_view(session, lot.id, shop_day(session, bench.now))


@router.get("/lots/{lot_id}", response_model=LotOut)
def get_lot(actor: KeyForLooking, session: Reading, now: Now, lot_id: int) -> Any:
    """One lot as it stands today."""
    return lot_view(session, lot_id, shop_day(session, now))


@router.patch("/lots/{lot_id}", response_model=LotOut)
def patch_lot(
    actor: KeyForDesk, session: Writing, _once: Once, bench: TheBench, lot_id: int, body: LotChanges
) -> Any:
    """Put right what is written down of a lot; mixes made from it are judged again."""
    changes = changes_of(body, *MAY_BE_UNKNOWN, "emptied_on")
    not_used_up = "emptied_on" in changes and changes.pop("emptied_on") is None
    change_lot(session, bench.bench(session, actor), lot_id, not_used_up=not_used_up, **changes)
    return lot_view(session, lot_id, shop_day(session, bench.now))


@router.post("/lots/{lot_id}/open", response_model=LotOut)
def post_opening(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, lot_id: int, body: DayOfLot
) -> Any:
    """Write down that a lot was opened; its opened life runs from that day."""
    open_lot(session, bench.bench(session, actor), lot_id, on=body.on)
    return lot_view(session, lot_id, shop_day(session, bench.now))


@router.post("/lots/{lot_id}/empty", response_model=LotOut)
def post_emptying(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, lot_id: int, body: DayOfLot
) -> Any:
    """Write down that a lot is used up; that day still counts for mixes made on it."""
    empty_lot(session, bench.bench(session, actor), lot_id, on=body.on)
    return lot_view(session, lot_id, shop_day(session, bench.now))


@router.post("/lots/{lot_id}/quarantine", response_model=QuarantinedOut)
def post_quarantine(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, lot_id: int, body: QuarantineIn
) -> Any:
    """Take a lot out of use until an owner releases it.

    With `suspect_mixes`, a lot that is quarantined already keeps its reason, and only its mixes in hand that
    are not suspect yet are put under suspicion.
    """
    suspected = quarantine_lot(session, bench.bench(session, actor), lot_id, **body.model_dump())
    lot = lot_view(session, lot_id, shop_day(session, bench.now))
    return {**lot._asdict(), "usable": lot.usable, "suspected_mixes": suspected}


@router.post("/lots/{lot_id}/release", response_model=LotOut)
def post_lot_release(
    actor: KeyForReleasing, session: Writing, _once: Once, bench: TheBench, lot_id: int, body: LotRelease
) -> Any:
    """Let a quarantined lot be used again; its suspect mixes await their own verdicts."""
    release_lot(session, bench.bench(session, actor), lot_id, reason=body.reason)
    return lot_view(session, lot_id, shop_day(session, bench.now))


@router.get("/lots/{lot_id}/builds", response_model=Page[LotUseOut])
def list_builds_of_lot(actor: KeyForLooking, session: Reading, now: Now, lot_id: int) -> Any:
    """Which builds had this lot, and where: every place closed with it, all in one page."""
    lot_view(session, lot_id, shop_day(session, now))
    return {"items": builds_of_lot(session, lot_id), "next": None}


@router.get("/builds/{number}/lots", response_model=Page[LotUseOut])
def list_lots_of_build(actor: KeyForLooking, session: Reading, number: str) -> Any:
    """Which lots this build had, and where, all in one page; mixes that name no lot are left out."""
    return {"items": lots_of_build(session, build_view(session, number).id).uses, "next": None}
