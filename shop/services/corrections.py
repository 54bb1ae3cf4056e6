"""Corrections of wrong facts on the record: of events, mixes and cures.

A person may correct a wrong fact (a time, an adhesive, a place); nobody may wave chemistry through. The
old entry stays and is pointed at, and every hold is computed again from what is then on record.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from shop.craft.quantities import Quantity
from shop.db.builds import Build
from shop.db.cures import Cure
from shop.db.events import Event
from shop.db.mixes import Mix
from shop.queries.adhesives import adhesive_record
from shop.queries.builds import build_by_id
from shop.queries.cures import cure_record
from shop.queries.events import event_facts, event_record
from shop.queries.lots import lot_fact
from shop.queries.mixes import first_closing, mix_record
from shop.queries.zones import zone_record
from shop.rules.decide import next_stage
from shop.rules.lots import misfit_of_lot
from shop.rules.record import EventKind, fold, quantity_map
from shop.rules.refusals import BadInput, Overtaken
from shop.rules.sequences import HoldKind
from shop.services.bench import Bench
from shop.services.correction_words import words_of_cure, words_of_mix
from shop.services.cups import SAID_OF_CUP, faults_of_measured, open_lots
from shop.services.cures import check_closing, check_pass, check_place, check_verdict
from shop.services.events import add_event, tell_of_parts
from shop.services.mails import take_back_mails
from shop.services.mixes import COPIED, carrying, copy_figures
from shop.services.moves import carry_over
from shop.services.turner_stops import coat_caught_by_stops
from shop.services.warranties import give_warranty

CORRECTABLE = (EventKind.STAGE, EventKind.CHECK, EventKind.MEASUREMENT, EventKind.RELEASE)


@dataclass(frozen=True)
class EventAnew:
    """The facts of an event anew; what is none stays as it was. `undone` says that it did not happen."""

    at: datetime | None = None
    by: str | None = None
    note: str | None = None
    undone: bool = False
    checks: tuple[tuple[str, str], ...] | None = None
    measured: Mapping[str, Quantity] | None = None


def correct_event(session: Session, bench: Bench, event_id: int, *, anew: EventAnew, reason: str) -> Event:
    """Answer an event with a further one that puts its facts right. Raises `BadInput`, `NotOnFile`."""
    _need_reason(reason)
    wrong = event_record(session, event_id)
    if wrong.kind not in (*CORRECTABLE, EventKind.CORRECTION) or (
        wrong.kind == EventKind.CORRECTION and wrong.corrects_id is None
    ):
        raise BadInput({"event": f"An entry of the kind “{wrong.kind}” is put right on its mix or cure."})
    build = build_by_id(session, wrong.build_id)
    if wrong.pass_number != build.pass_number:
        raise Overtaken("That entry belongs to an earlier pass, which nothing rests on any more.")
    kept = bench.sequences.of_build(session, build.sequence_id)
    names = {stage_id: name for name, stage_id in kept.stage_ids.items()}
    stage = None if wrong.stage_id is None else names[wrong.stage_id]
    at = bench.past("at", anew.at, None, "")
    details = _event_details(anew, at)
    correction = add_event(
        session, build, bench, EventKind.CORRECTION, at, "", reason, details, kept, stage, wrong.id
    )
    if anew.undone and wrong.kind == EventKind.STAGE and stage is not None:
        tell_of_parts(session, build, bench, kept, {stage})
    session.flush()
    _stand_anew(session, bench, build)
    return correction


def _event_details(anew: EventAnew, at: datetime) -> dict[str, Any]:
    said: dict[str, Any] = {
        "at": None if anew.at is None else at.isoformat(),
        "by": anew.by,
        "note": anew.note,
        "undone": anew.undone or None,
        "checks": None if anew.checks is None else [list(pair) for pair in anew.checks],
        "measurements": None
        if anew.measured is None
        else {name: quantity_map(value) for name, value in anew.measured.items()},
    }
    details = {name: value for name, value in said.items() if value is not None}
    if not details:
        raise BadInput({"": "Say which fact was wrong, and what is right."})
    return details


def _stand_anew(session: Session, bench: Bench, build: Build) -> None:
    """Put the build at the stage that its corrected record amounts to."""
    kept = bench.sequences.of_build(session, build.sequence_id)
    reached = fold(event_facts(session, build.id, build.pass_number)).reached
    order = [stage.name for stage in kept.value.stages]
    last = max(reached, key=lambda name: (reached[name].at, order.index(name)), default=None)
    build.stage_id = None if last is None else kept.stage_ids[last]
    if not build.closed_as:
        closed_at = build.closed_at
        build.closed_at = reached[last].at if last and next_stage(kept.value, reached) is None else None
        if build.closed_at is not None and build.closed_at != closed_at:
            give_warranty(session, build, build.closed_at)
    session.flush()
    take_back_mails(session, build, {kept.stage_ids[name] for name in reached}, now=bench.now)


@dataclass(frozen=True)
class CureAnew:
    """The facts of a cure anew; what is none stays as it was."""

    place: str | None = None
    closed_at: datetime | None = None
    mix_id: int | None = None
    zone_id: int | None = None
    failed: bool | None = None


def correct_cure(session: Session, bench: Bench, cure_id: int, *, anew: CureAnew, reason: str) -> Cure:
    """Put a cure's facts right with a new entry. Raises `BadInput`, `Held`, `NotOnFile`, `Overtaken`."""
    _need_reason(reason)
    wrong = cure_record(session, cure_id)
    if wrong.superseded_by_id is not None:
        raise Overtaken(f"That entry has been corrected already; correct cure {wrong.superseded_by_id}.")
    if anew == CureAnew():
        raise BadInput({"": "Say which fact was wrong, and what is right."})
    if anew.zone_id is not None:
        zone_record(session, anew.zone_id)
    mix = mix_record(session, anew.mix_id or wrong.mix_id)
    place = anew.place if anew.place is not None else wrong.place
    check_place(place)
    closed_at = wrong.closed_at
    # A joint that was closed too late can still be put at its right place, or be marked as failed.
    if anew.closed_at is not None or anew.mix_id is not None:
        closed_at = check_closing(session, bench, mix, place, anew.closed_at or wrong.closed_at)
        check_pass(session, wrong.build_id, wrong.pass_number, closed_at)
    failed = bool(wrong.failed_reason) if anew.failed is None else anew.failed
    if not failed:
        check_verdict(session, mix)
    right = Cure(
        mix_id=mix.root_id, build_id=wrong.build_id, pass_number=wrong.pass_number, place=place.strip(),
        zone_id=anew.zone_id or wrong.zone_id, closed_at=closed_at, entered_at=bench.now,
        by=wrong.by, corrects_id=wrong.id, correction_reason=reason,
        failed_reason=(wrong.failed_reason or reason) if failed else "",
    )  # fmt: skip
    session.add(right)
    session.flush()
    carry_over(session, wrong, right)
    wrong.superseded_by_id = right.id
    build = build_by_id(session, wrong.build_id)
    details = {"cure_id": right.id, "corrected_cure_id": wrong.id}
    note = words_of_cure(session, right, wrong)
    add_event(session, build, bench, EventKind.CORRECTION, bench.now, "", note, details)
    session.flush()
    coat_caught_by_stops(session, bench, build.id)
    return right


@dataclass(frozen=True)
class MixAnew:
    """The facts of a mix anew; what is none stays as it was."""

    adhesive_id: int | None = None
    zone_id: int | None = None
    mixed_at: datetime | None = None
    lot_a_id: int | None = None
    lot_b_id: int | None = None
    amount_a_ml: float | None = None
    amount_b_ml: float | None = None
    planned_minutes: float | None = None


def correct_mix(session: Session, bench: Bench, mix_id: int, *, anew: MixAnew, reason: str) -> Mix:
    """Put a mix's facts right with a new entry, which all its cures then go by.

    Raises `BadInput`, `NotOnFile`.
    """
    _need_reason(reason)
    wrong = mix_record(session, mix_id)
    if anew == MixAnew():
        raise BadInput({"": "Say which fact was wrong, and what is right."})
    mixed_at = bench.past("mixed_at", anew.mixed_at or wrong.mixed_at, None, "")
    assert wrong.root_id is not None
    closed = first_closing(session, wrong.root_id)
    if closed is not None and mixed_at > closed:
        raise BadInput({"mixed_at": "A place was closed with this mix before that time."})
    zone_id = anew.zone_id or wrong.zone_id
    zone_record(session, zone_id)
    right = Mix(
        root_id=wrong.root_id, correction_reason=reason, zone_id=zone_id, mixed_at=mixed_at,
        entered_at=bench.now, by=wrong.by, adhesive_id=wrong.adhesive_id,
        adhesive_name=wrong.adhesive_name, sheet_state=wrong.sheet_state,
        **{name: getattr(wrong, name) for name in (*COPIED, *SAID_OF_CUP)},
    )  # fmt: skip
    if anew.adhesive_id is not None:
        copy_figures(right, adhesive_record(session, anew.adhesive_id))
    _measure_anew(right, anew)
    _name_lots(session, bench, right, wrong, anew)
    session.add(right)
    session.flush()
    wrong.superseded_by_id = right.id
    note = words_of_mix(session, right, wrong)
    for build in carrying(session, wrong.root_id):
        details = {"mix_id": wrong.root_id}
        add_event(session, build, bench, EventKind.CORRECTION, bench.now, "", note, details)
        session.flush()
        coat_caught_by_stops(session, bench, build.id)
    return right


def _measure_anew(right: Mix, anew: MixAnew) -> None:
    """Put right how much was measured out and how long it was planned to take. Raises `BadInput`."""
    measured = {name: getattr(anew, name) for name in ("amount_a_ml", "amount_b_ml", "planned_minutes")}
    if errors := faults_of_measured(**measured):
        raise BadInput(errors)
    for name, value in measured.items():
        if value is not None:
            setattr(right, name, value)


def _name_lots(session: Session, bench: Bench, right: Mix, wrong: Mix, anew: MixAnew) -> None:
    """Name the lots anew; a rule that was released for others is not carried over.

    That a lot is out of date or quarantined is a fact, which the stages judge. Raises `BadInput` for a lot
    that cannot have been in the cup, and for one that is missing since the adhesive was another.
    """
    errors = {}
    for part, name in (("A", "lot_a_id"), ("B", "lot_b_id")):
        lot_id = getattr(anew, name)
        if lot_id is not None:
            setattr(right, name, lot_id)
            if misfit := misfit_of_lot(lot_fact(session, lot_id), part, right.adhesive_id):
                errors[name] = misfit
        elif right.adhesive_id != wrong.adhesive_id and getattr(wrong, name) is not None:
            errors[name] = (
                f"The lot of part {part} on record is one of {wrong.adhesive_name}; say which lot of "
                f"{right.adhesive_name} it was."
            )
    if errors:
        raise BadInput(errors)
    if (right.lot_a_id, right.lot_b_id) != (wrong.lot_a_id, wrong.lot_b_id):
        right.releases = [item for item in wrong.releases if item["kind"] != HoldKind.LOT]
    open_lots(session, bench, right)


def _need_reason(reason: str) -> None:
    if not reason.strip():
        raise BadInput({"reason": "A correction needs a reason; it stays on the record."})
