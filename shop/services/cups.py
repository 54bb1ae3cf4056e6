"""What is said of a cup when it is mixed: lots, amounts, the places it is for, the rules an owner releases.

Whether a cup should be mixed at all is asked by `shop.services.servings`; a cup that was mixed is written
down by `shop.services.mixes`.
"""

from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy.orm import Session

from shop.db.mixes import Mix, Serving
from shop.queries.lots import lot_fact
from shop.queries.shop import shop_day
from shop.rules.cup import LEAST_AMOUNT_ML, LEAST_MINUTES, MOST_MINUTES, MOST_VOLUME_ML
from shop.rules.decide import ClearedBy, Decision, ShutHold
from shop.rules.lots import fault_of_lot
from shop.rules.people import Right
from shop.rules.record import EventKind
from shop.rules.refusals import BadInput, Held, NotAllowed
from shop.rules.sequences import HoldKind
from shop.services.bench import Bench
from shop.services.cures import check_place, open_build
from shop.services.events import add_event
from shop.services.lot_events import open_by_use

# The columns of a mix that a correction of other facts carries over.
SAID_OF_CUP = ("lot_a_id", "lot_b_id", "amount_a_ml", "amount_b_ml", "planned_minutes", "releases")


@dataclass(frozen=True)
class Released:
    """A house rule that an owner releases for a cup, and the sentences that it is released for.

    Without sentences it is for what is wrong with the lots, if anything is; it covers nothing that turns up
    later.
    """

    kind: HoldKind
    reason: str
    faults: tuple[str, ...] = ()


@dataclass(frozen=True)
class CupSaid:
    """What is said of a cup besides its product, zone and time; `serves` are pairs of number and place."""

    lot_a_id: int | None = None
    lot_b_id: int | None = None
    amount_a_ml: float | None = None
    amount_b_ml: float | None = None
    planned_minutes: float | None = None
    serves: tuple[tuple[str, str], ...] = ()
    releases: tuple[Released, ...] = ()


NOTHING_SAID = CupSaid()


def check_cup(
    session: Session, bench: Bench, adhesive_id: int, at: datetime, cup: CupSaid
) -> tuple[Released, ...]:
    """The releases of a cup that release something, if all that is said of it can be.

    Raises as `make_mix` does.
    """
    if cup.releases and not bench.actor.may(Right.RELEASE):
        raise NotAllowed("Only an owner may release a house rule.")
    if not all(item.reason.strip() for item in cup.releases):
        raise BadInput({"release": "Releasing a rule needs a written reason; it stays with the cup."})
    if errors := faults_of_measured(cup.amount_a_ml, cup.amount_b_ml, cup.planned_minutes):
        raise BadInput(errors)
    faults = tuple(_lots_amiss(session, adhesive_id, at, cup))
    if faults and HoldKind.LOT not in {item.kind for item in cup.releases}:
        shut = (ShutHold(HoldKind.LOT, fault, None, ClearedBy.WORK) for fault in faults)
        raise Held(Decision(None, tuple(shut)))
    told = (
        replace(item, faults=item.faults or faults) if item.kind is HoldKind.LOT else item
        for item in cup.releases
    )
    return tuple(item for item in told if item.faults)


def faults_of_measured(
    amount_a_ml: float | None, amount_b_ml: float | None, planned_minutes: float | None
) -> dict[str, str]:
    """What of the amounts and minutes said of a cup cannot be, by field; what nobody said is none."""
    errors = {}
    for name, amount in (("amount_a_ml", amount_a_ml), ("amount_b_ml", amount_b_ml)):
        if amount is not None and not LEAST_AMOUNT_ML <= amount <= MOST_VOLUME_ML:  # also refuses NaN
            errors[name] = f"An amount lies between {LEAST_AMOUNT_ML:g} and {MOST_VOLUME_ML:g} mL."
    if planned_minutes is not None and not LEAST_MINUTES <= planned_minutes <= MOST_MINUTES:
        errors["planned_minutes"] = f"The minutes planned lie between {LEAST_MINUTES:g} and {MOST_MINUTES:g}."
    return errors


def _lots_amiss(session: Session, adhesive_id: int, at: datetime, cup: CupSaid) -> list[str]:
    """Why the lots named may not be used on the shop's day of an instant."""
    named = [("A", cup.lot_a_id), ("B", cup.lot_b_id)]
    lots = [(part, lot_fact(session, lot_id)) for part, lot_id in named if lot_id is not None]
    if not lots:
        return []
    day = shop_day(session, at)
    faults = (fault_of_lot(lot, part, adhesive_id, day) for part, lot in lots)
    return list(dict.fromkeys(fault for fault in faults if fault))


def serve_places(session: Session, bench: Bench, mix: Mix, cup: CupSaid, by: str) -> None:
    """Note for which places a cup was mixed, on the record of each of their builds. Raises `Overtaken`."""
    from_lots = _from_lots(session, mix) if cup.serves else ""
    for number, place in dict.fromkeys((number, place.strip()) for number, place in cup.serves):
        check_place(place)
        build = open_build(session, number)
        session.add(Serving(mix_id=mix.id, build_id=build.id, place=place))
        note = f"{mix.adhesive_name} mixed for the {place}{from_lots}."
        note += "".join(f" Rule released ({item['kind']}): {item['reason']}" for item in mix.releases)
        details = {"mix_id": mix.id, "lots": [mix.lot_a_id, mix.lot_b_id]}
        add_event(session, build, bench, EventKind.MIX, mix.mixed_at, by, note, details)


def _from_lots(session: Session, mix: Mix) -> str:
    """From which lots a cup was mixed, to follow what it was mixed for; empty where nobody named any."""
    named = (("A", mix.lot_a_id), ("B", mix.lot_b_id))
    said = [f"{part} {lot_fact(session, lot_id).number}" for part, lot_id in named if lot_id is not None]
    return f", from lots {' and '.join(said)}" if said else ""


def open_lots(session: Session, bench: Bench, mix: Mix) -> None:
    """The lots that a cup was mixed from were open by then; their opened life runs."""
    day = shop_day(session, mix.mixed_at)
    for lot_id in dict.fromkeys((mix.lot_a_id, mix.lot_b_id)):
        if lot_id is not None:
            open_by_use(session, bench, lot_id, on=day)
