"""The cup before it is mixed: which places wait for one, and everything known that speaks against it.

Gathers what `shop.rules.cup` judges. Whether a cup is written down is for `shop.services.servings`.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from types import MappingProxyType
from typing import NamedTuple

from sqlalchemy.orm import Session

from shop.queries.adhesives import AdhesiveView, adhesive_view
from shop.queries.bench import BenchRow, BenchView
from shop.queries.cure_clock import Warmth, ZoneNow, instant_of
from shop.queries.cures import sheet_in
from shop.queries.kept_sheets import KeptSheets
from shop.queries.lots import has_lots, lot_fact
from shop.queries.make_ups import latest_make_ups
from shop.queries.mixes import LONGEST_POT_LIFE, MixView, mixes_since, mixes_to_redo
from shop.queries.servings import servings_of_mixes
from shop.queries.shop import ShopView
from shop.queries.turners import turners_now
from shop.rules.bench_figures.amounts import coat_ml, joint_ml, leftover_ml
from shop.rules.cup import (
    CupAmounts,
    CupFacts,
    CupHold,
    CupPlan,
    Product,
    Serving,
    cup_amounts,
    judge_cup,
    warnings_of,
)
from shop.rules.holds import ClearedBy, ShutHold
from shop.rules.judging_cures import joints_at, makers_of
from shop.rules.rechecks import failed_last
from shop.rules.refusals import BadInput, NotOnFile
from shop.rules.sequences import HoldKind, Stage
from shop.rules.turners import places_free_for

BOND, FINISH = "bond", "finish"
# What keeps a joint from being done anew: these stand on every stage.
STANDING = (HoldKind.SUSPECT, HoldKind.CLOCK)
NO_CUPS: Mapping[tuple[int, str], str] = MappingProxyType({})


class Servable(NamedTuple):
    """A place that the next stage of an open build closes, or one that failed and is to be closed anew.

    `holds` are those that no tick clears; `prep` says what to prepare where a recoat window has shut;
    `in_cup` says in which other cup the place waits already, empty where it waits in none.
    """

    build_id: int
    number: str
    title: str
    stage: str
    place: str
    use: str
    minutes: float
    sections: int
    is_first_coat: bool
    holds: tuple[ShutHold, ...]
    prep: str
    in_cup: str = ""

    @property
    def key(self) -> str:
        """How a form names it."""
        return f"{self.number} {self.place}"


@dataclass(frozen=True)
class CupWish:
    """A cup that somebody means to mix, as it was asked for; `serves` are pairs of number and place."""

    adhesive_id: int
    zone_id: int
    serves: tuple[tuple[str, str], ...] = ()
    lot_a_id: int | None = None
    lot_b_id: int | None = None
    volume_ml: float | None = None
    minutes: float | None = None
    parts_c: float | None = None


class CupAnswer(NamedTuple):
    """What a wish comes to: plan, facts, amounts (none where not known), reasons against it, warnings."""

    wish: CupWish
    plan: CupPlan
    facts: CupFacts
    amounts: CupAmounts | None
    holds: tuple[CupHold, ...]
    warnings: list[str]


@dataclass(frozen=True)
class CupSide:
    """What answering needs besides the wish: the bench, its warmth, the shop's own figures, kept sheets."""

    view: BenchView
    warmth: Warmth
    shop: ShopView
    sheets: KeptSheets
    now: datetime


def use_at(place: str) -> str:
    """Whether a place takes wrap finish or bonding epoxy: what is wrapped is coated, the rest is glued."""
    return FINISH if "wrap" in place else BOND


def servable(view: BenchView, use: str, in_cups: Mapping[tuple[int, str], str] = NO_CUPS) -> list[Servable]:
    """The places that wait for a product of that use, free ones first, then by number.

    `in_cups` is what `places_in_cups` gives.
    """
    rows = (row for rows in view for row in rows)
    found = [item for row in rows for item in (*_failed(row), *_next(row)) if item.use == use]
    told = [item._replace(in_cup=in_cups.get((item.build_id, item.place), "")) for item in found]
    return sorted(told, key=lambda item: (bool(item.holds or item.in_cup), item.number))


def places_in_cups(session: Session, side: CupSide) -> dict[tuple[int, str], str]:
    """The places that wait in a cup that may still be used, by build and place: which cup that is."""
    mixes = mixes_since(session, side.now - LONGEST_POT_LIFE, side.warmth)
    living = {mix.id: mix for mix in mixes if mix.pot_life_ends_at > side.now}
    if not living:
        return {}
    servings = servings_of_mixes(session, living.keys() - mixes_to_redo(session, living))
    return {
        (view.build_id, view.place): _words_of(living[mix_id], side)
        for mix_id, views in servings.items()
        for view in views
        if view.is_open
    }


def _words_of(mix: MixView, side: CupSide) -> str:
    return f"in the cup of {mix.mixed_at.astimezone(side.shop.zone):%H:%M} by {mix.by}"


def _next(row: BenchRow) -> Iterator[Servable]:
    """The places of the next stage, but for those that failed before."""
    stage = row.decision.stage
    if stage is None:
        return
    anew = {place for place, _ in _to_do_anew(row)}
    holds = tuple(hold for hold in row.decision.holds if not hold.is_asked)
    prep = next((hold.reason for hold in row.decision.holds if _is_prep(hold)), "")
    for place in stage.cure_places():
        if place not in anew and not _is_closed(row, place):
            yield _waits(row, stage, place, holds, prep)


def _failed(row: BenchRow) -> Iterator[Servable]:
    """The places that stages reached have closed and that failed since; only what stands holds them."""
    standing = tuple(hold for hold in row.decision.holds if hold.kind in STANDING)
    for place, maker in _to_do_anew(row):
        yield _waits(row, maker, place, standing, "")


def _to_do_anew(row: BenchRow) -> Iterator[tuple[str, Stage]]:
    """Each place whose last joint failed though its stage is reached, with the stage that made the joint."""
    for place in sorted(row.facts.redone):
        makers, joints = makers_of(row.sequence, row.facts, place), joints_at(row.facts.cures, place)
        if len(joints) < len(makers) and failed_last(row.facts, place):
            yield place, makers[len(joints)]


def _waits(row: BenchRow, stage: Stage, place: str, holds: tuple[ShutHold, ...], prep: str) -> Servable:
    use = use_at(place)
    return Servable(
        row.build.id, row.build.number, row.build.title, stage.name, place, use,
        stage.attended_minutes / len(stage.cure_places()), row.build.pieces if use == FINISH else 1,
        not joints_at(row.facts.cures, place), holds, prep,
    )  # fmt: skip


def _is_prep(hold: ShutHold) -> bool:
    """Whether it is cleared by preparing the coat underneath, which is ticked when the new one is logged."""
    return hold.kind is HoldKind.RECOAT and hold.cleared_by is ClearedBy.PERSON


def _is_closed(row: BenchRow, place: str) -> bool:
    """Whether the joint or coat of the next stage is on record, though the stage is not logged yet."""
    return len(joints_at(row.facts.cures, place)) > len(makers_of(row.sequence, row.facts, place))


def cup_answer(session: Session, side: CupSide, wish: CupWish) -> CupAnswer:
    """Everything that is to be known before a cup is mixed. Raises `NotOnFile`, or `BadInput` on `serve`."""
    adhesive = adhesive_view(session, wish.adhesive_id)
    zone = side.warmth.zones.get(wish.zone_id)
    if zone is None:
        raise NotOnFile(f"There is no zone {wish.zone_id} on file.")
    product = product_of(adhesive)
    chosen = _chosen(session, side, adhesive.use, wish.serves)
    servings, leftover = _amounts(session, side, chosen)
    plan = CupPlan(
        product, tuple(servings),
        None if wish.lot_a_id is None else lot_fact(session, wish.lot_a_id),
        None if wish.lot_b_id is None else lot_fact(session, wish.lot_b_id),
        wish.volume_ml, wish.minutes, wish.parts_c, leftover,
    )  # fmt: skip
    facts = _facts(session, side, plan, zone)
    holds = judge_cup(plan, facts)
    return CupAnswer(wish, plan, facts, cup_amounts(plan), holds, warnings_of(facts))


def product_of(adhesive: AdhesiveView) -> Product:
    """An adhesive as the cup takes it."""
    return Product(
        adhesive.id, adhesive.name, adhesive.use, adhesive.parts_a, adhesive.parts_b, adhesive.density_a,
        adhesive.density_b, sheet_in(adhesive),
    )  # fmt: skip


def _chosen(session: Session, side: CupSide, use: str, serves: Sequence[tuple[str, str]]) -> list[Servable]:
    in_cups = places_in_cups(session, side) if serves else NO_CUPS
    waiting = {(item.number, item.place): item for item in servable(side.view, use, in_cups)}
    missing = [f"{place} on {number}" for number, place in serves if (number, place) not in waiting]
    if missing:
        raise BadInput({"serve": f"This does not wait for a cup of this kind: {', '.join(missing)}."})
    chosen = [waiting[pair] for pair in dict.fromkeys(serves)]
    twice = [f"The {item.place} of {item.number} is {item.in_cup} already." for item in chosen if item.in_cup]
    if twice:
        raise BadInput({"serve": " ".join(twice)})
    return chosen


def _amounts(session: Session, side: CupSide, chosen: list[Servable]) -> tuple[list[Serving], float]:
    """What each place takes by the make-up of its build, and what is lost in cup and brush."""
    servings, leftover = [], 0.0
    make_ups = latest_make_ups(session, {item.build_id for item in chosen}) if chosen else {}
    for item in chosen:
        latest = make_ups.get(item.build_id)
        volume = None
        if latest is not None:
            sheet = side.sheets.of(latest.id, latest.value)
            is_coat = item.use == FINISH
            volume = coat_ml(sheet, item.is_first_coat) if is_coat else joint_ml(sheet, item.place)
            leftover = max(leftover, leftover_ml(sheet) if is_coat else 0.0)
        servings.append(
            Serving(item.number, item.place, volume, item.minutes, item.sections, item.holds, item.prep)
        )
    return servings, leftover


def _facts(session: Session, side: CupSide, plan: CupPlan, zone: ZoneNow) -> CupFacts:
    now, sheet, shop = side.now, plan.product.sheet, side.shop
    ends = instant_of(zone.clock.pot_life_ends(sheet, now.timestamp()))
    assert ends is not None
    facts = CupFacts(
        now, now.astimezone(shop.zone).date(), zone.name, zone.clock.temperature_at(now.timestamp()), ends,
        shop.hours, shop.zone, shelf_has_lots=has_lots(session, plan.product.id),
    )  # fmt: skip
    if plan.product.use != FINISH:
        return facts
    # A coat is closed when the last brush stroke is; the first one waits for it on the turner.
    closed = now + timedelta(minutes=plan.planned_minutes)
    times = zone.clock.times(sheet, closed.timestamp(), side.warmth.credit_cap)
    # Where the sheet is silent on turning, a coat is turned until it has set.
    turned = instant_of(times.turned_at or times.set_at)
    return replace(
        facts,
        turned_at=turned,
        free_places=None if turned is None else _free_places(session, side, turned),
        recoat_from=instant_of(times.recoat_from),
        recoat_until=instant_of(times.recoat_until),
    )


def _free_places(session: Session, side: CupSide, until: datetime) -> int | None:
    """How many places of the turners are free from now until then; none where no turner is on file."""
    stays, turners = turners_now(session, side.warmth)
    return places_free_for(stays, turners, side.now, until) if turners else None
