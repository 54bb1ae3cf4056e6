"""The API of a build's parts: what it takes and has, setting aside, and holding a part against the rod."""

from datetime import date
from typing import Annotated, Any

from pydantic import BaseModel, Field

from shop.db.sessions import Session
from shop.queries.build_parts import BuildPartView, cost_of_build, parts_of_build
from shop.queries.builds import build_view
from shop.queries.shop import shop_day
from shop.rules.build_parts import MOST_OF_ONE
from shop.rules.purchases import here_by
from shop.rules.refusals import BadInput
from shop.rules.stock import MOST_CODE, MOST_COUNT, MOST_REASON
from shop.services.build_parts import (
    came_off,
    confirm_part,
    name_part,
    put_back,
    set_aside,
    set_aside_all_that_is_there,
    take_another,
)
from shop.web.api.base import Body, Once, OnlyNumber, Page, Ref, api_router
from shop.web.api.times import InstantOut
from shop.web.benches import TheBench
from shop.web.deps import Now, Reading, Writing
from shop.web.doors import KeyForBench, KeyForDesk, KeyForLooking

router = api_router("builds")

Count = Annotated[int, Field(ge=1, le=MOST_COUNT), OnlyNumber]
Needed = Annotated[int, Field(ge=0, le=MOST_OF_ONE), OnlyNumber]


class SetAsideIn(Body):
    """Which part to set aside and how many; all that it misses without a count, and whatever the build misses
    and the shelf has without a part.
    """

    part_id: Ref | None = None
    count: Count | None = None


class PutBackIn(Body):
    """Which part to put back on the shelf and how many; all that is set aside without a count."""

    part_id: Ref
    count: Count | None = None


class NamedPartIn(Body):
    """How many of a component a build takes that its make-up does not name: thread, or parts of a repair."""

    component_id: Ref
    count: Needed


class InHandIn(Body):
    """The part in hand: its code as scanned, or the counted item that it is."""

    code: Annotated[str, Field(max_length=MOST_CODE, examples=["C12"])] = ""
    stock_id: Ref | None = None


class OffIn(Body):
    """How many of a used part are off the rod again."""

    part_id: Ref
    count: Count = Field(default=1)


class SpoiltIn(OffIn):
    """How many of a used part are spoilt, and why."""

    reason: Annotated[str, Field(max_length=MOST_REASON)] = ""


class PartOfBuildOut(BaseModel):
    """One blank or component of a build. What nobody counts has no stock, and holds nothing."""

    id: int
    group: str = Field(description="Which stages use it: the kind of component, or `blank`.")
    name: str
    blank_id: int | None
    component_id: int | None
    needed: int = Field(description="How many the build takes.")
    set_aside: int = Field(description="How many lie on the shelf for it.")
    used: int = Field(description="How many are on the rod.")
    missing: int = Field(description="How many of a counted part are neither.")
    stock_id: int | None
    code: str | None
    free: int | None = Field(description="How many the shelf has that no build has; null if not counted.")
    here_by: date | None = Field(description="When it could be here if ordered today.")
    confirmed_at: InstantOut | None
    confirmed_by: str


class MoneyOut(BaseModel):
    """An amount in whole cents of a currency."""

    currency: str
    cents: int = Field(description="Whole cents of `currency`.")


class CostOut(BaseModel):
    """What the parts that a build used cost at the time; `unknown_count` of them had no cost on file."""

    cost: list[MoneyOut]
    unknown_count: int


def part_out(part: BuildPartView, today: date) -> dict[str, Any]:
    """A part, for `PartOfBuildOut`."""
    expected = here_by(today, part.lead_days) if part.missing else None
    return {**part._asdict(), "missing": part.missing, "here_by": expected}


def _page(session: Session, number: str, today: date) -> dict[str, Any]:
    parts = parts_of_build(session, build_view(session, number).id)
    return {"items": [part_out(part, today) for part in parts], "next": None}


@router.get("/builds/{number}/parts", response_model=Page[PartOfBuildOut])
def list_parts_of_build(actor: KeyForLooking, session: Reading, now: Now, number: str) -> Any:
    """What a build takes and has, all in one page."""
    return _page(session, number, shop_day(session, now))


@router.post("/builds/{number}/parts", response_model=Page[PartOfBuildOut])
def post_named_part(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, number: str, body: NamedPartIn
) -> Any:
    """Say how many of a component a build takes that its make-up does not name; none with a count of 0."""
    name_part(session, number, bench.bench(session, actor), component_id=body.component_id, count=body.count)
    return _page(session, number, shop_day(session, bench.now))


@router.post("/builds/{number}/parts/set-aside", response_model=Page[PartOfBuildOut])
def post_set_aside(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, number: str, body: SetAsideIn
) -> Any:
    """Set parts aside for a build; refused where nothing of it is free on the shelf."""
    at_bench = bench.bench(session, actor)
    if body.part_id is not None:
        set_aside(session, number, at_bench, part_id=body.part_id, count=body.count)
    elif body.count is not None:
        raise BadInput({"count": "A count goes with a part; say which."})
    else:
        set_aside_all_that_is_there(session, number, at_bench)
    return _page(session, number, shop_day(session, bench.now))


@router.post("/builds/{number}/parts/put-back", response_model=Page[PartOfBuildOut])
def post_put_back(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, number: str, body: PutBackIn
) -> Any:
    """Put what is set aside back on the shelf for anybody."""
    put_back(session, number, bench.bench(session, actor), part_id=body.part_id, count=body.count)
    return _page(session, number, shop_day(session, bench.now))


@router.post("/builds/{number}/parts/confirm", response_model=Page[PartOfBuildOut])
def post_part_in_hand(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, number: str, body: InHandIn
) -> Any:
    """Hold the part in hand against the rod; 422 where it is not one of its parts, naming both."""
    if body.code and body.stock_id is not None:
        raise BadInput({"code": "Send the code that was scanned or the stock, not both."})
    at_bench = bench.bench(session, actor)
    confirm_part(session, number, at_bench, code=body.code, stock_id=body.stock_id)
    return _page(session, number, shop_day(session, bench.now))


@router.post("/builds/{number}/parts/came-off", response_model=Page[PartOfBuildOut])
def post_part_off(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, number: str, body: OffIn
) -> Any:
    """Say that used parts came off the rod whole and lie on the shelf again."""
    came_off(session, number, bench.bench(session, actor), part_id=body.part_id, count=body.count)
    return _page(session, number, shop_day(session, bench.now))


@router.post("/builds/{number}/parts/spoilt", response_model=Page[PartOfBuildOut])
def post_part_spoilt(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, number: str, body: SpoiltIn
) -> Any:
    """Say that used parts are spoilt and others are taken in their place; they stay what the rod cost."""
    take_another(session, number, bench.bench(session, actor), **body.model_dump())
    return _page(session, number, shop_day(session, bench.now))


@router.get("/builds/{number}/cost", response_model=CostOut)
def get_cost_of_build(actor: KeyForDesk, session: Reading, number: str) -> Any:
    """What the parts that a build used cost when they were used."""
    found = cost_of_build(session, build_view(session, number).id)
    amounts = [{"currency": currency, "cents": cents} for currency, cents in found.cents.items()]
    return {"cost": amounts, "unknown_count": found.unknown}
