"""Before a cup is mixed: how much it takes, and every reason not to mix it now.

Pure: the plan and what is known around it come in as finished values, one answer serves page, API and
service. That a cup should be used within a share of its pot life, and that nothing should be due while
nobody is there, is common practice, no source. What may be closed with a cup once it is mixed is judged
where places are closed.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo

from shop.craft.cure import Sheet
from shop.craft.finish import MOST_SHARE_PERCENT
from shop.craft.mix import LEAST_PART_ML, MixAmounts, least_mix_ml, mix_amounts
from shop.craft.temperature import COLDEST_SHOP_C, WARMEST_SHOP_C
from shop.rules.holds import ClearedBy, ShutHold
from shop.rules.hours import Hours, is_open, last_open
from shop.rules.lots import LotFact, LotLeft, fault_of_lot, shortage_of_lot
from shop.rules.sequences import HoldKind

MOST_SERVED = 60
# A drop or two: nobody mixes less. A part is written down to a thousandth of a millilitre. From memory.
LEAST_VOLUME_ML, MOST_VOLUME_ML = 0.1, 2000.0
LEAST_AMOUNT_ML = 0.001
LEAST_MINUTES, MOST_MINUTES = 0.1, 24 * 60.0


@dataclass(frozen=True, slots=True)
class Serving:
    """A place that a cup is for. `sections` is how many places of a turner it takes; minutes attended.

    `volume_ml` is none where neither the make-up nor anybody says how much it takes. `holds` keep the stage
    that closes the place from being reached; `prep` says what to prepare before it is closed.
    """

    build: str
    place: str
    volume_ml: float | None = None
    minutes: float = 0.0
    sections: int = 1
    holds: tuple[ShutHold, ...] = ()
    prep: str = ""


@dataclass(frozen=True, slots=True)
class Product:
    """What is mixed, as its sheet has it; parts by volume, densities in g/mL."""

    id: int
    name: str
    use: str
    parts_a: float
    parts_b: float
    density_a: float | None
    density_b: float | None
    sheet: Sheet

    @property
    def least_ml(self) -> float:
        """The least that can be measured out well, in mL."""
        return least_mix_ml(self.parts_a, self.parts_b, LEAST_PART_ML)


@dataclass(frozen=True, slots=True)
class CupPlan:
    """A cup that somebody means to mix.

    `volume_ml` and `minutes` are stated, or none to go by the places served. `parts_c` is how warm the rods
    are, where they come from elsewhere than the zone.
    """

    product: Product
    servings: tuple[Serving, ...] = ()
    lot_a: LotFact | None = None
    lot_b: LotFact | None = None
    volume_ml: float | None = None
    minutes: float | None = None
    parts_c: float | None = None
    leftover_ml: float = 0.0

    @property
    def planned_minutes(self) -> float:
        """How long using it up will take."""
        return sum(serving.minutes for serving in self.servings) if self.minutes is None else self.minutes

    @property
    def planned_ml(self) -> float | None:
        """How much is to be mixed in all; none where the amount of some place is not known."""
        if self.volume_ml is not None:
            return self.volume_ml
        known = [serving.volume_ml for serving in self.servings if serving.volume_ml is not None]
        if not known or len(known) < len(self.servings):
            return None
        return sum(known) + self.leftover_ml

    @property
    def turner_places(self) -> int:
        """How many places of a turner it takes: one for each section of each rod, once."""
        sections = {serving.build: serving.sections for serving in self.servings}
        return sum(sections.values()) if self.product.use == "finish" else 0


@dataclass(frozen=True, slots=True)
class CupFacts:
    """What is known where and when the cup is to be mixed.

    `pot_life_ends_at` is corrected for the room. The coat's own times are those of one closed as late as
    planned; `turned_at` is until when it must turn, none where nothing turns. `free_places` is how many
    places of the turners are free all that time and promised to nobody, none where the shop has no turner
    on file; `promised_places` of the others are promised to cups in hand. `shelf_has_lots` says that the
    shop keeps lots of this product, so that a cup without them would not be on record; `left_a` and
    `left_b` are what is left of those that the plan names.
    """

    now: datetime
    today: date
    zone_name: str
    zone_c: float
    pot_life_ends_at: datetime
    hours: Hours
    time_zone: tzinfo
    free_places: int | None = None
    turned_at: datetime | None = None
    recoat_from: datetime | None = None
    recoat_until: datetime | None = None
    shelf_has_lots: bool = False
    promised_places: int = 0
    left_a: LotLeft | None = None
    left_b: LotLeft | None = None


@dataclass(frozen=True, slots=True)
class CupHold:
    """A reason not to mix; `waivable` says whether an owner may release it with a written reason."""

    kind: HoldKind
    reason: str
    cleared_by: ClearedBy
    waivable: bool = True
    clears_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class CupAmounts:
    """What to measure out, in mL and (where densities are known) g, and the least that is worth mixing."""

    volume_ml: float
    parts: MixAmounts
    least_ml: float
    is_least: bool


def cup_amounts(plan: CupPlan) -> CupAmounts | None:
    """What to measure out for a plan; never less than the least sensible mix, unless it was stated.

    None where the amount is not known. Raises `SumFault` for an amount below nothing.
    """
    product, wanted = plan.product, plan.planned_ml
    if wanted is None:
        return None
    least = product.least_ml
    volume = wanted if plan.volume_ml is not None else max(wanted, least)
    parts = mix_amounts(volume, product.parts_a, product.parts_b, product.density_a, product.density_b)
    return CupAmounts(volume, parts, least, wanted < least)


def faults_of_plan(plan: CupPlan) -> dict[str, str]:
    """What of a plan cannot be, by field."""
    faults = {}
    if len(plan.servings) > MOST_SERVED:
        faults["serves"] = f"One cup serves at most {MOST_SERVED} places."
    if plan.volume_ml is not None and not LEAST_VOLUME_ML <= plan.volume_ml <= MOST_VOLUME_ML:
        faults["volume_ml"] = f"A cup holds {LEAST_VOLUME_ML:g} to {MOST_VOLUME_ML:g} mL."
    if plan.minutes is not None and not LEAST_MINUTES <= plan.minutes <= MOST_MINUTES:
        faults["minutes"] = f"The minutes planned lie between {LEAST_MINUTES:g} and {MOST_MINUTES:g}."
    if plan.parts_c is not None and not COLDEST_SHOP_C <= plan.parts_c <= WARMEST_SHOP_C:
        faults["parts_c"] = f"The parts are between {COLDEST_SHOP_C:g} and {WARMEST_SHOP_C:g} °C warm."
    return faults


def judge_cup(plan: CupPlan, facts: CupFacts) -> tuple[CupHold, ...]:
    """Every reason not to mix this cup now, in the order looked at; empty when it may be mixed."""
    judges = (_lots, _warm, _pot_life, _turner)
    own = (hold for judge in judges for hold in judge(plan, facts))
    return (*own, *_closed(facts), *_of_rods(plan))


def warnings_of(plan: CupPlan, facts: CupFacts) -> list[str]:
    """What is no reason not to mix, and yet to be known before: sentences, maybe none.

    What to prepare, a lot that may not last for this cup, and what falls due while nobody is there.
    """
    prepared = [f"{serving.build}: {serving.prep}" for serving in plan.servings if serving.prep]
    return [*prepared, *_shortages(plan, facts), *_while_closed(facts)]


def _shortages(plan: CupPlan, facts: CupFacts) -> Iterator[str]:
    amounts = cup_amounts(plan)
    parts = None if amounts is None else amounts.parts
    takes_a, takes_b = (None, None) if parts is None else (parts.volume_a_ml, parts.volume_b_ml)
    named = [(plan.lot_a, facts.left_a, takes_a), (plan.lot_b, facts.left_b, takes_b)]
    if plan.lot_a == plan.lot_b:
        # A kit that is both parts.
        named = [(plan.lot_a, facts.left_a, None if amounts is None else amounts.volume_ml)]
    for lot, left, takes_ml in named:
        if lot is not None and left is not None:
            shortage = shortage_of_lot(lot, left, takes_ml)
            if shortage:
                yield shortage


def _while_closed(facts: CupFacts) -> list[str]:
    hours, zone = facts.hours, facts.time_zone
    warnings = []
    until = facts.recoat_until
    if until is not None and not list(_closed(facts)) and not is_open(hours, until, zone):
        last = last_open(hours, until, zone)
        if last is not None:
            warnings.append(
                f"The recoat window shuts on {_local(until, zone)}, while the shop is closed: the last "
                f"chance without sanding is {_local(last, zone)}."
            )
    if facts.turned_at is not None and not is_open(hours, facts.turned_at, zone):
        warnings.append(
            f"The coats must turn until {_local(facts.turned_at, zone)}, when nobody is there to see that "
            "the turner still runs."
        )
    return warnings


def _lots(plan: CupPlan, facts: CupFacts) -> Iterator[CupHold]:
    for part, lot in (("A", plan.lot_a), ("B", plan.lot_b)):
        if lot is not None:
            fault = fault_of_lot(lot, part, plan.product.id, facts.today)
        elif facts.shelf_has_lots:
            fault = (
                f"Which lot part {part} comes from is not said: without it no recall will find these rods."
            )
        else:
            continue
        if fault:
            yield CupHold(HoldKind.LOT, fault, ClearedBy.WORK)


def _warm(plan: CupPlan, facts: CupFacts) -> Iterator[CupHold]:
    coldest = plan.product.sheet.coldest
    if facts.zone_c < coldest:
        reason = (
            f"The {facts.zone_name} is at {facts.zone_c:.1f} °C; {plan.product.name} needs {coldest:g} °C."
        )
        yield CupHold(HoldKind.WARM, reason, ClearedBy.WORK)
    if plan.parts_c is not None and plan.parts_c < coldest:
        reason = f"The parts are at {plan.parts_c:.1f} °C; let them warm up to {coldest:g} °C first."
        yield CupHold(HoldKind.WARM, reason, ClearedBy.WORK)


def _pot_life(plan: CupPlan, facts: CupFacts) -> Iterator[CupHold]:
    """Past the whole pot life nobody may plan; past the usual share an owner may, with a reason."""
    life = (facts.pot_life_ends_at - facts.now) / timedelta(minutes=1)
    planned = plan.planned_minutes
    said = f"{planned:.0f} min are planned, and at {facts.zone_c:.0f} °C the cup lasts {life:.0f} min"
    if planned > life:
        reason = f"{said}: serve fewer places, or mix two cups."
        yield CupHold(HoldKind.POT_LIFE, reason, ClearedBy.NEVER, waivable=False)
    elif planned * 100 > life * MOST_SHARE_PERCENT:
        reason = f"{said}: that is more than {MOST_SHARE_PERCENT:.0f} % of it; serve fewer places at a time."
        yield CupHold(HoldKind.POT_LIFE, reason, ClearedBy.WORK)


def _turner(plan: CupPlan, facts: CupFacts) -> Iterator[CupHold]:
    wanted = plan.turner_places
    if facts.turned_at is not None and facts.free_places is not None and wanted > facts.free_places:
        free = "none is" if facts.free_places == 0 else f"only {facts.free_places} are"
        if facts.free_places == 1:
            free = "only 1 is"
        places = "1 turner place" if wanted == 1 else f"{wanted} turner places"
        reason = f"The coats need {places} for the whole turning time, and {free} free"
        if facts.promised_places:
            verb = "is" if facts.promised_places == 1 else "are"
            reason += f"; {facts.promised_places} {verb} promised to other cups in hand"
        reason += "."
        yield CupHold(HoldKind.TURNER, reason, ClearedBy.WORK)


def _closed(facts: CupFacts) -> Iterator[CupHold]:
    """A recoat window that nobody could use, since the shop is closed from its beginning to its end."""
    hours, zone = facts.hours, facts.time_zone
    if facts.recoat_from is not None and facts.recoat_until is not None:
        last = last_open(hours, facts.recoat_until, zone)
        if last is None or (last <= facts.recoat_from and not is_open(hours, facts.recoat_from, zone)):
            reason = (
                f"The next coat could be laid from {_local(facts.recoat_from, zone)} to "
                f"{_local(facts.recoat_until, zone)}, all of it while the shop is closed."
            )
            yield CupHold(HoldKind.RECOAT, reason, ClearedBy.OWNER)


def _of_rods(plan: CupPlan) -> Iterator[CupHold]:
    """What keeps a place from being closed at all: a cup mixed for it would go to waste, or ruin the rod."""
    said = dict.fromkeys((serving.build, hold) for serving in plan.servings for hold in serving.holds)
    for build, hold in said:
        yield CupHold(hold.kind, f"{build}: {hold.reason}", hold.cleared_by, hold.waivable, hold.clears_at)


def _local(instant: datetime, zone: tzinfo) -> str:
    return f"{instant.astimezone(zone):%a %d %b %H:%M}"
