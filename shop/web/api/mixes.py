"""The API of mixes: a cup, its puddle, a suspicion about it and the verdict."""

from typing import Any, Literal

from pydantic import BaseModel, Field

from shop.db.sessions import Session
from shop.queries.cure_clock import Warmth
from shop.queries.cures import cures_of_mix
from shop.queries.mixes import mix_view, mixes_after, warnings_of_mixes
from shop.rules.sequences import HoldKind
from shop.services.corrections import MixAnew, correct_mix
from shop.services.cups import CupSaid, Released
from shop.services.cures import close_cure
from shop.services.mixes import judge_mix, make_mix, suspect_mix, touch_puddle
from shop.web.api.base import CAN_BE_HELD, After, Body, Limit, Number, Once, Page, Ref, api_router, page_of
from shop.web.api.cures import ClosedOut, CureIn, cure_out
from shop.web.api.logged import By, Reason, ReleaseIn
from shop.web.api.servings import ServedIn
from shop.web.api.times import InstantIn, InstantOut
from shop.web.benches import TheBench
from shop.web.deps import Reading, Writing
from shop.web.doors import KeyForBench, KeyForCorrecting, KeyForLooking, KeyForReleasing

router = api_router("mixes")


class MixIn(Body):
    """A cup that was mixed, from which lots, how much of each part, and for which places."""

    adhesive_id: Ref
    zone_id: Ref
    mixed_at: InstantIn | None = Field(default=None, description="When it was mixed; now if left out.")
    by: By = ""
    lot_a_id: Ref | None = None
    lot_b_id: Ref | None = None
    amount_a_ml: Number | None = None
    amount_b_ml: Number | None = None
    planned_minutes: Number | None = None
    serves: list[ServedIn] = Field(
        default_factory=list, max_length=60, description="The places that it is for."
    )
    release: list[ReleaseIn] = Field(default_factory=list, max_length=10)


class ReleasedOut(BaseModel):
    """A house rule that an owner released for a cup, why, and what it was released for."""

    kind: HoldKind
    reason: str
    by: str
    faults: list[str]


class MixOut(BaseModel):
    """A mix as it stands. `puddle` is how its leftover was last found; `suspect` why it is doubted.

    `recheck_at` is when to look again, where an owner said to wait.
    """

    id: int
    adhesive_id: int
    adhesive: str
    zone_id: int
    mixed_at: InstantOut
    by: str
    pot_life_ends_at: InstantOut
    puddle: Literal["", "firm", "tacky"]
    suspect: str
    recheck_at: InstantOut | None
    lot_a_id: int | None
    lot_b_id: int | None
    amount_a_ml: float | None
    amount_b_ml: float | None
    planned_minutes: float | None
    releases: list[ReleasedOut]
    sheet_mark: str = Field(
        description="What its figures lacked to be a data sheet's when it was mixed; empty where nothing."
    )
    warnings: list[str] = Field(
        description="What to know before anything is closed with it: a lot quarantined since."
    )


class HeldPlaceOut(BaseModel):
    """A place that a mix closed, on a build which its suspicion holds."""

    build: str
    place: str


class SuspectOut(MixOut):
    """A mix under suspicion, and every place that it closed and that counts."""

    held: list[HeldPlaceOut]


class MixCorrection(Body):
    """The facts that were wrong, anew, and why."""

    reason: Reason
    adhesive_id: Ref | None = None
    zone_id: Ref | None = None
    mixed_at: InstantIn | None = None
    lot_a_id: Ref | None = None
    lot_b_id: Ref | None = None
    amount_a_ml: Number | None = None
    amount_b_ml: Number | None = None
    planned_minutes: Number | None = None


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
    """An owner's verdict: `good`, `wait` until `recheck_at`, which leaves the suspicion open, or `redo`,
    which marks every cure of the mix as failed.
    """

    verdict: Literal["good", "wait", "redo"]
    reason: Reason
    recheck_at: InstantIn | None = Field(default=None, description="When to look again; with `wait` alone.")
    by: By = ""


@router.get("/mixes", response_model=Page[MixOut])
def list_mixes(
    actor: KeyForLooking, session: Reading, bench: TheBench, after: After = 0, limit: Limit = 50
) -> Any:
    """Mixes in the order they were entered."""
    mixes = mixes_after(session, after, limit + 1, bench.warmth(session))
    warnings = warnings_of_mixes(session, mixes)
    shown = [mix._asdict() | {"warnings": warnings.get(mix.id, [])} for mix in mixes]
    return page_of(shown, limit, lambda mix: mix["id"])


def mix_out(session: Session, mix_id: int, warmth: Warmth) -> dict[str, Any]:
    """A mix, for `MixOut`."""
    mix = mix_view(session, mix_id, warmth)
    return mix._asdict() | {"warnings": warnings_of_mixes(session, [mix]).get(mix.id, [])}


@router.post("/mixes", status_code=201, response_model=MixOut, openapi_extra=CAN_BE_HELD)
def post_mix(actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, body: MixIn) -> Any:
    """Write down a cup that was mixed; 409 with `holds` for a lot that may not be used.

    An owner's key may release that rule with a reason, which stays with the cup.
    """
    at_bench = bench.bench(session, actor)
    said = body.model_dump(include={"adhesive_id", "zone_id", "mixed_at", "by"})
    mix = make_mix(session, at_bench, cup=cup_said(body), **said)
    return mix_out(session, mix.id, at_bench.warmth)


def cup_said(body: MixIn) -> CupSaid:
    """What a call says of a cup besides its product, zone and time."""
    return CupSaid(
        body.lot_a_id, body.lot_b_id, body.amount_a_ml, body.amount_b_ml, body.planned_minutes,
        tuple((item.build, item.place) for item in body.serves),
        tuple(Released(item.kind, item.reason) for item in body.release),
    )  # fmt: skip


@router.get("/mixes/{mix_id}", response_model=MixOut)
def get_mix(actor: KeyForLooking, session: Reading, bench: TheBench, mix_id: int) -> Any:
    """One mix as it stands."""
    return mix_out(session, mix_id, bench.warmth(session))


@router.post("/mixes/{mix_id}/cures", status_code=201, response_model=ClosedOut, openapi_extra=CAN_BE_HELD)
def post_cure(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, mix_id: int, body: CureIn
) -> Any:
    """Close a place on a build with this mix; 409 with `holds` after its pot life.

    With `again` the joint that counts there is done anew, and the ticks that relied on it are asked again.
    """
    at_bench = bench.bench(session, actor)
    said = body.model_dump(exclude={"reason"})
    cure = close_cure(session, at_bench, mix_id, again_reason=body.reason, **said)
    warnings = warnings_of_mixes(session, [mix_view(session, cure.mix_id, at_bench.warmth)])
    return cure_out(session, cure.id, at_bench.warmth) | {"warnings": warnings.get(cure.mix_id, [])}


@router.post("/mixes/{mix_id}/correct", status_code=201, response_model=MixOut)
def post_mix_correction(
    actor: KeyForCorrecting, session: Writing, _once: Once, bench: TheBench, mix_id: int, body: MixCorrection
) -> Any:
    """Put a mix's facts right; its cures then go by them, and the old entry stays."""
    at_bench = bench.bench(session, actor)
    anew = MixAnew(**body.model_dump(exclude={"reason"}))
    mix = correct_mix(session, at_bench, mix_id, anew=anew, reason=body.reason)
    return mix_out(session, mix.id, at_bench.warmth)


@router.post("/mixes/{mix_id}/puddle", response_model=MixOut)
def post_puddle(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, mix_id: int, body: PuddleIn
) -> Any:
    """Write down how the puddle was found."""
    at_bench = bench.bench(session, actor)
    touch_puddle(session, at_bench, mix_id, **body.model_dump())
    return mix_out(session, mix_id, at_bench.warmth)


@router.post("/mixes/{mix_id}/suspect", response_model=SuspectOut)
def post_suspicion(
    actor: KeyForBench, session: Writing, _once: Once, bench: TheBench, mix_id: int, body: SuspectIn
) -> Any:
    """Put a mix under suspicion; every build that carries it is held at once, and listed."""
    at_bench = bench.bench(session, actor)
    suspect_mix(session, at_bench, mix_id, **body.model_dump())
    mix = mix_out(session, mix_id, at_bench.warmth)
    cures = cures_of_mix(session, mix["id"], at_bench.warmth)
    held = [cure for cure in cures if cure.corrected_by is None and not cure.failed]
    return {**mix, "held": [{"build": cure.build, "place": cure.place} for cure in held]}


@router.post("/mixes/{mix_id}/verdict", response_model=MixOut)
def post_verdict(
    actor: KeyForReleasing, session: Writing, _once: Once, bench: TheBench, mix_id: int, body: VerdictIn
) -> Any:
    """Settle a suspicion, or say until when to wait with it."""
    at_bench = bench.bench(session, actor)
    judge_mix(session, at_bench, mix_id, **body.model_dump())
    return mix_out(session, mix_id, at_bench.warmth)
