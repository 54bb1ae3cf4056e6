"""Turners: put on file, rods put on them, moved and taken off, and looks at whether they turn.

Whether a rod may come off is `shop.rules.turners`'s; stops are in `shop.services.turner_stops`. Verbs lock
the turner before the build, so that of two people at one place one is told.
"""

from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.turners import Turner, TurnerCheck, TurnerStay
from shop.queries.builds import build_by_id, build_record, build_view
from shop.queries.turner_stops import pending_inspection, stops_of_turner
from shop.queries.turners import (
    last_stay_at,
    stay_record,
    stays_of_build,
    turner_named,
    turner_record,
    turner_view,
    turnings_of,
)
from shop.queries.zones import zone_record
from shop.rules.decide import ClearedBy, Decision, ShutHold
from shop.rules.holds import as_sentence, in_utc
from shop.rules.people import Right
from shop.rules.record import EventKind
from shop.rules.refusals import BadInput, Held, NotAllowed, Overtaken
from shop.rules.sequences import HoldKind
from shop.rules.turners import Turning, faults_of_turner, length_words, section_words
from shop.services.bench import Bench
from shop.services.events import add_event
from shop.services.turner_stops import caught_by_past_stops

MOST_REASON = 500


def add_turner(
    session: Session,
    *,
    now: datetime,
    name: str,
    places: int,
    check_minutes: int,
    zone_id: int | None = None,
) -> Turner:
    """Put a turner on file. Raises `BadInput` or `NotOnFile`."""
    _check(session, None, name, places, check_minutes, zone_id)
    turner = Turner(
        name=name.strip(), places=places, check_minutes=check_minutes, zone_id=zone_id, created_at=now
    )
    session.add(turner)
    session.flush()
    return turner


def change_turner(
    session: Session, bench: Bench, turner_id: int, *, version: int | None = None, **changes: Any
) -> Turner:
    """Change what is on file of a turner: its `name`, `places`, `check_minutes` or `zone_id`.

    Raises `BadInput`, `NotOnFile`, and, with `version` given, `Overtaken` where it was changed since.
    """
    turner = turner_record(session, turner_id)
    if version is not None and turner.version != version:
        raise Overtaken("Somebody else changed this turner meanwhile; what is on file now is shown above.")
    fields = ("name", "places", "check_minutes", "zone_id")
    anew = {name: changes.get(name, getattr(turner, name)) for name in fields}
    _check(session, turner_id, **anew)
    taken = turner_view(session, turner_id, bench.warmth).stays
    beyond = [stay for stay in taken if stay.place_number > anew["places"]]
    if beyond:
        rod = beyond[0]
        raise BadInput(
            {"places": f"{rod.build} is on place {rod.place_number}; take it off or move it first."}
        )
    for name in fields:
        setattr(turner, name, anew[name].strip() if name == "name" else anew[name])
    session.flush()
    return turner


def _check(
    session: Session, turner_id: int | None, name: str, places: int, check_minutes: int, zone_id: int | None
) -> None:
    errors = faults_of_turner(name, places, check_minutes)
    same = turner_named(session, name.strip())
    if same is not None and same.id != turner_id:
        errors["name"] = f"There is a turner called {name.strip()} already."
    if errors:
        raise BadInput(errors)
    if zone_id is not None:
        zone_record(session, zone_id)


def put_on(
    session: Session,
    bench: Bench,
    turner_id: int,
    *,
    build: str,
    section: int = 0,
    place_number: int,
    on_at: datetime | None = None,
    by: str = "",
) -> TurnerStay:
    """Put a rod, or one section of it (0 for the whole rod), on a place of a turner.

    Raises `BadInput` for a place, section or time that cannot be, `Overtaken` where the place is taken, the
    rod is on a turner already or finished, or the turner stands still, and `NotOnFile`.
    """
    turner = turner_record(session, turner_id)
    record = build_record(session, build)
    if record.closed_at is not None:
        raise Overtaken(f"Build {build} is finished; nothing on it is wet.")
    _check_section(session, build, section)
    earlier = stays_of_build(session, record.id)
    for stay in earlier:
        if stay.off_at is None and (stay.section == section or 0 in (section, stay.section)):
            raise Overtaken(_is_on_already(session, stay, build))
    at = bench.past("on_at", on_at, record.created_at, "this build was taken on")
    for stay in earlier:
        if stay.section == section and stay.off_at is not None and at < stay.off_at:
            raise BadInput({"on_at": f"It was on a turner then, until {in_utc(stay.off_at)}."})
    _check_place(session, turner, place_number, "on_at", at)
    new = _stay(session, bench, turner, record, section, place_number, at, by)
    where = f"{turner.name}, place {place_number}"
    note = f"Put on {where}: {section_words(section)}."
    _tell(session, bench, record, at, by, note, new)
    caught_by_past_stops(session, bench, turner.name, new)
    return new


def _is_on_already(session: Session, stay: TurnerStay, build: str) -> str:
    turner = turner_record(session, stay.turner_id)
    words = section_words(stay.section)
    return (
        f"{words[:1].upper()}{words[1:]} of {build} is on {turner.name}, place {stay.place_number}, already."
    )


def _check_section(session: Session, build: str, section: int) -> None:
    pieces = build_view(session, build).pieces
    if not 0 <= section <= pieces:
        raise BadInput({"section": f"{build} has {pieces} sections; 0 stands for the whole rod."})


def _check_place(session: Session, turner: Turner, place_number: int, field: str, at: datetime) -> None:
    """Whether a place of a turner that turns is there and free from an instant on."""
    if not 1 <= place_number <= turner.places:
        raise BadInput({"place_number": f"{turner.name} has the places 1 to {turner.places}."})
    _check_turns(session, turner)
    last = last_stay_at(session, turner.id, place_number)
    if last is not None and last.off_at is None:
        rod = build_by_id(session, last.build_id).number
        raise Overtaken(f"Place {place_number} of {turner.name} is taken: {rod} is on it.")
    if last is not None and last.off_at is not None and at < last.off_at:
        raise BadInput({field: f"Another rod was on that place until {in_utc(last.off_at)}."})


def _stay(
    session: Session,
    bench: Bench,
    turner: Turner,
    build: Build,
    section: int,
    place_number: int,
    at: datetime,
    by: str,
) -> TurnerStay:
    stay = TurnerStay(
        turner_id=turner.id, place_number=place_number, build_id=build.id, section=section, on_at=at,
        entered_at=bench.now, by=bench.name(by),
    )  # fmt: skip
    session.add(stay)
    session.flush()
    return stay


def _check_turns(session: Session, turner: Turner) -> None:
    stop = next((stop for stop in stops_of_turner(session, turner.id) if stop.ended_at is None), None)
    if stop is not None:
        since = in_utc(stop.stopped_at)
        raise Overtaken(f"{turner.name} stands still since {since}; say first that it turns again.")


def take_off(
    session: Session,
    bench: Bench,
    stay_id: int,
    *,
    off_at: datetime | None = None,
    reason: str = "",
    by: str = "",
) -> TurnerStay:
    """Take a rod off its place, once it has turned long enough or with a reason that stays on the record.

    Raises `Held` before its turning time is over and while its coat awaits an inspection, `NotAllowed` for
    an early end by somebody who may not correct, `Overtaken` where it is off already, `BadInput`.
    """
    stay = _on(session, stay_id)
    turner, build = turner_record(session, stay.turner_id), build_by_id(session, stay.build_id)
    at = bench.past("off_at", off_at, stay.on_at, "it was put on")
    _check_inspected(session, stay, build)
    turning = turnings_of(session, [build.id], bench.warmth).get(build.id, Turning())
    early = not turning.is_over(at)
    if early and not reason.strip():
        raise Held(Decision(None, (_still_wet(build, turning),)))
    if early and not bench.actor.may(Right.CORRECT):
        raise NotAllowed("Only somebody who may correct the record takes a rod off before its time.")
    if len(reason) > MOST_REASON:
        raise BadInput({"reason": f"The reason has {len(reason)} characters; at most {MOST_REASON} fit."})
    stay.off_at, stay.off_by = at, bench.name(by)
    note = f"Taken off {turner.name}, place {stay.place_number}, after {length_words(at - stay.on_at)}"
    note += ", before its turning time was over" if early else ""
    note += f": {as_sentence(reason)}" if reason.strip() else "."
    _tell(session, bench, build, at, by, note, stay)
    return stay


def _on(session: Session, stay_id: int) -> TurnerStay:
    stay = stay_record(session, stay_id)
    if stay.off_at is not None:
        raise Overtaken(f"{stay.off_by} has taken that rod off already.")
    return stay


def _still_wet(build: Build, turning: Turning) -> ShutHold:
    if turning.no_end:
        reason = (
            f"The coat on {build.number} does not harden: it is too cold, or its puddle is tacky. Nobody can "
            "say when; off the turner it may sag."
        )
    else:
        count = (
            "the turning time of its sheet" if turning.by_sheet else "until it has set; its sheet is silent"
        )
        reason = f"The coat on {build.number} must go on turning ({count}); off the turner it would sag."
    return ShutHold(HoldKind.TURNER, reason, turning.until, ClearedBy.TIME, is_stalled=turning.no_end)


def _check_inspected(session: Session, stay: TurnerStay, build: Build) -> None:
    if pending_inspection(session, build.id, stay.section) is not None:
        reason = f"{build.number} stood still on a turner: inspect its coat before its place is freed."
        raise Held(Decision(None, (ShutHold(HoldKind.CHECK, reason, None, ClearedBy.PERSON),)))


def move(
    session: Session,
    bench: Bench,
    stay_id: int,
    *,
    turner_id: int,
    place_number: int,
    at: datetime | None = None,
    by: str = "",
) -> TurnerStay:
    """Move a rod to another place, of the same turner or of one that turns; gives its new stay.

    A wet rod may be moved, even off a turner that stands still: it goes on turning. Raises as `put_on` does.
    """
    stay = _on(session, stay_id)
    # In one order, or two that move rods between the same turners could wait for each other for ever.
    locked = {number: turner_record(session, number) for number in sorted({stay.turner_id, turner_id})}
    build, old, new = build_by_id(session, stay.build_id), locked[stay.turner_id], locked[turner_id]
    if (old.id, stay.place_number) == (new.id, place_number):
        raise BadInput({"place_number": "It is on that place already."})
    when = bench.past("at", at, stay.on_at, "it was put on")
    _check_place(session, new, place_number, "at", when)
    stay.off_at, stay.off_by = when, bench.name(by)
    moved = _stay(session, bench, new, build, stay.section, place_number, when, by)
    note = f"Moved from {old.name}, place {stay.place_number}, to {new.name}, place {place_number}."
    _tell(session, bench, build, when, by, note, moved)
    caught_by_past_stops(session, bench, new.name, moved)
    return moved


def note_turning(
    session: Session, bench: Bench, turner_id: int, *, at: datetime | None = None, by: str = ""
) -> TurnerCheck:
    """Write down that somebody looked and it turned.

    Raises `Overtaken` while it stands still by what is on record, `BadInput` or `NotOnFile`.
    """
    turner = turner_record(session, turner_id)
    _check_turns(session, turner)
    when = bench.past("at", at, turner.created_at, "this turner was put on file")
    check = TurnerCheck(turner_id=turner.id, at=when, entered_at=bench.now, by=bench.name(by))
    session.add(check)
    session.flush()
    return check


def _tell(
    session: Session, bench: Bench, build: Build, at: datetime, by: str, note: str, stay: TurnerStay
) -> None:
    details = {"turner_id": stay.turner_id, "stay_id": stay.id}
    add_event(session, build, bench, EventKind.TURNER, at, by, note, details)
    session.flush()
