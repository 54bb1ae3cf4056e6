"""The API of servings: the places that a cup was mixed for, and closing many of them at once."""

from typing import Annotated, Any

from pydantic import BaseModel, Field

from shop.queries.mixes import mix_view, warnings_of_mixes
from shop.queries.servings import servings_of_mix
from shop.services.servings import Closing, close_places
from shop.web.api.base import CAN_BE_HELD, Body, Once, api_router
from shop.web.api.cures import CureOut, cure_out
from shop.web.api.logged import By
from shop.web.api.times import InstantIn, InstantOut
from shop.web.benches import TheBench
from shop.web.deps import Reading, Writing
from shop.web.doors import KeyForBench, KeyForLooking

router = api_router("servings")
Place = Annotated[str, Field(max_length=60, examples=["rear grip"])]
Number = Annotated[str, Field(max_length=20, examples=["26-014"])]


class ServedIn(Body):
    """A place that a cup is for."""

    build: Number
    place: Place


class ServingOut(BaseModel):
    """A place that a cup was for: when it was closed with it, or why it was left out."""

    id: int
    build: str
    place: str
    closed_at: InstantOut | None
    left_out: str


class ServingsOut(BaseModel):
    """The places that a cup was for, in the order chosen."""

    items: list[ServingOut]


class ClosingIn(Body):
    """A place that was closed; `closed_at` is now if left out."""

    build: Number
    place: Place
    closed_at: InstantIn | None = None


class ClosingsIn(Body):
    """Places closed with one cup; all of them are taken, or none."""

    closings: Annotated[list[ClosingIn], Field(min_length=1, max_length=60)]
    by: By = ""


class CuresOut(BaseModel):
    """The cures that began; `warnings` say what to know of the cup they were closed with, as of its lots."""

    items: list[CureOut]
    warnings: list[str]


@router.get("/mixes/{mix_id}/servings", response_model=ServingsOut)
def list_servings(actor: KeyForLooking, session: Reading, bench: TheBench, mix_id: int) -> Any:
    """The places that a cup was mixed for."""
    mix = mix_view(session, mix_id, bench.warmth(session))
    return {"items": servings_of_mix(session, mix.id)}


@router.post("/mixes/{mix_id}/closings", status_code=201, response_model=CuresOut, openapi_extra=CAN_BE_HELD)
def post_closings(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, mix_id: int, body: ClosingsIn
) -> Any:
    """Close many places with one cup, all or none; 409 with `holds` after its pot life."""
    at_bench = bench.bench(session, actor)
    closings = [Closing(item.build, item.place, item.closed_at) for item in body.closings]
    cures = close_places(session, at_bench, mix_id, closings, by=body.by)
    mix = mix_view(session, mix_id, at_bench.warmth)
    return {
        "items": [cure_out(session, cure.id, at_bench.warmth) for cure in cures],
        "warnings": warnings_of_mixes(session, [mix]).get(mix.id, []),
    }
