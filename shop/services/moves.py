"""Moves: rods that were carried to another zone while something on them was soft, and back."""

from collections.abc import Iterable, Sequence
from datetime import datetime

from sqlalchemy.orm import Session

from shop.db.cures import Cure, CureMove
from shop.queries.builds import build_by_id, build_record
from shop.queries.cures import cure_record
from shop.queries.facts import facts_of_build
from shop.queries.moves import move_record, move_records, moves_of_build, paths
from shop.queries.zones import zone_record
from shop.rules.facts import CureFact
from shop.rules.holds import as_sentence
from shop.rules.record import EventKind
from shop.rules.refusals import BadInput, Overtaken
from shop.rules.soft import is_soft
from shop.services.bench import Bench
from shop.services.events import add_event


def move_cures(
    session: Session,
    bench: Bench,
    number: str,
    *,
    zone_id: int,
    at: datetime | None = None,
    cure_ids: Sequence[int] | None = None,
    by: str = "",
) -> list[int]:
    """Write down that a build was carried to a zone, and with it all that was soft on it, or the cures named.

    Gives the ids of the cures that were carried. Raises `BadInput` for a time in the future, before one of
    them was closed or last carried, for a cure that was not soft then and a zone that they lie in already;
    `Overtaken` for a finished build or where nothing was soft; `NotOnFile`.
    """
    build = build_record(session, number)
    if build.closed_at is not None:
        raise Overtaken(f"Build {number} is finished; where it lies changes nothing any more.")
    zone = zone_record(session, zone_id)
    moved_at = bench.past("at", at, None, "")
    facts = facts_of_build(session, build.id, build.pass_number, bench.warmth, bench.around)
    cures = _chosen(facts.cures, number, cure_ids, moved_at)
    _check_times(session, build.id, cures, moved_at)
    carried = [cure for cure in cures if cure.lies_in != zone.name]
    if not carried or (cure_ids is not None and len(carried) < len(cures)):
        there = next(cure for cure in cures if cure.lies_in == zone.name)
        raise BadInput({"zone_id": f"The {there.place} lies in the zone {zone.name} already."})
    moves = [
        CureMove(cure_id=cure.id, zone_id=zone_id, at=moved_at, entered_at=bench.now, by=bench.name(by))
        for cure in carried
    ]
    session.add_all(moves)
    session.flush()
    details = {"cure_ids": [cure.id for cure in carried], "move_ids": [move.id for move in moves]}
    note = f"Carried to the zone {zone.name} with what was soft: {_places(carried)}."
    add_event(session, build, bench, EventKind.MOVE, moved_at, by, note, details)
    session.flush()
    return details["cure_ids"]


def _chosen(
    cures: Iterable[CureFact], number: str, cure_ids: Sequence[int] | None, moved_at: datetime
) -> list[CureFact]:
    """The cures that were carried; whether one was soft is judged at the time it was carried.

    A rod carried whole took along what was on it then; what was closed on it later may be named by mistake.
    """
    soft = {cure.id: cure for cure in cures if is_soft(cure, moved_at)}
    if cure_ids is None:
        on_it = [cure for cure in soft.values() if cure.closed_at <= moved_at]
        if not on_it and soft:
            first = min(soft.values(), key=lambda cure: cure.closed_at)
            raise BadInput({"at": f"The {first.place} was closed later than that."})
        if not on_it:
            raise Overtaken(f"Nothing on build {number} was soft then, so where it lay changes nothing.")
        return on_it
    if not cure_ids:
        raise BadInput({"cure_ids": "Name at least one cure, or leave them out to mean all that is soft."})
    strange = ", ".join(str(cure_id) for cure_id in dict.fromkeys(cure_ids) if cure_id not in soft)
    if strange:
        raise BadInput({"cure_ids": f"These are not cures that were soft on build {number} then: {strange}."})
    return [soft[cure_id] for cure_id in dict.fromkeys(cure_ids)]


def _check_times(session: Session, build_id: int, cures: list[CureFact], moved_at: datetime) -> None:
    """Raises `BadInput` for a move before a cure was closed, or before it was last carried."""
    carried = paths(moves_of_build(session, build_id))
    for cure in cures:
        if moved_at < cure.closed_at:
            raise BadInput({"at": f"The {cure.place} was closed later than that."})
        path = carried.get(cure.id)
        if path and moved_at < path[-1][0]:
            raise BadInput({"at": f"The {cure.place} was carried later than that; undo that move first."})


def _places(cures: Iterable[CureFact]) -> str:
    return ", ".join(dict.fromkeys(cure.place for cure in cures))


def undo_move(session: Session, bench: Bench, move_id: int, *, reason: str) -> Cure:
    """Say that a cure was not carried after all; the move stays on the record. Gives the cure.

    Raises `BadInput` without a reason, `Overtaken` for a move that is undone or whose cure has been
    corrected since, `NotOnFile`.
    """
    if not reason.strip():
        raise BadInput({"reason": "Undoing a move needs a reason; it stays on the record."})
    move = move_record(session, move_id)
    if move.undone_reason:
        raise Overtaken("That move has been undone already.")
    cure = cure_record(session, move.cure_id)
    if cure.superseded_by_id is not None:
        raise Overtaken(
            f"That entry has been corrected since; undo the move of cure {cure.superseded_by_id}."
        )
    move.undone_reason, move.undone_by = reason, bench.actor.name
    zone = zone_record(session, move.zone_id)
    note = f"The {cure.place} was not carried to the zone {zone.name} after all: {as_sentence(reason)}"
    build, details = build_by_id(session, cure.build_id), {"move_id": move.id, "cure_id": cure.id}
    add_event(session, build, bench, EventKind.CORRECTION, bench.now, "", note, details)
    session.flush()
    return cure


def carry_over(session: Session, wrong: Cure, right: Cure) -> None:
    """Give the entry that corrects a cure the moves that stand of the entry that was wrong.

    Raises `BadInput` where it would then have been carried before it was closed.
    """
    for move in move_records(session, wrong.id):
        if move.at < right.closed_at:
            raise BadInput({"closed_at": "It was carried to another zone before that; undo that move first."})
        again = CureMove(
            cure_id=right.id, zone_id=move.zone_id, at=move.at, entered_at=move.entered_at, by=move.by
        )
        session.add(again)
    session.flush()
