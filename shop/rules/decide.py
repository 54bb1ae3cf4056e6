"""Whether a build may reach a stage, and if not, every reason why.

One pure function answers for page, API and service alike. It is given finished facts (a cure comes with
the instants at which it sets, from `shop.craft.cure`) and the instant to judge at; it reads no clock.
"""

from collections.abc import Callable, Collection, Iterator
from datetime import datetime

from shop.craft.quantities import Quantity
from shop.rules.build_parts import LOOK_ALIKE_CHECK
from shop.rules.facts import Facts, Meant, Recheck, Suspect
from shop.rules.holds import Case, ClearedBy, Decision, ShutHold, as_sentence, in_utc
from shop.rules.judging_cures import (
    judge_closed_since,
    judge_full_cure,
    judge_lot,
    judge_pot_life,
    judge_recoat,
    judge_redone,
    judge_set,
    judge_warm,
)
from shop.rules.judging_desk import (
    are_held_against_the_rod,
    judge_approval,
    judge_balance,
    judge_deposit,
    judge_parts,
    judge_slide_on,
)
from shop.rules.measuring import amiss, is_as_meant, is_comparable, meant_by, meant_words
from shop.rules.sequences import HOUSE_RULES, HoldKind, RecordKind, Sequence, Stage

# What an answer is made of is imported together with the function that gives it.
__all__ = ["ClearedBy", "Decision", "ShutHold", "decide", "next_stage"]


def next_stage(sequence: Sequence, reached: Collection[str]) -> Stage | None:
    """The first stage of the sequence that this pass has not reached."""
    return next((stage for stage in sequence.stages if stage.name not in reached), None)


def decide(sequence: Sequence, facts: Facts, target: str, now: datetime) -> Decision:
    """Say whether `target` may be reached at `now`.

    Every shut hold is returned, in the order: already reached, the clock, suspicion, what was done anew or
    closed since, the stage's own, and figures it records. Raises `LookupError` if the sequence has no such
    stage.
    """
    stage = sequence.stage(target)
    if stage is None:
        raise LookupError(f"“{target}” is not a stage of the sequence “{sequence.name}”.")
    earlier = facts.reached.get(target)
    if earlier is not None:
        reason = f"{earlier.by} has already logged “{target}” in this pass, at {in_utc(earlier.at)}."
        return Decision(stage, (ShutHold(HoldKind.ORDER, reason, None, ClearedBy.NEVER, earlier),))
    shut = [*_standing(facts)]
    if (target, HoldKind.CHECK) not in facts.releases:
        shut.extend(_rechecks(facts))
        shut.extend(_inspections(facts))
    shut.extend(judge_redone(sequence, stage, facts, now))
    shut.extend(judge_closed_since(sequence, stage, facts, now))
    for hold in stage.holds:
        if (target, hold.kind) in facts.releases and hold.kind in HOUSE_RULES:
            continue
        shut.extend(JUDGES[hold.kind](Case(sequence, stage, facts, hold, now)))
    shut.extend(_recorded(sequence, stage, facts))
    return Decision(stage, tuple(dict.fromkeys(shut)))


def _standing(facts: Facts) -> Iterator[ShutHold]:
    """The holds that stand on every stage without being listed."""
    if facts.clock_doubt:
        yield ShutHold(HoldKind.CLOCK, facts.clock_doubt, None, ClearedBy.OWNER)
    for suspect in facts.suspects:
        yield ShutHold(
            HoldKind.SUSPECT, _doubt(suspect), None, ClearedBy.OWNER, look_again_at=suspect.recheck_at
        )


def _doubt(suspect: Suspect) -> str:
    reason = f"The mix of {suspect.adhesive} used on this rod is under suspicion: {suspect.reason}"
    if suspect.recheck_at is None:
        return reason
    wait = f"The verdict so far is to wait; look again at {in_utc(suspect.recheck_at)}."
    return f"{as_sentence(reason)} {wait}"


def _rechecks(facts: Facts) -> Iterator[ShutHold]:
    """Ticks that relied on a joint which has failed since; one more tick answers for all of a name."""
    by_name: dict[str, Recheck] = {}
    for again in facts.rechecks:
        by_name.setdefault(again.name, again)
    for again in by_name.values():
        reason = (
            f"“{again.name}” was ticked at “{again.stage}” on a joint at the {again.place} that has failed "
            "since: check it again on the new one."
        )
        yield ShutHold(HoldKind.CHECK, reason, None, ClearedBy.PERSON, recheck=again)


def _inspections(facts: Facts) -> Iterator[ShutHold]:
    """Coats that stood still while they were wet: none of them counts as sound before somebody has looked."""
    for stood_still in facts.inspections:
        reason = f"Inspect the coat after the turner's stop: {stood_still}"
        yield ShutHold(HoldKind.CHECK, reason, None, ClearedBy.PERSON)


def _order(case: Case) -> Iterator[ShutHold]:
    missing = [name for name in case.hold.stages if name not in case.facts.reached]
    if missing:
        reason = f"These stages come first: {', '.join(missing)}."
        yield ShutHold(HoldKind.ORDER, reason, None, ClearedBy.WORK)


def _check(case: Case) -> Iterator[ShutHold]:
    check = case.hold.check
    if check == LOOK_ALIKE_CHECK and are_held_against_the_rod(case.stage, case.facts):
        return
    ticked_by = {tick.by for tick in case.facts.ticks if tick.name == check}
    if not ticked_by:
        who = "a second person" if case.hold.second_person else "somebody"
        reason = f"The check “{check}” has not been ticked; {who} must tick it."
        yield ShutHold(HoldKind.CHECK, reason, None, ClearedBy.PERSON, check=check)
    elif case.hold.second_person and ticked_by == {case.facts.who}:
        reason = f"The check “{check}” must be ticked by a second person, not by {case.facts.who} alone."
        yield ShutHold(HoldKind.CHECK, reason, None, ClearedBy.PERSON, check=check)


def _measurement(case: Case) -> Iterator[ShutHold]:
    name = case.hold.name
    meant, measured = meant_by(case.hold, case.facts), case.facts.measured.get(name)
    if meant is None:
        reason = f"The make-up does not say what “{name}” should be."
        yield ShutHold(HoldKind.MEASUREMENT, reason, None, ClearedBy.WORK)
    elif measured is None:
        reason = f"“{name}” has not been measured; it should be {meant_words(meant)}."
        yield ShutHold(HoldKind.MEASUREMENT, reason, None, ClearedBy.WORK, figure=name)
    elif not is_as_meant(measured, meant):
        yield _amiss(name, measured, meant)


def _amiss(name: str, measured: Quantity, meant: Meant) -> ShutHold:
    """A figure that is not as meant: it may be measured anew, or released where it can be compared."""
    by = ClearedBy.OWNER if is_comparable(measured, meant) else ClearedBy.WORK
    return ShutHold(HoldKind.MEASUREMENT, amiss(name, measured, meant), None, by, figure=name)


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
                yield _amiss(record.name, measured, meant)


def _turner(case: Case) -> Iterator[ShutHold]:
    turner = case.facts.turner
    if case.facts.is_on_turner or (turner is not None and turner.free > 0):
        return
    if turner is None:
        reason = "No turner is on file."
    elif turner.free_at is None:
        reason = "Every place of the turners is taken, or stands still."
    elif turner.free_at <= case.now:
        reason = "Every place of the turners is taken; a rod that has turned long enough may come off."
    else:
        reason = f"Every place of the turners is taken; the next may be free from {in_utc(turner.free_at)}."
    yield ShutHold(HoldKind.TURNER, reason, None, ClearedBy.WORK)


def _stands_alone(_case: Case) -> Iterator[ShutHold]:
    """`suspect` and `clock` stand on every stage; listing them adds nothing."""
    yield from ()


JUDGES: dict[HoldKind, Callable[[Case], Iterator[ShutHold]]] = {
    HoldKind.ORDER: _order,
    HoldKind.SET: judge_set,
    HoldKind.FULL_CURE: judge_full_cure,
    HoldKind.RECOAT: judge_recoat,
    HoldKind.POT_LIFE: judge_pot_life,
    HoldKind.SUSPECT: _stands_alone,
    HoldKind.CHECK: _check,
    HoldKind.MEASUREMENT: _measurement,
    HoldKind.LOT: judge_lot,
    HoldKind.TURNER: _turner,
    HoldKind.WARM: judge_warm,
    HoldKind.CLOCK: _stands_alone,
    HoldKind.PARTS: judge_parts,
    HoldKind.SLIDE_ON: judge_slide_on,
    HoldKind.DEPOSIT: judge_deposit,
    HoldKind.BALANCE: judge_balance,
    HoldKind.APPROVAL: judge_approval,
}
