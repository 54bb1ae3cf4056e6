"""Cures: closing a place on a build with a mix. Corrections are in `shop.services.corrections`."""

from datetime import datetime

from sqlalchemy.orm import Session

from shop.db.cures import Cure
from shop.db.mixes import Mix
from shop.queries.builds import build_record
from shop.queries.cure_clock import instant_of
from shop.queries.cures import sheet_of
from shop.queries.events import pass_began
from shop.queries.mixes import last_verdict, mix_record
from shop.queries.zones import zone_record
from shop.rules.decide import ClearedBy, Decision, ShutHold
from shop.rules.record import EventKind
from shop.rules.refusals import BadInput, Held, Overtaken
from shop.rules.sequences import HoldKind
from shop.services.bench import Bench
from shop.services.events import add_event

MOST_PLACE = 60


def close_cure(
    session: Session,
    bench: Bench,
    mix_id: int,
    *,
    build: str,
    place: str,
    closed_at: datetime | None,
    by: str = "",
    zone_id: int | None = None,
) -> Cure:
    """Write down that a place on a build was closed with a mix, from which instant it cures.

    Raises `BadInput` for a time that cannot be or a place without a name, `Held` for a time after the
    mix's pot life or a mix to be done again, `Overtaken` for a finished build, `NotOnFile`.
    """
    mix = mix_record(session, mix_id)
    record = build_record(session, build)
    if record.closed_at is not None:
        raise Overtaken(f"Build {build} is finished; send it back before anything is glued on it.")
    if zone_id is not None:
        zone_record(session, zone_id)
    check_verdict(session, mix)
    at = check_closing(bench, mix, place, closed_at)
    check_pass(session, record.id, record.pass_number, at)
    cure = Cure(
        mix_id=mix.root_id, build_id=record.id, pass_number=record.pass_number, place=place.strip(),
        zone_id=zone_id, closed_at=at, entered_at=bench.now, by=bench.name(by),
    )  # fmt: skip
    session.add(cure)
    session.flush()
    note = f"{mix.adhesive_name} closed at the {cure.place}."
    add_event(session, record, bench, EventKind.CURE, at, by, note, {"cure_id": cure.id})
    session.flush()
    return cure


def check_place(place: str) -> None:
    """Raises `BadInput` for a place without a name, or with one that is too long."""
    if not 1 <= len(place.strip()) <= MOST_PLACE:
        raise BadInput({"place": f"The place needs a name of 1 to {MOST_PLACE} characters."})


def check_verdict(session: Session, mix: Mix) -> None:
    """Raises `Held` for a mix whose verdict was `redo`: no joint of it counts, whoever says so."""
    assert mix.root_id is not None
    if last_verdict(session, mix.root_id) == "redo":
        reason = (
            f"The verdict on this {mix.adhesive_name} was redo: nothing closed with it counts; mix again."
        )
        raise Held(Decision(None, (ShutHold(HoldKind.SUSPECT, reason, None, ClearedBy.NEVER),)))


def check_pass(session: Session, build_id: int, pass_number: int, closed_at: datetime) -> None:
    """Raises `BadInput` for a closing before the pass began: that joint belongs to an earlier pass."""
    began = pass_began(session, build_id, pass_number)
    if began is not None and closed_at < began:
        raise BadInput({"closed_at": "The build was sent back after that time; no joint of before counts."})


def check_closing(bench: Bench, mix: Mix, place: str, closed_at: datetime | None) -> datetime:
    """The instant at which a place was closed, if it can be: after mixing, within the pot life, not ahead."""
    check_place(place)
    at = bench.past("closed_at", closed_at, mix.mixed_at, "its mix was made")
    if at < mix.mixed_at:
        raise BadInput({"closed_at": "Its mix was made later than that."})
    sheet = sheet_of(
        mix.reference_c, mix.pot_life_minutes, mix.set_minutes, mix.full_cure_minutes,
        mix.recoat_from_minutes, mix.recoat_until_minutes, mix.coldest_c, mix.doubling_c,
    )  # fmt: skip
    clock = bench.warmth.zones[mix.zone_id].clock
    ended = instant_of(clock.pot_life_ends(sheet, mix.mixed_at.timestamp()))
    if ended is not None and at > ended:
        used = f"The pot life of this {mix.adhesive_name} had ended when the {place.strip()} was closed"
        reason = f"{used}: mix again."
        raise Held(Decision(None, (ShutHold(HoldKind.POT_LIFE, reason, None, ClearedBy.NEVER),)))
    return at
