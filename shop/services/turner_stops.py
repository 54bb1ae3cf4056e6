"""Stops of turners: noted with every rod they caught wet, turned by hand, inspected, and ended.

All that follows from a stop is written in its own transaction and on each rod's record; which rods were wet,
and when one may be inspected, is `shop.rules.turners`'s.
"""

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.turners import StoppedRod, TurnerStay, TurnerStop
from shop.queries.builds import build_by_id, build_record
from shop.queries.turner_stops import (
    stop_record,
    stop_view,
    stopped_rod_record,
    stopped_rods,
    stops_of_turner,
)
from shop.queries.turners import (
    coats_of,
    stays_of_build,
    stays_since,
    turner_name,
    turner_record,
    turner_view,
)
from shop.rules.decide import ClearedBy, Decision, ShutHold
from shop.rules.holds import as_sentence
from shop.rules.record import EventKind
from shop.rules.refusals import BadInput, Held, NotOnFile, Overtaken
from shop.rules.sequences import HoldKind
from shop.rules.turners import (
    FLAWED,
    MOST_NOTE,
    OUTCOMES,
    Span,
    length_words,
    section_words,
    stood_wet_from,
)
from shop.services.bench import SAME_TAP, Bench
from shop.services.events import add_event


def stop_turner(
    session: Session,
    bench: Bench,
    turner_id: int,
    *,
    stopped_at: datetime | None = None,
    note: str = "",
    by: str = "",
) -> TurnerStop:
    """Write down that a turner stands still, and with it every rod on it that was wet from then on.

    Where nobody says since when, it counts from the last time it was seen turning, which is the safe side.
    Raises `Overtaken` where that is on record already, `NotOnFile`, or `BadInput`, also for a time before
    somebody saw it turning or before the first of the rods was put on.
    """
    turner = turner_record(session, turner_id)
    stops = stops_of_turner(session, turner_id)
    if any(stop.ended_at is None for stop in stops):
        raise Overtaken(f"It is on record already that {turner.name} stands still.")
    if len(note) > MOST_NOTE:
        raise BadInput({"note": f"The note has {len(note)} characters; at most {MOST_NOTE} fit."})
    view = turner_view(session, turner_id, bench.warmth)
    ended = max((stop.ended_at for stop in stops if stop.ended_at is not None), default=None)
    at = bench.past("stopped_at", stopped_at or view.last_seen_at, ended, f"{turner.name} last turned again")
    bench.past("stopped_at", at, view.seen_at, f"{turner.name} was last seen turning")
    rods = stays_since(session, turner_id, at)
    first_on = min((stay.on_at for stay in rods), default=None)
    bench.past("stopped_at", at, first_on, f"the first rod was put on {turner.name}")
    stop = TurnerStop(
        turner_id=turner_id, stopped_at=at, entered_at=bench.now, by=bench.name(by), note=note.strip()
    )
    session.add(stop)
    session.flush()
    _catch(session, bench, turner.name, stop, rods)
    return stop


def _catch(
    session: Session, bench: Bench, turner: str, stop: TurnerStop, stays: Iterable[TurnerStay]
) -> None:
    """Write down every rod of these stays that was wet while its turner stood still, each once."""
    stays = sorted(stays, key=lambda stay: stay.build_id)
    # Before those that are known: whoever adds a coat meanwhile adds its rod in the same transaction.
    coats = coats_of(session, [*{stay.build_id for stay in stays}], bench.warmth)
    known = {(rod.build_id, rod.section) for rod in stopped_rods(session, stop.id)}
    stood = Span(stop.stopped_at, stop.ended_at)
    for stay in stays:
        key = (stay.build_id, stay.section)
        since = stood_wet_from(coats.get(stay.build_id, ()), Span(stay.on_at, stay.off_at), stood)
        if key in known or since is None:
            continue
        known.add(key)
        session.add(StoppedRod(stop_id=stop.id, build_id=stay.build_id, section=stay.section))
        why = f" ({stop.note.rstrip('.')})" if stop.note else ""
        where = f"with {section_words(stay.section)} wet on it, place {stay.place_number}"
        is_over = stay.off_at is not None or stop.ended_at is not None
        todo = "inspect the coat" if is_over else "turn it by hand, then inspect the coat"
        note = f"{turner} stood still{why} {where}: {todo}."
        _tell(session, bench, build_by_id(session, stay.build_id), since, stop.by, note, stop)
    session.flush()


def caught_by_past_stops(session: Session, bench: Bench, turner: str, stay: TurnerStay) -> None:
    """For a rod that was put on earlier than it was entered: whatever stop there was since caught it too."""
    for stop in stops_of_turner(session, stay.turner_id):
        is_before = stop.ended_at is not None and stop.ended_at <= stay.on_at
        is_after = stay.off_at is not None and stay.off_at <= stop.stopped_at
        if not (is_before or is_after):
            _catch(session, bench, turner, stop, [stay])


def coat_caught_by_stops(session: Session, bench: Bench, build_id: int) -> None:
    """For a coat that is written down, maybe late, or put right: every stop on record that caught it wet.

    What stood still is to be inspected, whichever was written down first, the coat or the stop.
    """
    for stay in stays_of_build(session, build_id):
        caught_by_past_stops(session, bench, turner_name(session, stay.turner_id), stay)


def end_stop(
    session: Session, bench: Bench, stop_id: int, *, ended_at: datetime | None = None, by: str = ""
) -> TurnerStop:
    """Write down that a turner turns again.

    Rods that turn out to have been wet meanwhile are added to those that it caught. Raises `Overtaken`
    where it turns already, `BadInput` or `NotOnFile`.
    """
    stop = stop_record(session, stop_id)
    turner = turner_record(session, stop.turner_id)
    if stop.ended_at is not None:
        raise Overtaken(f"{stop.ended_by} has said already that {turner.name} turns again.")
    at = bench.past("ended_at", ended_at, stop.stopped_at, "it stopped")
    stop.ended_at, stop.ended_by = at, bench.name(by)
    _catch(session, bench, turner.name, stop, stays_since(session, turner.id, stop.stopped_at))
    note = f"{turner.name} turns again; it stood still for {length_words(at - stop.stopped_at)}."
    for build_id in sorted({rod.build_id for rod in stopped_rods(session, stop.id)}):
        _tell(session, bench, build_by_id(session, build_id), at, by, note, stop)
    session.flush()
    return stop


def turn_by_hand(
    session: Session,
    bench: Bench,
    stop_id: int,
    *,
    build: str,
    section: int = 0,
    at: datetime | None = None,
    by: str = "",
) -> StoppedRod:
    """Write down that a rod was turned by hand while its turner stood still; as often as it was.

    Raises `Overtaken` where it has been inspected or the turner turns again, `BadInput` or `NotOnFile`.
    """
    stop, record, rod = _caught(session, stop_id, build, section)
    if stop.ended_at is not None or rod.outcome:
        raise Overtaken(f"{build} has no need of it any more.")
    when = bench.past("at", at, stop.stopped_at, "the turner stopped")
    if rod.turned_at is not None and rod.turned_by == bench.name(by) and abs(when - rod.turned_at) < SAME_TAP:
        return rod
    rod.turned_at, rod.turned_by = when, bench.name(by)
    name = turner_name(session, stop.turner_id)
    note = f"Turned by hand while {name} stands still: {section_words(section)}."
    _tell(session, bench, record, when, by, note, stop)
    session.flush()
    return rod


def inspect(
    session: Session,
    bench: Bench,
    stop_id: int,
    *,
    build: str,
    section: int = 0,
    outcome: str,
    note: str = "",
    by: str = "",
) -> StoppedRod:
    """Write down how the coat of a rod was found after it had stood still: `good` or `flawed`.

    Raises `Held` while it stands still and is wet, `Overtaken` where it has been inspected, `BadInput` or
    `NotOnFile`.
    """
    stop, record, rod = _caught(session, stop_id, build, section)
    _check_outcome(outcome, note)
    if rod.outcome:
        raise Overtaken(f"{rod.inspected_by} has inspected {build} already: {rod.outcome}.")
    view = stop_view(session, stop_id, bench.warmth)
    seen = next(item for item in view.rods if item.id == rod.id)
    if view.needs_hand(seen, bench.now):
        reason = f"{build} stands still with its coat wet: what would be found now may still sag."
        hold = ShutHold(HoldKind.CHECK, reason, None, ClearedBy.WORK)
        raise Held(Decision(None, (hold,)))
    rod.outcome, rod.note = outcome, note.strip()
    rod.inspected_at, rod.inspected_by = bench.now, bench.name(by)
    found = f"{outcome}: {as_sentence(note)}" if note.strip() else f"{outcome}."
    todo = " Sand and recoat by the sheet, or strip it." if outcome == FLAWED else ""
    words = f"The coat of {section_words(section)} was inspected after the stop of {view.turner}"
    _tell(session, bench, record, bench.now, by, f"{words}: {found}{todo}", stop)
    session.flush()
    return rod


def _check_outcome(outcome: str, note: str) -> None:
    errors = {}
    if outcome not in OUTCOMES:
        errors["outcome"] = "A coat is found good or flawed."
    if outcome == FLAWED and not note.strip():
        errors["note"] = "Say what is wrong with the coat; it stays on the record."
    if len(note) > MOST_NOTE:
        errors["note"] = f"The note has {len(note)} characters; at most {MOST_NOTE} fit."
    if errors:
        raise BadInput(errors)


def _caught(session: Session, stop_id: int, build: str, section: int) -> tuple[TurnerStop, Build, StoppedRod]:
    """A stop, and a rod that it caught wet, each locked."""
    stop = stop_record(session, stop_id)
    record = build_record(session, build)
    try:
        return stop, record, stopped_rod_record(session, stop_id, record.id, section)
    except NotOnFile as missing:
        words = section_words(section)
        raise NotOnFile(f"The stop did not catch {words} of {build} wet.") from missing


def _tell(
    session: Session, bench: Bench, build: Build, at: datetime, by: str, note: str, stop: TurnerStop
) -> None:
    details = {"turner_id": stop.turner_id, "stop_id": stop.id}
    add_event(session, build, bench, EventKind.TURNER, at, by, note, details)
