"""The holds that go by cures: set, full cure, recoat window, pot life, and the warmth and lots of a mix.

A cure comes with its instants already worked out; here they are compared with the instant that is judged.
"""

from collections.abc import Callable, Iterable, Iterator
from datetime import datetime

from shop.rules.facts import CureFact, Facts
from shop.rules.holds import Case, ClearedBy, ShutHold, in_utc
from shop.rules.sequences import PREP_CHECK, Hold, HoldKind, Sequence, Stage


def last_cure(facts: Facts, place: str) -> CureFact | None:
    """The cure that counts at a place: the last one closed there that was not failed."""
    counting = [cure for cure in facts.cures if cure.place == place and not cure.failed]
    return max(counting, key=lambda cure: (cure.closed_at, cure.id), default=None)


def _cured(case: Case, word: str, instant_of: Callable[[CureFact], datetime | None]) -> Iterator[ShutHold]:
    """The holds `set` and `full_cure`: one answer per place, so that each place says its own time."""
    for place in case.hold.places:
        cure = last_cure(case.facts, place)
        if cure is None:
            reason = f"No joint is on record at the {place} in this pass, so none there can have {word}."
            if place in case.facts.redone:
                reason = f"The joint at the {place} has failed; it must be done anew."
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
            yield ShutHold(case.hold.kind, reason, None, ClearedBy.WORK, is_stalled=True)
        elif (early := _closed_before(case, cure, instant)) is not None:
            yield _closed_too_soon(case, early, f"the {place} had {word}")
        elif case.now < instant:
            reason = f"The {cure.adhesive} at the {place} has not {word}."
            yield ShutHold(case.hold.kind, reason, instant, ClearedBy.TIME)


def _closed_before(case: Case, under: CureFact, instant: datetime) -> CureFact | None:
    """The first joint of this very stage that was closed before the one under it was ready for it, if any.

    One that was closed before the joint under it was done anew stood on the joint that has failed, so it is
    no fault of the new one.
    """
    redone_at = under.closed_at if under.place in case.facts.redone else None
    early = [
        joint[0]
        for joint in _own_joints(case)
        if joint[0].place != under.place
        and joint[0].closed_at < instant
        and (redone_at is None or joint[0].closed_at >= redone_at)
    ]
    return min(early, key=lambda cure: (cure.closed_at, cure.id), default=None)


def _closed_too_soon(case: Case, early: CureFact, ready: str) -> ShutHold:
    reason = (
        f"The {early.place} was closed at {in_utc(early.closed_at)}, before {ready}: check that nothing "
        "moved, or strip it and end it as failed."
    )
    return ShutHold(case.hold.kind, reason, None, ClearedBy.WORK, closed_at=early.closed_at)


def judge_set(case: Case) -> Iterator[ShutHold]:
    yield from _cured(case, "set", lambda cure: cure.set_at)


def judge_full_cure(case: Case) -> Iterator[ShutHold]:
    yield from _cured(case, "fully cured", lambda cure: cure.full_at)


def judge_redone(sequence: Sequence, stage: Stage, facts: Facts, now: datetime) -> Iterator[ShutHold]:
    """What stages that are reached asked of a joint that failed afterwards: it is asked of the new one too.

    They stay reached, but a rod must not go on, into the chuck above all, on a joint that is soft again.
    """
    for place in sorted(facts.redone):
        asked = {
            hold.kind
            for before in sequence.stages
            if before.name in facts.reached
            for hold in before.holds
            if place in hold.places
        }
        if HoldKind.FULL_CURE in asked:
            hold = Hold(HoldKind.FULL_CURE, places=(place,))
            yield from judge_full_cure(Case(sequence, stage, facts, hold, now))
        elif HoldKind.SET in asked:
            yield from judge_set(Case(sequence, stage, facts, Hold(HoldKind.SET, places=(place,)), now))


def joints_at(cures: Iterable[CureFact], place: str) -> list[list[CureFact]]:
    """The joints or coats at a place that count, oldest first, each with the cures it is made of.

    A cure closed before the one under it had set went into the same coat: a second cup, as a rule.
    """
    counting = (cure for cure in cures if cure.place == place and not cure.failed)
    joints: list[list[CureFact]] = []
    for cure in sorted(counting, key=lambda cure: (cure.closed_at, cure.id)):
        under = joints[-1][-1] if joints else None
        if under is not None and (under.set_at is None or cure.closed_at < under.set_at):
            joints[-1].append(cure)
        else:
            joints.append([cure])
    return joints


def makers_of(sequence: Sequence, facts: Facts, place: str) -> list[Stage]:
    """The stages reached that close a joint or lay a coat at a place, in the sequence's order."""
    return [s for s in sequence.stages if s.name in facts.reached and place in s.cure_places()]


def _not_on_record(case: Case, place: str, last: CureFact) -> Stage | None:
    """The last stage reached that makes a joint at a place, where that joint is not on record.

    The earlier coat must not stand for it. Stages that a sending back left standing have their joints in
    an earlier pass, so fewer joints than stages alone prove nothing.
    """
    makers = makers_of(case.sequence, case.facts, place)
    if len(makers) < 2 or len(joints_at(case.facts.cures, place)) >= len(makers):
        return None
    return makers[-1] if last.closed_at <= case.facts.reached[makers[-2].name].at else None


def _unrecorded(stage: Stage, place: str) -> str:
    return f"“{stage.name}” is logged, but what it closed at the {place} is not on record."


def _coats(case: Case, place: str) -> tuple[CureFact | None, CureFact | None]:
    """The coat that a new one goes on, and the new one where its cure is on record before its stage is."""
    joints = joints_at(case.facts.cures, place)
    laid = len(makers_of(case.sequence, case.facts, place)) if place in case.stage.cure_places() else 0
    if 0 < laid < len(joints):
        return joints[laid - 1][-1], joints[laid][0]
    return (joints[-1][-1] if joints else None), None


def waiting_coat(case: Case) -> CureFact | None:
    """The coat that the next one is still to go on by a `recoat` hold; none once that is laid."""
    coat, new = _coats(case, case.hold.place)
    return coat if new is None else None


def judge_recoat(case: Case) -> Iterator[ShutHold]:
    place = case.hold.place
    coat, new = _coats(case, place)
    laid_at = case.now if new is None else new.closed_at
    if coat is None:
        reason = f"No coat is on record at the {place} in this pass, so there is nothing to lay the next on."
        if place in case.facts.redone:
            reason = f"The coat at the {place} has failed; it must be laid anew."
        yield ShutHold(HoldKind.RECOAT, reason, None, ClearedBy.WORK)
    elif new is None and (unrecorded := _not_on_record(case, place, coat)) is not None:
        yield ShutHold(HoldKind.RECOAT, _unrecorded(unrecorded, place), None, ClearedBy.WORK)
    elif _is_too_late(coat):
        yield _too_late(coat)
    elif not coat.has_recoat_window:
        if not _is_prepared(case):
            yield _unprepared(f"The sheet of the {coat.adhesive} gives no recoat window: prepare it")
    elif coat.recoat_from is None:
        reason = f"Stalled: too cold for the {coat.adhesive} at the {place}; its recoat window will not open."
        yield ShutHold(HoldKind.RECOAT, reason, None, ClearedBy.WORK, is_stalled=True)
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
        yield _unprepared(
            f"The recoat window of the {coat.adhesive} at the {place} has shut: wash, scuff and wipe it"
        )


def _unprepared(why: str) -> ShutHold:
    reason = f"{why}, then tick “{PREP_CHECK}”."
    return ShutHold(HoldKind.RECOAT, reason, None, ClearedBy.PERSON, check=PREP_CHECK)


def _is_prepared(case: Case) -> bool:
    """Whether the preparing is ticked for this very stage: what was scuffed for an earlier coat is coated."""
    return any(tick.name == PREP_CHECK and tick.stage in ("", case.stage.name) for tick in case.facts.ticks)


def judge_pot_life(case: Case) -> Iterator[ShutHold]:
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


def judge_warm(case: Case) -> Iterator[ShutHold]:
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


def _own_cures(case: Case) -> list[CureFact]:
    """The cures on record for this very stage, closed before it is logged."""
    return [joint[-1] for joint in _own_joints(case)]


def _own_joints(case: Case) -> Iterator[list[CureFact]]:
    """The same with every cup that went into each joint."""
    for place in case.stage.cure_places():
        yield from joints_at(case.facts.cures, place)[len(makers_of(case.sequence, case.facts, place)) :]


def judge_lot(case: Case) -> Iterator[ShutHold]:
    """Judged by the mixes of this stage's own joints; before there is one, the cup itself asks."""
    for fault in dict.fromkeys(cure.lot_fault for cure in _own_cures(case) if cure.lot_fault):
        yield ShutHold(HoldKind.LOT, fault, None, ClearedBy.OWNER)
