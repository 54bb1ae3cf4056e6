"""The API of mixes: a cup, its puddle, a suspicion about it and the verdict."""

from typing import Any, Literal

from pydantic import BaseModel, Field

from shop.queries.mixes import mix_view, mixes_after
from shop.services.corrections import MixAnew, correct_mix
from shop.services.cures import close_cure
from shop.services.mixes import judge_mix, make_mix, suspect_mix, touch_puddle
from shop.web.api.base import CAN_BE_HELD, After, Body, Limit, Once, Page, Ref, api_router, page_of
from shop.web.api.cures import CureIn, CureOut, cure_out
from shop.web.api.logged import By, Reason
from shop.web.api.times import InstantIn, InstantOut
from shop.web.benches import TheBench
from shop.web.deps import Reading, Writing
from shop.web.doors import KeyForBench, KeyForCorrecting, KeyForLooking, KeyForReleasing

router = api_router("mixes")


class MixIn(Body):
    """A cup that was mixed; `mixed_at` is now if left out."""

    adhesive_id: Ref
    zone_id: Ref
    mixed_at: InstantIn | None = Field(default=None, description="When it was mixed; now if left out.")
    by: By = ""


class MixOut(BaseModel):
    """A mix as it stands. `puddle` is how its leftover was last found; `suspect` why it is doubted."""

    id: int
    adhesive_id: int
    adhesive: str
    zone_id: int
    mixed_at: InstantOut
    by: str
    pot_life_ends_at: InstantOut
    puddle: Literal["", "firm", "tacky"]
    suspect: str


class MixCorrection(Body):
    """The facts that were wrong, anew, and why."""

    reason: Reason
    adhesive_id: Ref | None = None
    zone_id: Ref | None = None
    mixed_at: InstantIn | None = None


class PuddleIn(Body):
    """How the puddle was found; `at` is now if left out."""

    state: Literal["firm", "tacky"]
    at: InstantIn | None = Field(default=None, description="When it was touched; now if left out.")
    by: By = ""


class SuspectIn(Body):
    """What is suspected."""

    reason: Reason
    by: By = ""


class VerdictIn(Body):
    """An owner's verdict: `good`, or `redo`, which marks every cure of the mix as failed."""

    verdict: Literal["good", "redo"]
    reason: Reason
    by: By = ""


@router.get("/mixes", response_model=Page[MixOut])
def list_mixes(
    actor: KeyForLooking, session: Reading, bench: TheBench, after: After = 0, limit: Limit = 50
) -> Any:
    """Mixes in the order they were entered."""
    return page_of(mixes_after(session, after, limit + 1, bench.warmth(session)), limit, lambda mix: mix.id)


@router.post("/mixes", status_code=201, response_model=MixOut)
def post_mix(actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, body: MixIn) -> Any:
    """Write down a cup that was mixed."""
    at_bench = bench.bench(session, actor)
    mix = make_mix(session, at_bench, **body.model_dump())
    return mix_view(session, mix.id, at_bench.warmth)


@router.get("/mixes/{mix_id}", response_model=MixOut)
def get_mix(actor: KeyForLooking, session: Reading, bench: TheBench, mix_id: int) -> Any:
    """One mix as it stands."""
    return mix_view(session, mix_id, bench.warmth(session))


@router.post("/mixes/{mix_id}/cures", status_code=201, response_model=CureOut, openapi_extra=CAN_BE_HELD)
def post_cure(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, mix_id: int, body: CureIn
) -> Any:
    """Close a place on a build with this mix; 409 with `holds` after its pot life."""
    at_bench = bench.bench(session, actor)
    cure = close_cure(session, at_bench, mix_id, **body.model_dump())
    return cure_out(session, cure.id, at_bench.warmth)


@router.post("/mixes/{mix_id}/correct", status_code=201, response_model=MixOut)
def post_mix_correction(
    actor: KeyForCorrecting, session: Writing, _once: Once, bench: TheBench, mix_id: int, body: MixCorrection
) -> Any:
    """Put a mix's facts right; its cures then go by them, and the old entry stays."""
    at_bench = bench.bench(session, actor)
    anew = MixAnew(body.adhesive_id, body.zone_id, body.mixed_at)
    mix = correct_mix(session, at_bench, mix_id, anew=anew, reason=body.reason)
    return mix_view(session, mix.id, at_bench.warmth)


@router.post("/mixes/{mix_id}/puddle", response_model=MixOut)
def post_puddle(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, mix_id: int, body: PuddleIn
) -> Any:
    """Write down how the puddle was found."""
    at_bench = bench.bench(session, actor)
    touch_puddle(session, at_bench, mix_id, **body.model_dump())
    return mix_view(session, mix_id, at_bench.warmth)


@router.post("/mixes/{mix_id}/suspect", response_model=MixOut)
def post_suspicion(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, mix_id: int, body: SuspectIn
) -> Any:
    """Put a mix under suspicion; every build that carries it is held at once."""
    at_bench = bench.bench(session, actor)
    suspect_mix(session, at_bench, mix_id, **body.model_dump())
    return mix_view(session, mix_id, at_bench.warmth)


@router.post("/mixes/{mix_id}/verdict", response_model=MixOut)
def post_verdict(
    actor: KeyForReleasing, session: Writing, _once: Once, bench: TheBench, mix_id: int, body: VerdictIn
) -> Any:
    """Settle a suspicion."""
    at_bench = bench.bench(session, actor)
    judge_mix(session, at_bench, mix_id, **body.model_dump())
    return mix_view(session, mix_id, at_bench.warmth)
