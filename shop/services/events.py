"""The record of a build: stages logged, checks ticked, figures measured, rules released, builds sent back.

Whether a stage may be reached is decided by `shop.rules.decide`; here the facts are gathered, the answer
obeyed, and the event written. Events are only ever added.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from shop.craft.quantities import Quantity
from shop.db.builds import Build
from shop.db.events import Event
from shop.queries.builds import build_record
from shop.queries.events import is_fresh_pass, pass_began
from shop.queries.facts import facts_of_build
from shop.queries.kept_sequences import KeptSequence
from shop.rules.decide import decide, next_stage
from shop.rules.facts import Facts, Tick
from shop.rules.people import Actor, Right
from shop.rules.rechecks import still_asked
from shop.rules.record import EventKind, quantity_map, recheck_map
from shop.rules.refusals import BadInput, Held, NotAllowed, Overtaken
from shop.rules.sequences import HOUSE_RULES, HoldKind
from shop.services.bench import Bench, Signer
from shop.services.mails import take_back_mails, tell_of_stage
from shop.services.part_uses import parts_that_stay, put_back_left, use_parts
from shop.services.warranties import give_warranty


@dataclass(frozen=True)
class Release:
    """A house rule that an owner releases, with the reason that stays on the build."""

    kind: HoldKind
    reason: str


@dataclass(frozen=True)
class Logged:
    """What is said of a stage when it is logged. `at` and `by` default to now and to the actor."""

    to: str
    at: datetime | None = None
    by: str = ""
    note: str = ""
    ticks: tuple[Tick, ...] = ()
    measured: Mapping[str, Quantity] = field(default_factory=dict)
    releases: tuple[Release, ...] = ()

    def details(self) -> dict[str, Any]:
        """What an event keeps of it."""
        said: dict[str, Any] = {
            "checks": [[tick.name, tick.by] for tick in self.ticks],
            "measurements": {name: quantity_map(value) for name, value in self.measured.items()},
            "releases": [{"kind": item.kind.value, "reason": item.reason} for item in self.releases],
        }
        return {name: value for name, value in said.items() if value}


def advance(session: Session, number: str, bench: Bench, logged: Logged) -> Build:
    """Log that a build has reached a stage.

    Raises `Held` with every hold when it may not, `BadInput` for a time that cannot be or an unknown
    stage, `NotAllowed` for a release by somebody who is not an owner, `Overtaken` for an order that was
    closed. Whoever asked for it has ordered it with its first stage.
    """
    build = build_record(session, number)
    _check_open(build)
    kept = bench.sequences.of_build(session, build.sequence_id)
    _known_stage(kept, logged.to)
    _check_releases(bench.actor, logged.releases)
    logged = _signed(logged, bench)
    facts = facts_of_build(session, build.id, build.pass_number, bench.warmth, bench.around)
    facts = _with_said(facts, logged, bench)
    decision = decide(kept.value, facts, logged.to, logged.at or bench.now)
    if decision.overtaken is not None:
        raise Held(decision)
    at = bench.past("at", logged.at, _last_move(session, build, facts), "this build's last event")
    if not decision.allowed:
        raise Held(decision)
    details = logged.details()
    event = add_event(
        session, build, bench, EventKind.STAGE, at, logged.by, logged.note, details, kept, logged.to
    )
    build.stage_id = kept.stage_ids[logged.to]
    build.is_enquiry = False
    reached = {*facts.reached, logged.to}
    if next_stage(kept.value, reached) is None:
        build.closed_at = at
        give_warranty(session, build, at)
    _spend_parts(session, build, bench, kept, logged, at)
    session.flush()
    tell_of_stage(session, event, kept.value, logged.to, reached)
    return build


def _check_open(build: Build) -> None:
    if build.closed_as:
        raise Overtaken(f"The order was {build.closed_as}; reopen it first, if work on it goes on.")


def _spend_parts(
    session: Session, build: Build, bench: Bench, kept: KeptSequence, logged: Logged, at: datetime
) -> None:
    """Use up what the stage uses; with the last one, what is still set aside goes back on the shelf."""
    stage = kept.value.stage(logged.to)
    said = [use_parts(session, build, bench, () if stage is None else stage.uses, at)]
    if build.closed_at is not None:
        said.append(put_back_left(session, build, bench, at))
    if words := " ".join(filter(None, said)):
        add_event(session, build, bench, EventKind.PARTS, at, logged.by, words)


def _last_move(session: Session, build: Build, facts: Facts) -> datetime | None:
    """When the build last reached a stage, as corrected, or was sent back; none before the first."""
    moves = [reached.at for reached in facts.reached.values()]
    began = pass_began(session, build.id, build.pass_number)
    return max([*moves, *([] if began is None else [began])], default=None)


def add_event(
    session: Session,
    build: Build,
    bench: Signer,
    kind: EventKind,
    at: datetime,
    by: str = "",
    note: str = "",
    details: Mapping[str, Any] | None = None,
    kept: KeptSequence | None = None,
    stage: str | None = None,
    corrects_id: int | None = None,
) -> Event:
    """Append one event to a build's record."""
    event = Event(
        build_id=build.id, pass_number=build.pass_number, kind=kind,
        stage_id=kept.stage_ids[stage] if kept is not None and stage is not None else None,
        happened_at=at, entered_at=bench.now, by=bench.name(by), user_id=bench.actor.user_id, note=note,
        corrects_id=corrects_id, details=dict(details or {}),
    )  # fmt: skip
    session.add(event)
    return event


def _known_stage(kept: KeptSequence, name: str) -> None:
    if kept.value.stage(name) is None:
        raise BadInput({"to": f"“{name}” is not a stage of the sequence “{kept.value.name}”."})


def _check_releases(actor: Actor, releases: tuple[Release, ...]) -> None:
    if releases and not actor.may(Right.RELEASE):
        raise NotAllowed("Only an owner may release a house rule.")
    for release in releases:
        if release.kind not in HOUSE_RULES:
            raise BadInput({"release": f"A {release.kind} hold is never released: it is not a house rule."})
        if not release.reason.strip():
            raise BadInput({"release": f"Releasing the {release.kind} hold needs a written reason."})


def _signed(logged: Logged, bench: Bench) -> Logged:
    """The same, with the person who logs named on every tick that names nobody."""
    who = bench.name(logged.by)
    return replace(logged, ticks=tuple(Tick(tick.name, tick.by or who) for tick in logged.ticks))


def _with_said(facts: Facts, logged: Logged, bench: Bench) -> Facts:
    """The facts with what is being said now: ticks, figures and releases count at once."""
    released = {(logged.to, release.kind) for release in logged.releases}
    names = [tick.name for tick in logged.ticks]
    return replace(
        facts,
        who=bench.name(logged.by),
        ticks=facts.ticks + logged.ticks,
        rechecks=still_asked(facts.rechecks, names, logged.at or bench.now),
        measured={**facts.measured, **logged.measured},
        releases=facts.releases | released,
    )


def note_down(session: Session, number: str, bench: Bench, logged: Logged) -> Build:
    """Tick checks, measure figures or release house rules ahead of the stage `logged.to`.

    A check that a second person must tick is ticked this way, before somebody else logs the stage.
    Raises `BadInput`, `NotAllowed`, or `Overtaken` where the stage has been reached.
    """
    build = build_record(session, number)
    _check_open(build)
    kept = bench.sequences.of_build(session, build.sequence_id)
    _known_stage(kept, logged.to)
    _check_releases(bench.actor, logged.releases)
    logged = _signed(logged, bench)
    facts = facts_of_build(session, build.id, build.pass_number, bench.warmth, bench.around)
    if logged.to in facts.reached:
        raise Overtaken(f"“{logged.to}” has been logged already; nothing can be added to it ahead.")
    at = bench.past("at", logged.at, None, "")
    for kind, name in _ahead(logged):
        details = {name: logged.details()[name]}
        add_event(session, build, bench, kind, at, logged.by, logged.note, details, kept, logged.to)
    session.flush()
    return build


def _ahead(logged: Logged) -> list[tuple[EventKind, str]]:
    said = logged.details()
    kinds = (
        (EventKind.CHECK, "checks"), (EventKind.MEASUREMENT, "measurements"), (EventKind.RELEASE, "releases"),
    )  # fmt: skip
    return [(kind, name) for kind, name in kinds if name in said]


def send_back(session: Session, number: str, bench: Bench, *, to: str, reason: str, by: str = "") -> Build:
    """Send a build back to a stage it has reached, which begins a new pass.

    The stages up to `to` stay reached; everything after it is to be done again, and only cures closed in
    the new pass count for it. Raises `BadInput`, or `Overtaken` where `to` has not been reached.
    """
    build = build_record(session, number)
    _check_open(build)
    kept = bench.sequences.of_build(session, build.sequence_id)
    _known_stage(kept, to)
    if not reason.strip():
        raise BadInput({"reason": "Sending a build back needs a reason; it stays on the record."})
    facts = facts_of_build(session, build.id, build.pass_number, bench.warmth, bench.around)
    if to not in facts.reached:
        raise Overtaken(f"The build has not reached “{to}” in this pass, so it cannot be sent back to it.")
    if is_fresh_pass(session, build.id, build.pass_number) and build.stage_id == kept.stage_ids[to]:
        raise Overtaken(f"The build was sent back to “{to}” already, and nothing has happened since.")
    names = [stage.name for stage in kept.value.stages]
    standing = names[: names.index(to) + 1]
    still = {name: facts.reached[name] for name in standing if name in facts.reached}
    details: dict[str, Any] = {
        "kept": {name: {"at": r.at.isoformat(), "by": r.by} for name, r in still.items()}
    }
    if build.closed_at is not None:
        # It was sold that day, whenever it is handed over again; the day its tax was due does not move.
        details["handed_over"] = build.closed_at.isoformat()
    # What is to be checked again at a stage that stands is not forgotten with the pass.
    carried = [recheck_map(again) for again in facts.rechecks if again.stage in still]
    if carried:
        details["rechecks"] = carried
    build.pass_number += 1
    build.stage_id = kept.stage_ids[to]
    build.closed_at = None
    add_event(session, build, bench, EventKind.SEND_BACK, bench.now, by, reason, details, kept, to)
    tell_of_parts(session, build, bench, kept, facts.reached.keys() - still.keys())
    session.flush()
    take_back_mails(session, build, {kept.stage_ids[name] for name in still}, now=bench.now)
    return build


def tell_of_parts(
    session: Session, build: Build, bench: Bench, kept: KeptSequence, undone: Collection[str]
) -> None:
    """Write down which used parts stay counted as used when stages no longer stand; nothing comes back."""
    groups = {group for stage in kept.value.stages if stage.name in undone for group in stage.uses}
    if words := parts_that_stay(session, build, groups):
        add_event(session, build, bench, EventKind.PARTS, bench.now, "", words)
