"""Mixes: a cup measured out, its puddle touched, a suspicion raised and settled."""

from datetime import datetime

from sqlalchemy.orm import Session

from shop.db.adhesives import Adhesive
from shop.db.builds import Build
from shop.db.mixes import Mix, PuddleCheck, Suspicion
from shop.queries.adhesives import adhesive_record
from shop.queries.builds import build_by_id
from shop.queries.cures import cure_records_of_mix
from shop.queries.mixes import builds_of_mix, mix_record, open_suspicion
from shop.queries.zones import zone_record
from shop.rules.people import Right
from shop.rules.record import EventKind
from shop.rules.refusals import BadInput, NotAllowed, Overtaken
from shop.services.bench import Bench
from shop.services.events import add_event

COPIED = (
    "use", "reference_c", "pot_life_minutes", "set_minutes", "full_cure_minutes", "recoat_from_minutes",
    "recoat_until_minutes", "coldest_c", "doubling_c",
)  # fmt: skip
PUDDLE_STATES = ("firm", "tacky")
VERDICTS = ("good", "redo")


def make_mix(
    session: Session, bench: Bench, *, adhesive_id: int, zone_id: int, mixed_at: datetime | None, by: str = ""
) -> Mix:
    """Write down a cup that was mixed, now or at a past time. Raises `BadInput` or `NotOnFile`."""
    adhesive = adhesive_record(session, adhesive_id)
    zone_record(session, zone_id)
    at = bench.past("mixed_at", mixed_at, None, "")
    mix = Mix(zone_id=zone_id, mixed_at=at, entered_at=bench.now, by=bench.name(by))
    copy_figures(mix, adhesive)
    session.add(mix)
    session.flush()
    mix.root_id = mix.id
    session.flush()
    return mix


def copy_figures(mix: Mix, adhesive: Adhesive) -> None:
    """Give a mix the adhesive's figures as they are now; later edits of the adhesive leave it alone."""
    mix.adhesive_id = adhesive.id
    mix.adhesive_name = adhesive.name
    for name in COPIED:
        setattr(mix, name, getattr(adhesive, name))


def touch_puddle(
    session: Session, bench: Bench, mix_id: int, *, state: str, at: datetime | None, by: str = ""
) -> Mix:
    """Write down how the puddle of a mix was found. Raises `BadInput` or `NotOnFile`."""
    mix = mix_record(session, mix_id)
    if state not in PUDDLE_STATES:
        raise BadInput({"state": "A puddle is found firm or tacky."})
    touched = bench.past("at", at, mix.mixed_at, "it was mixed")
    check = PuddleCheck(mix_id=mix.root_id, state=state, at=touched, entered_at=bench.now, by=bench.name(by))
    session.add(check)
    _tell_builds(session, bench, mix, EventKind.PUDDLE, touched, by, f"Puddle {state}.")
    return mix


def suspect_mix(session: Session, bench: Bench, mix_id: int, *, reason: str, by: str = "") -> Mix:
    """Put a mix under suspicion, which holds every build that carries it at once.

    Raises `BadInput`, or `Overtaken` where it is under suspicion already.
    """
    mix = mix_record(session, mix_id)
    if not reason.strip():
        raise BadInput({"reason": "Say what is suspected; everybody at the bench will read it."})
    assert mix.root_id is not None
    if open_suspicion(session, mix.root_id) is not None:
        raise Overtaken("This mix is under suspicion already; it awaits an owner's verdict.")
    session.add(Suspicion(mix_id=mix.root_id, reason=reason, raised_at=bench.now, by=bench.name(by)))
    _tell_builds(session, bench, mix, EventKind.SUSPICION, bench.now, by, reason)
    return mix


def judge_mix(session: Session, bench: Bench, mix_id: int, *, verdict: str, reason: str, by: str = "") -> Mix:
    """An owner's verdict on a suspect mix: `good`, or `redo`, which marks all its cures as failed.

    Raises `NotAllowed`, `BadInput`, or `Overtaken` where no suspicion is open.
    """
    if not bench.actor.may(Right.RELEASE):
        raise NotAllowed("Only an owner gives a verdict on a mix.")
    mix = mix_record(session, mix_id)
    errors = {}
    if verdict not in VERDICTS:
        errors["verdict"] = "The verdict is good or redo."
    if not reason.strip():
        errors["reason"] = "The verdict needs a reason; it stays on the record."
    if errors:
        raise BadInput(errors)
    assert mix.root_id is not None
    suspicion = open_suspicion(session, mix.root_id)
    if suspicion is None:
        raise Overtaken("No suspicion about this mix awaits a verdict.")
    suspicion.verdict, suspicion.verdict_reason = verdict, reason
    suspicion.verdict_at, suspicion.verdict_by = bench.now, bench.name(by)
    _tell_builds(session, bench, mix, EventKind.VERDICT, bench.now, by, f"{verdict}: {reason}")
    if verdict == "redo":
        for cure in cure_records_of_mix(session, mix.root_id):
            cure.failed_reason = f"Verdict on the mix: {reason}"
    session.flush()
    return mix


def _tell_builds(
    session: Session, bench: Bench, mix: Mix, kind: EventKind, at: datetime, by: str, note: str
) -> None:
    """Put what happened to a mix on the record of every build that carries it."""
    assert mix.root_id is not None
    for build in carrying(session, mix.root_id):
        add_event(session, build, bench, kind, at, by, note, {"mix_id": mix.root_id})
    session.flush()


def carrying(session: Session, root_id: int) -> list[Build]:
    """The records of the builds that carry a cure of a mix."""
    return [build_by_id(session, build_id) for build_id in builds_of_mix(session, root_id)]
