"""Whether a build may reach a stage, and if not, every reason why.

One pure function answers for page, API and service alike. It is given finished facts (a cure comes with
the instants at which it sets, from `shop.craft.cure`) and the instant to judge at; it reads no clock.
"""

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum

from shop.rules.facts import CureFact, Facts, Reached
from shop.rules.measuring import amiss, is_as_meant, is_comparable, meant_by, meant_words
from shop.rules.sequences import HOUSE_RULES, PREP_CHECK, Hold, HoldKind, RecordKind, Sequence, Stage

# How the hold begins that measuring cannot clear: nobody has said what the figure should be.
NOT_SAID = "The make-up does not say"


class ClearedBy(StrEnum):
    """What clears a hold."""

    TIME = "time"
    WORK = "work"
    PERSON = "person"
    OWNER = "owner"
    NEVER = "never"


@dataclass(frozen=True, slots=True)
class ShutHold:
    """A hold that is shut: the reason as a sentence, and the instant it clears if time alone clears it.

    `already` is set only where the stage has been logged before: when, and by whom.
    """

    kind: HoldKind
    reason: str
    clears_at: datetime | None
    cleared_by: ClearedBy
    already: Reached | None = None

    @property
    def waivable(self) -> bool:
        """Whether an owner may release it with a written reason."""
        return self.kind in HOUSE_RULES and self.cleared_by is not ClearedBy.NEVER

    @property
    def is_asked(self) -> bool:
        """Whether it is cleared by a tick or a figure that logging the stage asks for."""
        is_measurable = self.kind is HoldKind.MEASUREMENT and not self.reason.startswith(NOT_SAID)
        return self.kind is HoldKind.CHECK or is_measurable


@dataclass(frozen=True, slots=True)
class Decision:
    """The answer: every shut hold, none when the stage may be reached. `stage` is none at the end."""

    stage: Stage | None
    holds: tuple[ShutHold, ...]

    @property
    def allowed(self) -> bool:
        """Whether the stage may be reached."""
        return self.stage is not None and not self.holds

    @property
    def overtaken(self) -> Reached | None:
        """When and by whom the stage was logged already, if it was."""
        return next((hold.already for hold in self.holds if hold.already is not None), None)

    @property
    def ready_at(self) -> datetime | None:
        """The instant at which time alone will have cleared every hold; none if it will not, or is free."""
        alone = all(hold.clears_at is not None for hold in self.holds)
        return self.time_clears_at if alone else None

    @property
    def time_clears_at(self) -> datetime | None:
        """The instant at which time will have cleared the holds that it clears, whatever else is shut."""
        return max((hold.clears_at for hold in self.holds if hold.clears_at is not None), default=None)


def next_stage(sequence: Sequence, reached: Collection[str]) -> Stage | None:
    """The first stage of the sequence that this pass has not reached."""
    return next((stage for stage in sequence.stages if stage.name not in reached), None)


def decide(sequence: Sequence, facts: Facts, target: str, now: datetime) -> Decision:
    """Say whether `target` may be reached at `now`.

    Every shut hold is returned, in the order: already reached, the clock, suspicion, the stage's own, and
    figures it records. Raises `LookupError` if the sequence has no such stage.
    """
    stage = sequence.stage(target)
    if stage is None:
        raise LookupError(f"“{target}” is not a stage of the sequence “{sequence.name}”.")
    earlier = facts.reached.get(target)
    if earlier is not None:
        at = earlier.at.astimezone(UTC)
        reason = f"{earlier.by} has already logged “{target}” in this pass, at {at:%Y-%m-%d %H:%M} UTC."
        return Decision(stage, (ShutHold(HoldKind.ORDER, reason, None, ClearedBy.NEVER, earlier),))
    shut = [*_standing(facts)]
    for hold in stage.holds:
        if (target, hold.kind) in facts.releases and hold.kind in HOUSE_RULES:
            continue
        shut.extend(JUDGES[hold.kind](_Case(sequence, stage, facts, hold, now)))
    shut.extend(_recorded(sequence, stage, facts))
    return Decision(stage, tuple(dict.fromkeys(shut)))


@dataclass(frozen=True, slots=True)
class _Case:
    """One hold to be judged, with all that it may look at."""

    sequence: Sequence
    stage: Stage
    facts: Facts
    hold: Hold
    now: datetime


def _standing(facts: Facts) -> Iterator[ShutHold]:
    """The holds that stand on every stage without being listed."""
    if facts.clock_doubt:
        yield ShutHold(HoldKind.CLOCK, facts.clock_doubt, None, ClearedBy.OWNER)
    for suspect in facts.suspects:
        reason = f"The mix of {suspect.adhesive} used on this rod is under suspicion: {suspect.reason}"
        yield ShutHold(HoldKind.SUSPECT, reason, None, ClearedBy.OWNER)
    for again in facts.rechecks:
        reason = (
            f"“{again.name}” was ticked at “{again.stage}” before the joint at the {again.place} was done "
            "anew: check it again."
        )
        yield ShutHold(HoldKind.CHECK, reason, None, ClearedBy.PERSON)


def _order(case: _Case) -> Iterator[ShutHold]:
    missing = [name for name in case.hold.stages if name not in case.facts.reached]
    if missing:
        reason = f"These stages come first: {', '.join(missing)}."
        yield ShutHold(HoldKind.ORDER, reason, None, ClearedBy.WORK)


def last_cure(facts: Facts, place: str) -> CureFact | None:
    """The cure that counts at a place: the last one closed there that was not failed."""
    counting = [cure for cure in facts.cures if cure.place == place and not cure.failed]
    return max(counting, key=lambda cure: (cure.closed_at, cure.id), default=None)


def _cured(case: _Case, word: str, instant_of: Callable[[CureFact], datetime | None]) -> Iterator[ShutHold]:
    """The holds `set` and `full_cure`: one answer per place, so that each place says its own time."""
    for place in case.hold.places:
        cure = last_cure(case.facts, place)
        if cure is None:
            reason = f"No joint is on record at the {place} in this pass, so none there can have {word}."
            yield ShutHold(case.hold.kind, reason, None, ClearedBy.WORK)
            continue
        instant = instant_of(cure)
        unrecorded = _not_on_record(case, place, cure)
        if unrecorded is not None:
            yield ShutHold(case.hold.kind, _unrecorded(unrecorded, place), None, ClearedBy.WORK)
        elif _is_too_late(cure):
            yield _too_late(cure)
        elif cure.tacky:
            reason = f"The puddle of the {cure.adhesive} at the {place} is tacky: it must be found firm."
            yield ShutHold(case.hold.kind, reason, None, ClearedBy.PERSON)
        elif instant is None:
            reason = f"Stalled: too cold for the {cure.adhesive} at the {place}; it will not have {word}."
            yield ShutHold(case.hold.kind, reason, None, ClearedBy.WORK)
        elif case.now < instant:
            reason = f"The {cure.adhesive} at the {place} has not {word}."
            yield ShutHold(case.hold.kind, reason, instant, ClearedBy.TIME)


def _set(case: _Case) -> Iterator[ShutHold]:
    yield from _cured(case, "set", lambda cure: cure.set_at)


def _full_cure(case: _Case) -> Iterator[ShutHold]:
    yield from _cured(case, "fully cured", lambda cure: cure.full_at)


def _joints(case: _Case, place: str) -> list[list[CureFact]]:
    """The joints or coats at a place that count, oldest first, each with the cures it is made of.

    A cure closed before the one under it had set went into the same coat: a second cup, as a rule.
    """
    counting = (cure for cure in case.facts.cures if cure.place == place and not cure.failed)
    joints: list[list[CureFact]] = []
    for cure in sorted(counting, key=lambda cure: (cure.closed_at, cure.id)):
        under = joints[-1][-1] if joints else None
        if under is not None and (under.set_at is None or cure.closed_at < under.set_at):
            joints[-1].append(cure)
        else:
            joints.append([cure])
    return joints


def _makers(case: _Case, place: str) -> list[Stage]:
    """The stages reached that close a joint or lay a coat at a place, in the sequence's order."""
    reached = case.facts.reached
    return [s for s in case.sequence.stages if s.name in reached and place in s.cure_places()]


def _not_on_record(case: _Case, place: str, last: CureFact) -> Stage | None:
    """The last stage reached that makes a joint at a place, where that joint is not on record.

    The earlier coat must not stand for it. Stages that a sending back left standing have their joints in
    an earlier pass, so fewer joints than stages alone prove nothing.
    """
    makers = _makers(case, place)
    if len(makers) < 2 or len(_joints(case, place)) >= len(makers):
        return None
    return makers[-1] if last.closed_at <= case.facts.reached[makers[-2].name].at else None


def _unrecorded(stage: Stage, place: str) -> str:
    return f"“{stage.name}” is logged, but what it closed at the {place} is not on record."


def _coats(case: _Case, place: str) -> tuple[CureFact | None, CureFact | None]:
    """The coat that a new one goes on, and the new one where its cure is on record before its stage is."""
    joints = _joints(case, place)
    laid = len(_makers(case, place)) if place in case.stage.cure_places() else 0
    if 0 < laid < len(joints):
        return joints[laid - 1][-1], joints[laid][0]
    return (joints[-1][-1] if joints else None), None


def _recoat(case: _Case) -> Iterator[ShutHold]:
    place = case.hold.place
    coat, new = _coats(case, place)
    laid_at = case.now if new is None else new.closed_at
    if coat is None:
        reason = f"No coat is on record at the {place} in this pass, so there is nothing to lay the next on."
        yield ShutHold(HoldKind.RECOAT, reason, None, ClearedBy.WORK)
    elif new is None and (unrecorded := _not_on_record(case, place, coat)) is not None:
        yield ShutHold(HoldKind.RECOAT, _unrecorded(unrecorded, place), None, ClearedBy.WORK)
    elif _is_too_late(coat):
        yield _too_late(coat)
    elif not coat.has_recoat_window:
        if not _is_prepared(case):
            reason = f"The sheet of the {coat.adhesive} gives no recoat window: prepare it, then tick “prep”."
            yield ShutHold(HoldKind.RECOAT, reason, None, ClearedBy.PERSON)
    elif coat.recoat_from is None:
        reason = f"Stalled: too cold for the {coat.adhesive} at the {place}; its recoat window will not open."
        yield ShutHold(HoldKind.RECOAT, reason, None, ClearedBy.WORK)
    elif new is not None and laid_at < coat.recoat_from:
        reason = (
            f"The coat at the {place} was laid before the recoat window of the one under it opened: "
            "strip it and end it as failed, or put its time right."
        )
        yield ShutHold(HoldKind.RECOAT, reason, None, ClearedBy.WORK)
    elif laid_at < coat.recoat_from:
        reason = f"The recoat window of the {coat.adhesive} at the {place} has not opened."
        yield ShutHold(HoldKind.RECOAT, reason, coat.recoat_from, ClearedBy.TIME)
    elif coat.recoat_until is not None and laid_at > coat.recoat_until and not _is_prepared(case):
        reason = (
            f"The recoat window of the {coat.adhesive} at the {place} has shut: wash, scuff and wipe it, "
            f"then tick “{PREP_CHECK}”."
        )
        yield ShutHold(HoldKind.RECOAT, reason, None, ClearedBy.PERSON)


def _is_prepared(case: _Case) -> bool:
    """Whether the preparing is ticked for this very stage: what was scuffed for an earlier coat is coated."""
    return any(tick.name == PREP_CHECK and tick.stage in ("", case.stage.name) for tick in case.facts.ticks)


def _pot_life(case: _Case) -> Iterator[ShutHold]:
    for place in case.hold.places:
        cure = last_cure(case.facts, place)
        if cure is not None and _is_too_late(cure):
            yield _too_late(cure)


def _is_too_late(cure: CureFact) -> bool:
    """Whether its mix was past its pot life, as a corrected fact or a late reading may show afterwards."""
    return cure.closed_at > cure.pot_life_ends_at


def _too_late(cure: CureFact) -> ShutHold:
    reason = f"The {cure.place} was closed after the pot life of its {cure.adhesive} had ended: mix again."
    return ShutHold(HoldKind.POT_LIFE, reason, None, ClearedBy.NEVER)


def _check(case: _Case) -> Iterator[ShutHold]:
    check = case.hold.check
    ticked_by = {tick.by for tick in case.facts.ticks if tick.name == check}
    if not ticked_by:
        who = "a second person" if case.hold.second_person else "somebody"
        reason = f"The check “{check}” has not been ticked; {who} must tick it."
        yield ShutHold(HoldKind.CHECK, reason, None, ClearedBy.PERSON)
    elif case.hold.second_person and ticked_by == {case.facts.who}:
        reason = f"The check “{check}” must be ticked by a second person, not by {case.facts.who} alone."
        yield ShutHold(HoldKind.CHECK, reason, None, ClearedBy.PERSON)


def _measurement(case: _Case) -> Iterator[ShutHold]:
    name = case.hold.name
    meant, measured = meant_by(case.hold, case.facts), case.facts.measured.get(name)
    if meant is None:
        reason = f"{NOT_SAID} what “{name}” should be."
        yield ShutHold(HoldKind.MEASUREMENT, reason, None, ClearedBy.WORK)
    elif measured is None:
        reason = f"“{name}” has not been measured; it should be {meant_words(meant)}."
        yield ShutHold(HoldKind.MEASUREMENT, reason, None, ClearedBy.WORK)
    elif not is_as_meant(measured, meant):
        by = ClearedBy.OWNER if is_comparable(measured, meant) else ClearedBy.WORK
        yield ShutHold(HoldKind.MEASUREMENT, amiss(name, measured, meant), None, by)


def _recorded(sequence: Sequence, stage: Stage, facts: Facts) -> Iterator[ShutHold]:
    """Figures that this stage or one before it records and that are not as the make-up means them.

    A record only asks, so one that was not measured holds nothing; where a hold of the stage judges the
    figure, that has judged it. One of an earlier stage is out where it was put right afterwards.
    """
    if not facts.meant:
        return
    judged = {hold.name for hold in stage.holds if hold.kind is HoldKind.MEASUREMENT}
    for recording in (*(s for s in sequence.stages if s.name in facts.reached), stage):
        if {(s.name, HoldKind.MEASUREMENT) for s in (recording, stage)} & facts.releases:
            continue
        for record in recording.records:
            meant, measured = facts.meant.get(record.name), facts.measured.get(record.name)
            if record.kind is not RecordKind.MEASUREMENT or record.name in judged:
                continue
            if meant is not None and measured is not None and not is_as_meant(measured, meant):
                reason = amiss(record.name, measured, meant)
                by = ClearedBy.OWNER if is_comparable(measured, meant) else ClearedBy.WORK
                yield ShutHold(HoldKind.MEASUREMENT, reason, None, by)


def _warm(case: _Case) -> Iterator[ShutHold]:
    """Judged by the mixes of this stage's own joints; before there is one, by the zone as it is now."""
    cures = _own_cures(case)
    for cure in cures:
        if cure.mixing_c < cure.coldest_c:
            reason = (
                f"The {cure.zone} was at {cure.mixing_c:.1f} °C when the {cure.adhesive} was mixed; "
                f"it needs {cure.coldest_c:g} °C."
            )
            yield ShutHold(HoldKind.WARM, reason, None, ClearedBy.OWNER)
    zone = case.facts.mixing_zone
    if not cures and zone is not None and zone.celsius < zone.coldest_c:
        reason = f"The {zone.name} is at {zone.celsius:.1f} °C; mixing needs {zone.coldest_c:g} °C."
        yield ShutHold(HoldKind.WARM, reason, None, ClearedBy.WORK)


def _own_cures(case: _Case) -> list[CureFact]:
    """The cures on record for this very stage, closed before it is logged."""
    return [
        joint[-1]
        for place in case.stage.cure_places()
        for joint in _joints(case, place)[len(_makers(case, place)) :]
    ]


def _lot(case: _Case) -> Iterator[ShutHold]:
    """Judged by the mixes of this stage's own joints; before there is one, the cup itself asks."""
    for fault in dict.fromkeys(cure.lot_fault for cure in _own_cures(case) if cure.lot_fault):
        yield ShutHold(HoldKind.LOT, fault, None, ClearedBy.OWNER)


def _turner(case: _Case) -> Iterator[ShutHold]:
    turner = case.facts.turner
    if case.facts.is_on_turner or (turner is not None and turner.free > 0):
        return
    reason = "No turner is on file." if turner is None else "Every place of the turners is taken."
    yield ShutHold(HoldKind.TURNER, reason, None, ClearedBy.WORK)


def _stands_alone(_case: _Case) -> Iterator[ShutHold]:
    """`suspect` and `clock` stand on every stage; listing them adds nothing."""
    yield from ()


JUDGES: dict[HoldKind, Callable[[_Case], Iterator[ShutHold]]] = {
    HoldKind.ORDER: _order,
    HoldKind.SET: _set,
    HoldKind.FULL_CURE: _full_cure,
    HoldKind.RECOAT: _recoat,
    HoldKind.POT_LIFE: _pot_life,
    HoldKind.SUSPECT: _stands_alone,
    HoldKind.CHECK: _check,
    HoldKind.MEASUREMENT: _measurement,
    HoldKind.LOT: _lot,
    HoldKind.TURNER: _turner,
    HoldKind.WARM: _warm,
    HoldKind.CLOCK: _stands_alone,
}
