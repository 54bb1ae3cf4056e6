"""Mixes: a cup measured out, its puddle touched, a suspicion raised and settled."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy.orm import Session

from shop.db.adhesives import Adhesive
from shop.db.builds import Build
from shop.db.mixes import Mix, PuddleCheck, Suspicion
from shop.queries.adhesives import adhesive_record, state_of_sheet
from shop.queries.builds import build_by_id
from shop.queries.cures import cure_records_of_mix
from shop.queries.mixes import builds_of_mix, last_touch, mix_record, open_suspicion
from shop.queries.zones import zone_record
from shop.rules.holds import as_sentence
from shop.rules.people import Right
from shop.rules.puddles import PuddleState
from shop.rules.record import EventKind
from shop.rules.refusals import BadInput, NotAllowed, Overtaken
from shop.services.bench import SAME_TAP, Bench
from shop.services.cups import NOTHING_SAID, CupSaid, check_cup, open_lots, serve_places
from shop.services.cures import MOST_FAILED_REASON
from shop.services.events import add_event
from shop.services.rechecks import recheck_details, recheck_words, rechecks_for

COPIED = (
    "use", "reference_c", "pot_life_minutes", "set_minutes", "full_cure_minutes", "recoat_from_minutes",
    "recoat_until_minutes", "coldest_c", "doubling_c", "turn_minutes",
)  # fmt: skip
PUDDLE_STATES = tuple(state.value for state in PuddleState)
VERDICTS = ("good", "wait", "redo")
# A doubt that nobody looks at for longer than this is forgotten, not waited for.
LONGEST_WAIT = timedelta(days=60)


def make_mix(
    session: Session,
    bench: Bench,
    *,
    adhesive_id: int,
    zone_id: int,
    mixed_at: datetime | None,
    by: str = "",
    cup: CupSaid = NOTHING_SAID,
) -> Mix:
    """Write down a cup that was mixed, now or at a past time.

    Raises `BadInput`, `NotOnFile`, `NotAllowed` for a release by somebody who is not an owner, `Overtaken`
    for a finished build, or `Held` for a lot that may not be used unless an owner releases that rule.
    """
    adhesive = adhesive_record(session, adhesive_id)
    zone_record(session, zone_id)
    at = bench.past("mixed_at", mixed_at, None, "")
    releases = check_cup(session, bench, adhesive_id, at, cup)
    mix = Mix(
        zone_id=zone_id, mixed_at=at, entered_at=bench.now, by=bench.name(by), lot_a_id=cup.lot_a_id,
        lot_b_id=cup.lot_b_id, amount_a_ml=cup.amount_a_ml, amount_b_ml=cup.amount_b_ml,
        planned_minutes=cup.planned_minutes,
        releases=[
            {
                "kind": item.kind.value, "reason": item.reason, "by": bench.name(by),
                "faults": list(item.faults),
            }
            for item in releases
        ],
    )  # fmt: skip
    copy_figures(mix, adhesive)
    session.add(mix)
    session.flush()
    mix.root_id = mix.id
    serve_places(session, bench, mix, cup, by)
    open_lots(session, bench, mix)
    session.flush()
    return mix


def copy_figures(mix: Mix, adhesive: Adhesive) -> None:
    """Give a mix the adhesive's figures as they are now; later edits of the adhesive leave it alone."""
    mix.adhesive_id = adhesive.id
    mix.adhesive_name = adhesive.name
    mix.sheet_state = state_of_sheet(adhesive)
    for name in COPIED:
        setattr(mix, name, getattr(adhesive, name))


def touch_puddle(
    session: Session, bench: Bench, mix_id: int, *, state: str, at: datetime | None, by: str = ""
) -> Mix:
    """Write down how the puddle of a mix was found; the same tap twice is one touch.

    Raises `BadInput` or `NotOnFile`.
    """
    mix = mix_record(session, mix_id)
    if state not in PUDDLE_STATES:
        raise BadInput({"state": "A puddle is found firm or tacky."})
    touched = bench.past("at", at, mix.mixed_at, "it was mixed")
    assert mix.root_id is not None
    if _is_same_tap(last_touch(session, mix.root_id), state, touched, bench, by):
        return mix
    check = PuddleCheck(mix_id=mix.root_id, state=state, at=touched, entered_at=bench.now, by=bench.name(by))
    session.add(check)
    note = f"The puddle of the {mix.adhesive_name} was found {state}."
    _tell_builds(session, bench, mix, EventKind.PUDDLE, touched, by, note)
    return mix


def _is_same_tap(
    last: PuddleCheck | None, state: str, at: datetime, bench: Bench, by: str
) -> bool:  # fmt: skip
    """Whether the last touch that was entered said the very same thing a moment ago."""
    return (
        last is not None
        and (last.state, last.by) == (state, bench.name(by))
        and abs(at - last.at) < SAME_TAP
        and bench.now - last.entered_at < SAME_TAP
    )


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
    note = f"The mix of {mix.adhesive_name} is under suspicion: {as_sentence(reason)}"
    _tell_builds(session, bench, mix, EventKind.SUSPICION, bench.now, by, note)
    return mix


def judge_mix(
    session: Session,
    bench: Bench,
    mix_id: int,
    *,
    verdict: str,
    reason: str,
    recheck_at: datetime | None = None,
    by: str = "",
) -> Mix:
    """An owner's verdict on a suspect mix: `good`, `wait` until `recheck_at`, or `redo`.

    `wait` leaves the suspicion open and its holds shut; `redo` marks all cures of the mix as failed. Raises
    `NotAllowed`, `BadInput`, or `Overtaken` where no suspicion is open.
    """
    if not bench.actor.may(Right.RELEASE):
        raise NotAllowed("Only an owner gives a verdict on a mix.")
    mix = mix_record(session, mix_id)
    _check_verdict(bench, verdict, reason, recheck_at)
    assert mix.root_id is not None
    suspicion = open_suspicion(session, mix.root_id)
    if suspicion is None:
        raise Overtaken("No suspicion about this mix awaits a verdict.")
    if verdict == "wait" and recheck_at is not None:
        suspicion.recheck_at = recheck_at
        note = f"The mix of {mix.adhesive_name} stays under suspicion; wait, then look again:"
        until = {"recheck_at": recheck_at.isoformat()}
        note = f"{note} {as_sentence(reason)}"
        _tell_builds(session, bench, mix, EventKind.VERDICT, bench.now, by, note, until)
        return mix
    suspicion.verdict, suspicion.verdict_reason = verdict, reason
    suspicion.verdict_at, suspicion.verdict_by = bench.now, bench.name(by)
    if verdict == "redo":
        _fail_cures(session, bench, mix, reason, by)
    else:
        note = f"The mix of {mix.adhesive_name} is judged good: {as_sentence(reason)}"
        _tell_builds(session, bench, mix, EventKind.VERDICT, bench.now, by, note)
    session.flush()
    return mix


def _check_verdict(bench: Bench, verdict: str, reason: str, recheck_at: datetime | None) -> None:
    errors = {}
    if verdict not in VERDICTS:
        errors["verdict"] = f"The verdict is one of {', '.join(VERDICTS)}."
    if not reason.strip():
        errors["reason"] = "The verdict needs a reason; it stays on the record."
    if verdict == "wait":
        if recheck_at is None:
            errors["recheck_at"] = "Say when to look again."
        elif not bench.now < recheck_at <= bench.now + LONGEST_WAIT:
            errors["recheck_at"] = f"Look again at a time to come, within {LONGEST_WAIT.days} days."
    elif recheck_at is not None:
        errors["recheck_at"] = "A time to look again goes with the verdict to wait alone."
    if errors:
        raise BadInput(errors)


def _fail_cures(session: Session, bench: Bench, mix: Mix, reason: str, by: str) -> None:
    """End every cure of a mix that counts as failed, and ask for the ticks that relied on them again."""
    assert mix.root_id is not None
    cures = [cure for cure in cure_records_of_mix(session, mix.root_id) if not cure.failed_reason]
    for build in carrying(session, mix.root_id):
        own = [cure for cure in cures if cure.build_id == build.id]
        again = rechecks_for(session, bench, build, {cure.id for cure in own}, bench.now)
        places = ", ".join(dict.fromkeys(cure.place for cure in own))
        failed = f"; what it closed has failed ({places})" if places else ""
        note = f"The mix of {mix.adhesive_name} is to be done again{failed}: {as_sentence(reason)}"
        details = {"mix_id": mix.root_id, "failed": [cure.id for cure in own], **recheck_details(again)}
        note += recheck_words(again)
        add_event(session, build, bench, EventKind.VERDICT, bench.now, by, note, details)
    for cure in cures:
        cure.failed_reason = f"Verdict on the mix: {reason}"[:MOST_FAILED_REASON]


def _tell_builds(
    session: Session,
    bench: Bench,
    mix: Mix,
    kind: EventKind,
    at: datetime,
    by: str,
    note: str,
    details: Mapping[str, Any] | None = None,
) -> None:
    """Put what happened to a mix on the record of every build that carries it."""
    assert mix.root_id is not None
    for build in carrying(session, mix.root_id):
        told = {"mix_id": mix.root_id, **(details or {})}
        add_event(session, build, bench, kind, at, by, note, told)
    session.flush()


def carrying(session: Session, root_id: int) -> list[Build]:
    """The records of the builds that carry a cure of a mix."""
    return [build_by_id(session, build_id) for build_id in builds_of_mix(session, root_id)]
