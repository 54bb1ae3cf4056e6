"""The cup before it is mixed: which places wait for one, and everything known that speaks against it.

Gathers what `shop.rules.cup` judges. Whether a cup is written down is for `shop.services.servings`.
"""

from collections.abc import Iterable, Mapping, Sequence
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
from shop.queries.lots import has_lots, lot_left
from shop.queries.make_ups import latest_make_ups
from shop.queries.mixes import LONGEST_POT_LIFE, MixView, mixes_since, mixes_to_redo
from shop.queries.servings import ServingView, servings_of_mixes
from shop.queries.shop import ShopView
from shop.queries.turners import StayView, every_turner, turnings_of
from shop.rules.bench_figures.amounts import coat_ml, joint_ml, leftover_ml
from shop.rules.cup import (
    CupAmounts,
    CupFacts,
    CupHold,
    CupPlan,
    Product,
    Serving,
    cup_amounts,
    faults_of_plan,
    judge_cup,
    warnings_of,
)
from shop.rules.holds import ShutHold
from shop.rules.refusals import BadInput, NotOnFile
from shop.rules.servings import FINISH, waiting_places
from shop.rules.turners import Needs, places_free_for, places_promised

NO_CUPS: Mapping[tuple[int, str], str] = MappingProxyType({})


class Servable(NamedTuple):
    """A place of an open build that waits for a cup, as `shop.rules.servings` has it.

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


class CupInHand(NamedTuple):
    """A cup of the last days that still counts, with the places that it is for.

    `is_usable` says that its pot life is not over.
    """

    mix: MixView
    is_usable: bool
    servings: list[ServingView]


def servable(view: BenchView, use: str, in_cups: Mapping[tuple[int, str], str] = NO_CUPS) -> list[Servable]:
    """The places that wait for a product of that use, free ones first, then by number.

    `in_cups` is what `places_in_cups` gives.
    """
    found = [item for rows in view for row in rows for item in _of_row(row) if item.use == use]
    told = [item._replace(in_cup=in_cups.get((item.build_id, item.place), "")) for item in found]
    return sorted(told, key=lambda item: (bool(item.holds or item.in_cup), item.number))


def _of_row(row: BenchRow) -> list[Servable]:
    build = row.build
    places = waiting_places(row.sequence, row.facts, row.decision, build.pieces)
    return [Servable(build.id, build.number, build.title, *place) for place in places]


def cups_in_hand(session: Session, side: CupSide) -> list[CupInHand]:
    """The cups of the last days, but for those that are to be done again."""
    mixes = {mix.id: mix for mix in mixes_since(session, side.now - LONGEST_POT_LIFE, side.warmth)}
    if not mixes:
        return []
    counting = mixes.keys() - mixes_to_redo(session, mixes)
    servings = servings_of_mixes(session, counting)
    return [
        CupInHand(mix, mix.pot_life_ends_at > side.now, servings.get(mix.id, []))
        for mix in mixes.values()
        if mix.id in counting
    ]


def places_in_cups(cups: Iterable[CupInHand], side: CupSide) -> dict[tuple[int, str], str]:
    """The places that wait in a cup that may still be used, by build and place: which cup that is."""
    return {
        (view.build_id, view.place): _words_of(cup.mix, side)
        for cup in cups
        if cup.is_usable
        for view in cup.servings
        if view.is_open
    }


def _words_of(mix: MixView, side: CupSide) -> str:
    return f"in the cup of {mix.mixed_at.astimezone(side.shop.zone):%H:%M} by {mix.by}"


def cup_answer(session: Session, side: CupSide, wish: CupWish) -> CupAnswer:
    """Everything that is to be known before a cup is mixed. Raises `NotOnFile`, or `BadInput` by field."""
    adhesive = adhesive_view(session, wish.adhesive_id)
    zone = side.warmth.zones.get(wish.zone_id)
    if zone is None:
        raise NotOnFile(f"There is no zone {wish.zone_id} on file.")
    cups = cups_in_hand(session, side)
    chosen = _chosen(side, adhesive.use, wish.serves, cups)
    servings, leftover = _amounts(session, side, chosen)
    lot_a, left_a = (None, None) if wish.lot_a_id is None else lot_left(session, wish.lot_a_id)
    lot_b, left_b = (None, None) if wish.lot_b_id is None else lot_left(session, wish.lot_b_id)
    plan = CupPlan(
        product_of(adhesive), tuple(servings), lot_a, lot_b, wish.volume_ml, wish.minutes, wish.parts_c,
        leftover,
    )  # fmt: skip
    if faults := faults_of_plan(plan):
        raise BadInput(faults)
    facts = replace(_facts(session, side, plan, zone), left_a=left_a, left_b=left_b)
    if facts.turned_at is not None:
        facts = _with_turners(session, side, facts, facts.turned_at, chosen, cups)
    holds = judge_cup(plan, facts)
    return CupAnswer(wish, plan, facts, cup_amounts(plan), holds, warnings_of(plan, facts))


def product_of(adhesive: AdhesiveView) -> Product:
    """An adhesive as the cup takes it."""
    return Product(
        adhesive.id, adhesive.name, adhesive.use, adhesive.parts_a, adhesive.parts_b, adhesive.density_a,
        adhesive.density_b, sheet_in(adhesive),
    )  # fmt: skip


def _chosen(
    side: CupSide, use: str, serves: Sequence[tuple[str, str]], cups: list[CupInHand]
) -> list[Servable]:
    in_cups = places_in_cups(cups, side)
    waiting = {(item.number, item.place): item for item in servable(side.view, use, in_cups)}
    missing = [f"{place} on {number}" for number, place in serves if (number, place) not in waiting]
    if missing:
        raise BadInput({"serves": f"This does not wait for a cup of this kind: {', '.join(missing)}."})
    chosen = [waiting[pair] for pair in dict.fromkeys(serves)]
    twice = [f"The {item.place} of {item.number} is {item.in_cup} already." for item in chosen if item.in_cup]
    if twice:
        raise BadInput({"serves": " ".join(twice)})
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
    return replace(
        facts,
        # Where the sheet is silent on turning, a coat is turned until it has set.
        turned_at=instant_of(times.turned_at or times.set_at),
        recoat_from=instant_of(times.recoat_from),
        recoat_until=instant_of(times.recoat_until),
    )


def _with_turners(
    session: Session,
    side: CupSide,
    facts: CupFacts,
    until: datetime,
    chosen: list[Servable],
    cups: list[CupInHand],
) -> CupFacts:
    """The facts with the places of the turners that are free from now until then for the rods chosen.

    A place that such a rod has already is free for it. Nothing is said where no turner is on file.
    """
    turners = every_turner(session, side.warmth)
    if not turners:
        return facts
    own = {item.build_id for item in chosen}
    stays = [stay for turner in turners for stay in turner.stays]
    others = [stay.occupied for stay in stays if stay.build_id not in own]
    free = places_free_for(others, [turner.as_places for turner in turners], side.now, until)
    promised = _promised(session, side, stays, own, cups)
    return replace(facts, free_places=max(free - promised, 0), promised_places=promised)


def _promised(
    session: Session, side: CupSide, stays: list[StayView], own: set[int], cups: list[CupInHand]
) -> int:
    """How many places other rods need that a cup in hand is for, or that were just coated with one."""
    pieces = {row.build.id: row.build.pieces for rows in side.view for row in rows}
    waiting, coated = set(), set()
    for cup in cups:
        if cup.mix.use == FINISH:
            open_ones = (view for view in cup.servings if view.is_open and cup.is_usable)
            waiting |= {view.build_id for view in open_ones}
            coated |= {view.build_id for view in cup.servings if view.closed_at is not None}
    turnings = turnings_of(session, sorted(coated & pieces.keys()), side.warmth)
    wet = {build_id for build_id, turning in turnings.items() if not turning.is_over(side.now)}
    needs = [Needs(build_id, pieces[build_id]) for build_id in (waiting | wet) & pieces.keys()]
    return places_promised(needs, [(stay.build_id, stay.section) for stay in stays], own)
