"""The API of a cup before it is mixed: what it takes, every reason not to mix it now, and what to know."""

from typing import Any

from pydantic import BaseModel, Field

from shop.queries.cup import CupAnswer, CupSide, CupWish, cup_answer
from shop.queries.shop import read_shop
from shop.rules.cup import MOST_SERVED
from shop.web.api.base import WRITES_NOTHING, Body, NamedRoute, Number, Ref, api_router
from shop.web.api.holds import HoldOut, hold_out
from shop.web.api.servings import ServedIn
from shop.web.api.times import InstantOut
from shop.web.benches import TheBench
from shop.web.deps import Reading
from shop.web.doors import KeyForBench

router = api_router("mixes", NamedRoute)


class CupIn(Body):
    """A cup that somebody means to mix now; only the adhesive and the zone are needed.

    `volume_ml` and `minutes` are for other figures than the places served come to; `parts_c` says how warm
    the rods are, where they come from elsewhere than the zone.
    """

    adhesive_id: Ref
    zone_id: Ref
    serves: list[ServedIn] = Field(
        default_factory=list, max_length=MOST_SERVED, description="The places that it is for."
    )
    lot_a_id: Ref | None = None
    lot_b_id: Ref | None = None
    volume_ml: Number | None = Field(default=None, description="Millilitres in all.")
    minutes: Number | None = Field(default=None, description="Minutes to use it up.")
    parts_c: Number | None = None


class AmountsOut(BaseModel):
    """What to measure out; a mass is null where the density of that part is not on file.

    `is_least` says that the places take less than can be measured out well.
    """

    volume_ml: float
    amount_a_ml: float
    amount_b_ml: float
    mass_a_g: float | None
    mass_b_g: float | None
    is_least: bool


class PlannedOut(BaseModel):
    """A place that the cup is for. `volume_ml` is null where no make-up says it; `prep` is often empty."""

    build: str
    place: str
    volume_ml: float | None
    minutes: float = Field(description="Minutes attended.")
    prep: str


class TurnerPlacesOut(BaseModel):
    """The places of the turners for the whole turning time, which lasts until `until`.

    `free` are those that are promised to no other cup; null where nothing turns or no turner is on file.
    """

    needed: int = Field(description="One for each section of each rod.")
    free: int | None = Field(description="Free all that time.")
    promised: int = Field(description="Promised to other cups in hand.")
    until: InstantOut | None


class CupPlanOut(BaseModel):
    """A cup as it would be if it were mixed now. `amounts` is null where nobody can say how much it takes.

    The times are those of a coat closed as late as planned, at the warmth there is now.
    """

    allowed: bool
    amounts: AmountsOut | None
    least_ml: float = Field(description="The least that can be measured out well, in millilitres.")
    planned_minutes: float
    zone_c: float
    pot_life_ends_at: InstantOut
    turner_places: TurnerPlacesOut
    recoat_from: InstantOut | None
    recoat_until: InstantOut | None
    serves: list[PlannedOut]
    holds: list[HoldOut]
    warnings: list[str]


@router.post("/mixes/plan", response_model=CupPlanOut, openapi_extra=WRITES_NOTHING)
def post_mix_plan(actor: KeyForBench, session: Reading, bench: TheBench, body: CupIn) -> Any:
    """Say what a cup takes and every reason not to mix it now; nothing is written down.

    A cup that is held can be written down all the same once it was mixed: then only its lots are asked.
    """
    side = CupSide(
        bench.view(session), bench.warmth(session), read_shop(session), bench.hub.sheets, bench.now
    )
    serves = tuple((item.build, item.place.strip()) for item in body.serves)
    wish = CupWish(**body.model_dump(exclude={"serves"}), serves=serves)
    return _plan_out(cup_answer(session, side, wish))


def _plan_out(answer: CupAnswer) -> dict[str, Any]:
    plan, facts = answer.plan, answer.facts
    return {
        "allowed": not answer.holds,
        "amounts": _amounts_out(answer),
        "least_ml": plan.product.least_ml,
        "planned_minutes": plan.planned_minutes,
        "zone_c": facts.zone_c,
        "pot_life_ends_at": facts.pot_life_ends_at,
        "turner_places": {
            "needed": plan.turner_places, "free": facts.free_places, "promised": facts.promised_places,
            "until": facts.turned_at,
        },
        "recoat_from": facts.recoat_from,
        "recoat_until": facts.recoat_until,
        "serves": plan.servings,
        "holds": [hold_out(hold) for hold in answer.holds],
        "warnings": answer.warnings,
    }  # fmt: skip


def _amounts_out(answer: CupAnswer) -> dict[str, Any] | None:
    if answer.amounts is None:
        return None
    parts = answer.amounts.parts
    return {
        "volume_ml": answer.amounts.volume_ml, "amount_a_ml": parts.volume_a_ml,
        "amount_b_ml": parts.volume_b_ml, "mass_a_g": parts.mass_a_g, "mass_b_g": parts.mass_b_g,
        "is_least": answer.amounts.is_least,
    }  # fmt: skip
