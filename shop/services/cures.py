"""Cures: closing a place on a build with a mix. Corrections are in `shop.services.corrections`."""

from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.cures import Cure
from shop.db.mixes import Mix
from shop.queries.builds import build_record
from shop.queries.cure_clock import Clocks, instant_of
from shop.queries.cures import cure_record, sheet_in
from shop.queries.events import pass_began
from shop.queries.facts import facts_of_build
from shop.queries.mixes import last_verdict, mix_record, open_suspicion
from shop.queries.servings import serving_at
from shop.queries.shop import read_shop
from shop.queries.zones import zone_record
from shop.rules.decide import ClearedBy, Decision, ShutHold
from shop.rules.facts import CureFact, Facts
from shop.rules.holds import as_sentence
from shop.rules.rechecks import failed_last, joint_to_do_anew, relied_on
from shop.rules.record import EventKind
from shop.rules.refusals import BadInput, Held, Overtaken
from shop.rules.sequences import HoldKind
from shop.rules.servings import FINISH
from shop.services.bench import Bench
from shop.services.events import add_event
from shop.services.rechecks import recheck_details, recheck_words
from shop.services.turner_stops import coat_caught_by_stops

MOST_PLACE = 60
MOST_FAILED_REASON = 500


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
    again: bool = False,
    again_reason: str = "",
) -> Cure:
    """Write down that a place on a build was closed with a mix, from which instant it cures.

    With `again` the joint that counts there is done anew: it ends as failed, for that reason, and the ticks
    that relied on it are asked for again. Raises `BadInput` for a time that cannot be or a place without a
    name, `Held` for a time after the mix's pot life or a mix to be done again, `Overtaken` for a finished
    build, a place closed with this mix before, or where no joint is there to be done anew, `NotOnFile`.
    """
    mix = mix_record(session, mix_id)
    record = open_build(session, build)
    if zone_id is not None:
        zone_record(session, zone_id)
    check_verdict(session, mix)
    at = check_closing(session, bench, mix, place, closed_at)
    check_pass(session, record.id, record.pass_number, at)
    place = place.strip()
    story, details = _story(session, bench, record, mix, place, at, again, again_reason)
    cure = Cure(
        mix_id=mix.root_id, build_id=record.id, pass_number=record.pass_number, place=place, zone_id=zone_id,
        closed_at=at, entered_at=bench.now, by=bench.name(by),
    )  # fmt: skip
    session.add(cure)
    session.flush()
    _serve_after_all(session, cure)
    note = f"{mix.adhesive_name} closed at the {place}{story}"
    add_event(session, record, bench, EventKind.CURE, at, by, note, {"cure_id": cure.id, **details})
    _ask_for_stops(session, bench, mix, record)
    return cure


def _ask_for_stops(session: Session, bench: Bench, mix: Mix, build: Build) -> None:
    """A coat may have been wet while its turner stood still, also where it is written down afterwards."""
    session.flush()
    if mix.use == FINISH:
        coat_caught_by_stops(session, bench, build.id)


def open_build(session: Session, number: str) -> Build:
    """The record of a build that is not finished. Raises `NotOnFile` or `Overtaken`."""
    build = build_record(session, number)
    if build.closed_as:
        raise Overtaken(f"The order of {number} was {build.closed_as}; reopen it before anything is glued.")
    if build.closed_at is not None:
        raise Overtaken(f"Build {number} is finished; send it back before anything is glued on it.")
    return build


def _story(
    session: Session,
    bench: Bench,
    build: Build,
    mix: Mix,
    place: str,
    at: datetime,
    again: bool,
    reason: str,
) -> tuple[str, dict[str, Any]]:
    """How the record goes on after naming what was closed, and its details.

    A joint that is done anew ends as failed here. Whether it failed now or before, the ticks that relied on
    it are asked for again: one given while the place was bare says nothing of the new joint.
    """
    if again != bool(reason.strip()):
        missing = "Say why it is done anew; that stays on the record."
        alone = "A reason goes with a joint that is done anew; say so too."
        raise BadInput({"reason": missing if again else alone})
    facts = facts_of_build(session, build.id, build.pass_number, bench.warmth, bench.around)
    joint = _joint_to_fail(facts, mix, place, at) if again else failed_last(facts, place)
    _check_once(session, facts, mix, place)
    sequence = bench.sequences.of_build(session, build.sequence_id).value
    rechecks = relied_on(sequence, facts, joint, at)
    details = recheck_details(rechecks)
    assert mix.root_id is not None
    doubt = "" if open_suspicion(session, mix.root_id) is None else "; the mix is under suspicion"
    story = f"{doubt}."
    if again:
        for cure in joint:
            cure_record(session, cure.id).failed_reason = f"Done anew: {reason}"[:MOST_FAILED_REASON]
        story = f" anew{doubt}; the joint before it ({joint[-1].adhesive}) has failed: {as_sentence(reason)}"
        details["failed"] = [cure.id for cure in joint]
    return story + recheck_words(rechecks), details


def _joint_to_fail(facts: Facts, mix: Mix, place: str, at: datetime) -> tuple[CureFact, ...]:
    joint = joint_to_do_anew(facts, place)
    if not joint:
        raise Overtaken(f"No joint at the {place} counts in this pass, so there is none to do anew.")
    if any(cure.mix_id == mix.root_id for cure in joint):
        raise Overtaken(f"The joint that counts at the {place} was closed with this very mix.")
    if at < joint[-1].closed_at:
        raise BadInput({"closed_at": "The joint that is done anew was closed later than that."})
    return joint


def _check_once(session: Session, facts: Facts, mix: Mix, place: str) -> None:
    """Raises `Overtaken` where a cure of this mix counts there: it was sent twice, or by two people."""
    for cure in facts.cures:
        if cure.mix_id == mix.root_id and cure.place == place and not cure.failed:
            at = cure.closed_at.astimezone(read_shop(session).zone)
            raise Overtaken(f"The {place} was closed with this cup already at {at:%H:%M}.")


def _serve_after_all(session: Session, cure: Cure) -> None:
    """Take back that the place was left out of this cup; that it was, stays on the record of its build."""
    serving = serving_at(session, cure.mix_id, cure.build_id, cure.place)
    if serving is not None:
        serving.left_out_reason, serving.left_out_at, serving.left_out_by = "", None, ""


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


def check_closing(
    session: Session, bench: Bench, mix: Mix, place: str, closed_at: datetime | None
) -> datetime:
    """The instant at which a place was closed, if it can be: after mixing, within the pot life, not ahead."""
    check_place(place)
    at = bench.past("closed_at", closed_at, mix.mixed_at, "its mix was made")
    if at < mix.mixed_at:
        raise BadInput({"closed_at": "Its mix was made later than that."})
    clocks = Clocks(session, bench.warmth)
    ended = instant_of(clocks.pot_life_ends(mix.zone_id, sheet_in(mix), mix.mixed_at.timestamp()))
    if ended is not None and at > ended:
        used = f"The pot life of this {mix.adhesive_name} had ended when the {place.strip()} was closed"
        reason = f"{used}: mix again."
        raise Held(Decision(None, (ShutHold(HoldKind.POT_LIFE, reason, None, ClearedBy.NEVER),)))
    return at
