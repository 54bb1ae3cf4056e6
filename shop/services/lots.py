"""Lots: put on the shelf, opened, used up, quarantined and released; each leaves a line in the lot's history.

Whether a lot may be used is `shop.rules.lots`; holding the rods that carry it is `shop.services.mixes`.
"""

from datetime import date
from typing import Any

from sqlalchemy.orm import Session

from shop.db.lots import Lot
from shop.queries.adhesives import adhesive_record
from shop.queries.lots import lot_record, mixes_in_hand
from shop.queries.mixes import open_suspicion
from shop.queries.shop import shop_day
from shop.rules.lots import LotEntry, faults_of_lot_entry
from shop.rules.people import Right
from shop.rules.refusals import BadInput, NotAllowed, Overtaken
from shop.rules.stock import MoveKind
from shop.services.bench import Bench
from shop.services.lot_events import note_lot
from shop.services.mixes import suspect_mix
from shop.services.stock_moves import move_bottle

# A suspicion names the lot before the reason, and holds at most 500 characters.
MOST_REASON = 400
FIELDS = (
    "part", "number", "received_on", "opened_on", "use_by", "opened_life_days", "position", "amount_ml",
)  # fmt: skip
SAID = {
    "part": "part", "number": "number", "received_on": "came on", "opened_on": "opened on",
    "use_by": "use by", "opened_life_days": "days of life once opened", "position": "position",
    "amount_ml": "millilitres",
}  # fmt: skip


def add_lot(session: Session, bench: Bench, *, adhesive_id: int, **said: Any) -> Lot:
    """Put a bottle or kit on the shelf; `said` are the fields of a `LotEntry`.

    Where its adhesive is counted, there is one bottle more. Raises `BadInput` or `NotOnFile`.
    """
    lot = lot_of_delivery(session, bench, adhesive_id=adhesive_id, **said)
    _count_bottle(session, bench, lot, MoveKind.RECEIVED, f"Lot {lot.number} was put on the shelf.")
    return lot


def lot_of_delivery(session: Session, bench: Bench, *, adhesive_id: int, **said: Any) -> Lot:
    """The same for a bottle that came with a delivery, which counts it itself."""
    adhesive_record(session, adhesive_id)
    entry = _checked(session, bench, said)
    lot = Lot(
        adhesive_id=adhesive_id, created_at=bench.now, **{name: getattr(entry, name) for name in FIELDS}
    )
    session.add(lot)
    session.flush()
    note_lot(session, bench, lot, "received", f"Came on {lot.received_on}.")
    return lot


def _count_bottle(session: Session, bench: Bench, lot: Lot, kind: MoveKind, note: str) -> None:
    name = adhesive_record(session, lot.adhesive_id).name
    move_bottle(session, bench, lot.adhesive_id, kind, name=name, note=note)


def change_lot(
    session: Session,
    bench: Bench,
    lot_id: int,
    *,
    version: int | None = None,
    not_used_up: bool = False,
    **changes: Any,
) -> Lot:
    """Put right what is written down of a lot; what was changed stays in its history.

    `not_used_up` takes back that it is used up. Raises `BadInput`, `NotOnFile`, and, with `version` given,
    `Overtaken` where it was changed since.
    """
    lot = lot_record(session, lot_id)
    if version is not None and lot.version != version:
        raise Overtaken("Somebody else changed this lot meanwhile; what is on file now is shown above.")
    before = {name: getattr(lot, name) for name in FIELDS}
    entry = _checked(session, bench, before | changes)
    anew = {name: getattr(entry, name) for name in FIELDS}
    emptied_on = None if not_used_up else lot.emptied_on
    if emptied_on is not None and entry.opened_on is not None and entry.opened_on > emptied_on:
        raise BadInput({"opened_on": f"It was used up on {emptied_on}, before that."})
    changed = [name for name in FIELDS if anew[name] != before[name]]
    said = [f"{SAID[name]} {_told(anew[name])}, was {_told(before[name])}" for name in changed]
    if emptied_on != lot.emptied_on:
        said.append(f"not used up after all, was used up on {lot.emptied_on}")
        _count_bottle(session, bench, lot, MoveKind.COUNTED, f"Lot {lot.number} is not used up after all.")
    for name in changed:
        setattr(lot, name, anew[name])
    lot.emptied_on = emptied_on
    if said:
        told = "; ".join(said)
        note_lot(session, bench, lot, "changed", f"{told[:1].upper()}{told[1:]}.")
    return lot


def _told(value: Any) -> str:
    return "not said" if value in (None, "") else f"{value:g}" if isinstance(value, float) else str(value)


def open_lot(session: Session, bench: Bench, lot_id: int, *, on: date | None = None) -> Lot:
    """Write down that a lot was opened, today or on an earlier day; its opened life runs from then.

    Raises `BadInput`, `NotOnFile`, or `Overtaken` where it is open or used up already, or quarantined.
    """
    lot = lot_record(session, lot_id)
    if lot.opened_on is not None:
        raise Overtaken(f"It was opened on {lot.opened_on} already; put that day right if it is wrong.")
    if lot.emptied_on is not None:
        raise Overtaken(f"It was used up on {lot.emptied_on}.")
    if lot.quarantined_reason:
        raise Overtaken(f"It is quarantined and stays shut: {lot.quarantined_reason}")
    lot.opened_on = _past_day(session, bench, lot, "opened_on", on)
    note_lot(session, bench, lot, "opened", f"Opened on {lot.opened_on}.")
    return lot


def empty_lot(session: Session, bench: Bench, lot_id: int, *, on: date | None = None) -> Lot:
    """Write down that a lot is used up or thrown away, today or on an earlier day.

    Raises `BadInput`, `NotOnFile`, or `Overtaken` where it is already.
    """
    lot = lot_record(session, lot_id)
    if lot.emptied_on is not None:
        raise Overtaken(f"It was used up on {lot.emptied_on} already.")
    emptied_on = _past_day(session, bench, lot, "emptied_on", on)
    if lot.opened_on is not None and emptied_on < lot.opened_on:
        raise BadInput({"emptied_on": f"It was opened on {lot.opened_on}, after that."})
    lot.emptied_on = emptied_on
    note_lot(session, bench, lot, "used up", f"Used up on {emptied_on}.")
    _count_bottle(session, bench, lot, MoveKind.USED_UP, f"Lot {lot.number} is used up.")
    return lot


def quarantine_lot(
    session: Session, bench: Bench, lot_id: int, *, reason: str, suspect_mixes: bool
) -> list[int]:
    """Take a lot out of use until an owner releases it; gives the ids of the mixes put under suspicion.

    With `suspect_mixes`, that is every mix from it which is in hand and is not suspect already; asked of a
    lot that is quarantined, it does that alone. Raises `BadInput`, `NotOnFile`, or `Overtaken` where it is
    quarantined already and its mixes are not asked for.
    """
    lot = lot_record(session, lot_id)
    if not 1 <= len(reason.strip()) <= MOST_REASON:
        raise BadInput({"reason": f"Say in at most {MOST_REASON} characters why nobody may use it."})
    if lot.quarantined_reason and suspect_mixes:
        return suspect_mixes_of_lot(session, bench, lot_id)
    if lot.quarantined_reason:
        raise Overtaken(f"It is quarantined already: {lot.quarantined_reason}")
    lot.quarantined_reason = reason.strip()
    doubted = _suspect_mixes(session, bench, lot) if suspect_mixes else []
    note = (
        f"{reason.strip()} (mixes put under suspicion: {len(doubted)})" if suspect_mixes else reason.strip()
    )
    note_lot(session, bench, lot, "quarantined", note)
    return doubted


def suspect_mixes_of_lot(session: Session, bench: Bench, lot_id: int) -> list[int]:
    """Put the mixes of a quarantined lot that are in hand under suspicion, and give their ids.

    Leaves those that are suspect already as they are. Raises `NotOnFile`, or `Overtaken` where the lot is
    not quarantined.
    """
    lot = lot_record(session, lot_id)
    if not lot.quarantined_reason:
        raise Overtaken("It is not quarantined any more, so nothing speaks against its mixes.")
    doubted = _suspect_mixes(session, bench, lot)
    if doubted:
        note_lot(session, bench, lot, "mixes doubted", f"Mixes put under suspicion: {len(doubted)}.")
    return doubted


def _suspect_mixes(session: Session, bench: Bench, lot: Lot) -> list[int]:
    in_hand = mixes_in_hand(session, lot.id, bench.now)
    asked = [mix for mix in in_hand if open_suspicion(session, mix) is None]
    for mix_id in asked:
        suspect_mix(
            session, bench, mix_id, reason=f"Lot {lot.number} was quarantined: {lot.quarantined_reason}"
        )
    return asked


def release_lot(session: Session, bench: Bench, lot_id: int, *, reason: str) -> Lot:
    """An owner lets a quarantined lot be used again. Suspicions about its mixes await their own verdicts.

    Raises `NotAllowed`, `BadInput`, `NotOnFile`, or `Overtaken` where it is not quarantined.
    """
    if not bench.actor.may(Right.RELEASE):
        raise NotAllowed("Only an owner releases a quarantined lot.")
    lot = lot_record(session, lot_id)
    if not 1 <= len(reason.strip()) <= MOST_REASON:
        raise BadInput({"reason": f"The release needs a reason of at most {MOST_REASON} characters."})
    if not lot.quarantined_reason:
        raise Overtaken("It is not quarantined any more.")
    lot.quarantined_reason = ""
    note_lot(session, bench, lot, "released", reason.strip())
    return lot


def _checked(session: Session, bench: Bench, said: dict[str, Any]) -> LotEntry:
    """What was said of a lot, tidied. Raises `BadInput` for what cannot be."""
    entry = LotEntry(**said)
    errors = faults_of_lot_entry(entry, shop_day(session, bench.now))
    if errors:
        raise BadInput(errors)
    return LotEntry(**{**said, "number": entry.number.strip(), "position": entry.position.strip()})


def _past_day(session: Session, bench: Bench, lot: Lot, field: str, on: date | None) -> date:
    """A stated day, or today. Raises `BadInput` for one ahead, or before the lot came."""
    today = shop_day(session, bench.now)
    day = today if on is None else on
    if day > today:
        raise BadInput({field: "That day lies in the future; write it down when it has happened."})
    if day < lot.received_on:
        raise BadInput({field: f"It came on {lot.received_on} only."})
    return day
