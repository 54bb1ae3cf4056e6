"""The holds that go by cures: set, full cure, recoat window, pot life, and the warmth and lots of a mix.

A cure comes with its instants already worked out; here they are compared with the instant that is judged.
"""

from collections.abc import Callable, Iterable, Iterator
from datetime import datetime

from shop.rules.facts import CureFact, Facts
from shop.rules.holds import Case, ClearedBy, ShutHold, in_utc
from shop.rules.joints import as_one, counting_at, joints_at
from shop.rules.sequences import PREP_CHECK, Hold, HoldKind, Sequence, Stage


def _cured(case: Case, word: str, instant_of: Callable[[CureFact], datetime | None]) -> Iterator[ShutHold]:
    """The holds `set` and `full_cure`: one answer per place, so that each place says its own time.

    Every cure there that was not failed is asked, whatever was closed on it since: what is soft or tacky
    underneath is not made hard by a later cup or coat.
    """
    for place in case.hold.places:
        counting = counting_at(case.facts.cures, place)
        if not counting:
            reason = f"No joint is on record at the {place} in this pass, so none there can have {word}."
            if place in case.facts.redone:
                reason = f"The joint at the {place} has failed; it must be done anew."
            yield ShutHold(case.hold.kind, reason, None, ClearedBy.WORK)
        elif (unrecorded := _not_on_record(case, place, counting[-1])) is not None:
            yield ShutHold(case.hold.kind, _unrecorded(unrecorded, place), None, ClearedBy.WORK)
        elif (late := _closed_too_late(joints_at(counting, place)[-1])) is not None:
            yield _too_late(late)
        elif (soft := _tacky(counting)) is not None:
            yield _held_tacky(case.hold.kind, soft)
        else:
            yield from _waits(case, place, counting, word, instant_of)


def _waits(
    case: Case,
    place: str,
    counting: list[CureFact],
    word: str,
    instant_of: Callable[[CureFact], datetime | None],
) -> Iterator[ShutHold]:
    """What time holds at a place: as long as the slowest of its cures, which is named."""
    stalled = next((cure for cure in counting if instant_of(cure) is None), None)
    slowest = max(counting, key=lambda cure: (instant_of(cure) or cure.closed_at, cure.closed_at, cure.id))
    instant = instant_of(slowest)
    if stalled is not None or instant is None:
        cold = stalled or slowest
        reason = f"Stalled: too cold for the {cold.adhesive} at the {place}; it will not have {word}."
        yield ShutHold(case.hold.kind, reason, None, ClearedBy.WORK, is_stalled=True)
    elif (early := _closed_before(case, joints_at(counting, place)[-1][0], instant)) is not None:
        yield _closed_too_soon(case, early, f"the {place} had {word}")
    elif case.now < instant:
        reason = f"The {slowest.adhesive} at the {place} has not {word}."
        yield ShutHold(case.hold.kind, reason, instant, ClearedBy.TIME)


def _tacky(cures: Iterable[CureFact]) -> CureFact | None:
    return next((cure for cure in cures if cure.tacky), None)


def _held_tacky(kind: HoldKind, cure: CureFact) -> ShutHold:
    reason = f"The puddle of the {cure.adhesive} at the {cure.place} is tacky: it must be found firm."
    return ShutHold(kind, reason, None, ClearedBy.PERSON)


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
        asked = _asked_of(sequence, facts, place)
        if HoldKind.FULL_CURE in asked:
            hold = Hold(HoldKind.FULL_CURE, places=(place,))
            yield from judge_full_cure(Case(sequence, stage, facts, hold, now))
        elif HoldKind.SET in asked:
            yield from judge_set(Case(sequence, stage, facts, Hold(HoldKind.SET, places=(place,)), now))


def _asked_of(sequence: Sequence, facts: Facts, place: str) -> set[HoldKind]:
    """Which kinds of hold the stages that are reached had on the cures at a place."""
    reached = (stage for stage in sequence.stages if stage.name in facts.reached)
    return {hold.kind for stage in reached for hold in stage.holds if place in hold.places}


def judge_closed_since(
    sequence: Sequence, stage: Stage, facts: Facts, now: datetime
) -> Iterator[ShutHold]:  # fmt: skip
    """A joint or coat closed after every stage that makes one there was logged: a repair, or a late thought.

    Where a stage to come waits for that place to cure anyway, that is left to it, and so is a joint done
    anew that `judge_redone` asks about. Else nothing would ask, and a rod could be handed over wet; so
    whatever comes next waits.
    """
    places = _places_to_ask(sequence, stage, facts, now)
    if not places:
        return
    awaited = {
        place
        for ahead in sequence.stages
        if ahead.name not in facts.reached
        for hold in ahead.holds
        if hold.kind is HoldKind.FULL_CURE
        for place in hold.places
    }
    for place in places:
        makers = [s for s in sequence.stages if place in s.cure_places()]
        if place in awaited or not makers or any(s.name not in facts.reached for s in makers):
            continue
        if place in facts.redone and _asked_of(sequence, facts, place):
            continue
        logged = max(facts.reached[s.name].at for s in makers)
        counting = counting_at(facts.cures, place)
        if counting and counting[-1].closed_at > logged:
            hold = Hold(HoldKind.FULL_CURE, places=(place,))
            yield from judge_full_cure(Case(sequence, stage, facts, hold, now))


def _places_to_ask(sequence: Sequence, stage: Stage, facts: Facts, now: datetime) -> list[str]:
    """The places where a full cure can still be asked about: most of the time there is none.

    Where a joint of this very stage is on record, it may have been closed before any of them was hard.
    """
    own = ((place, len(makers_of(sequence, facts, place))) for place in stage.cure_places())
    asked: Iterable[CureFact] = facts.cures
    if not any(len(joints_at(facts.cures, place)) > laid for place, laid in own):
        asked = (
            cure
            for cure in facts.cures
            if cure.full_at is None or now < cure.full_at or cure.tacky or _closed_too_late([cure])
        )
    return list(dict.fromkeys(cure.place for cure in asked))


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


def _coats(case: Case, place: str) -> tuple[list[CureFact], CureFact | None]:
    """The coat that a new one goes on, cup by cup, and the first cup of the new one.

    There is a new one only where its cure is on record before its stage is.
    """
    joints = joints_at(case.facts.cures, place)
    laid = len(makers_of(case.sequence, case.facts, place)) if place in case.stage.cure_places() else 0
    if 0 < laid < len(joints):
        return joints[laid - 1], joints[laid][0]
    return (joints[-1] if joints else []), None


def waiting_coat(case: Case) -> CureFact | None:
    """The coat that the next one is still to go on by a `recoat` hold, as one; none once that is laid."""
    coat, new = _coats(case, case.hold.place)
    return as_one(coat) if coat and new is None else None


def judge_recoat(case: Case) -> Iterator[ShutHold]:
    """Whether the next coat may go on. Nothing is laid on what is tacky, however old that is by the clock."""
    place = case.hold.place
    coat, new = _coats(case, place)
    if not coat:
        reason = f"No coat is on record at the {place} in this pass, so there is nothing to lay the next on."
        if place in case.facts.redone:
            reason = f"The coat at the {place} has failed; it must be laid anew."
        yield ShutHold(HoldKind.RECOAT, reason, None, ClearedBy.WORK)
    elif new is None and (unrecorded := _not_on_record(case, place, coat[-1])) is not None:
        yield ShutHold(HoldKind.RECOAT, _unrecorded(unrecorded, place), None, ClearedBy.WORK)
    elif (late := _closed_too_late(coat)) is not None:
        yield _too_late(late)
    elif (soft := _tacky(_under(case, place, new))) is not None:
        yield _held_tacky(HoldKind.RECOAT, soft)
    else:
        yield from _judge_window(case, coat, None if new is None else new.closed_at)


def _under(case: Case, place: str, new: CureFact | None) -> list[CureFact]:
    """Every cure that the new coat lies on, or is to."""
    counting = counting_at(case.facts.cures, place)
    return counting if new is None else counting[: counting.index(new)]


def _judge_window(case: Case, cups: list[CureFact], laid_at: datetime | None) -> Iterator[ShutHold]:
    """The recoat window of a coat, for one laid at an instant before its stage is logged, or to be laid now.

    Of several cups the window opens when the last of theirs does, and shuts when the first does.
    """
    coat, place = as_one(cups), case.hold.place
    at = case.now if laid_at is None else laid_at
    opening = max(cups, key=lambda cup: (cup.recoat_from or cup.closed_at, cup.id)).adhesive
    silent = next((cup.adhesive for cup in cups if not cup.has_recoat_window), "")
    if coat.has_recoat_window and coat.recoat_from is None:
        cold = next(cup for cup in cups if cup.has_recoat_window and cup.recoat_from is None)
        reason = f"Stalled: too cold for the {cold.adhesive} at the {place}; its recoat window will not open."
        yield ShutHold(HoldKind.RECOAT, reason, None, ClearedBy.WORK, is_stalled=True)
    elif coat.recoat_from is not None and at < coat.recoat_from and laid_at is not None:
        reason = (
            f"The coat at the {place} was laid before the recoat window of the one under it opened: "
            "strip it and end it as failed, or put its time right."
        )
        yield ShutHold(HoldKind.RECOAT, reason, None, ClearedBy.WORK)
    elif coat.recoat_from is not None and at < coat.recoat_from:
        reason = f"The recoat window of the {opening} at the {place} has not opened."
        yield ShutHold(HoldKind.RECOAT, reason, coat.recoat_from, ClearedBy.TIME)
    elif _is_prepared(case):
        return
    elif silent:
        yield _unprepared(f"The sheet of the {silent} gives no recoat window: prepare it")
    elif coat.recoat_until is not None and at > coat.recoat_until:
        shutting = next(cup.adhesive for cup in cups if cup.recoat_until == coat.recoat_until)
        yield _unprepared(
            f"The recoat window of the {shutting} at the {place} has shut: wash, scuff and wipe it"
        )


def _unprepared(why: str) -> ShutHold:
    reason = f"{why}, then tick “{PREP_CHECK}”."
    return ShutHold(HoldKind.RECOAT, reason, None, ClearedBy.PERSON, check=PREP_CHECK)


def _is_prepared(case: Case) -> bool:
    """Whether the preparing is ticked for this very stage: what was scuffed for an earlier coat is coated."""
    return any(tick.name == PREP_CHECK and tick.stage in ("", case.stage.name) for tick in case.facts.ticks)


def judge_pot_life(case: Case) -> Iterator[ShutHold]:
    for place in case.hold.places:
        joints = joints_at(case.facts.cures, place)
        late = _closed_too_late(joints[-1]) if joints else None
        if late is not None:
            yield _too_late(late)


def _closed_too_late(joint: Iterable[CureFact]) -> CureFact | None:
    """The first cup of a joint that was past its pot life, as a late reading or new fact may show, if any."""
    return next((cup for cup in joint if cup.closed_at > cup.pot_life_ends_at), None)


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
    """The cures on record for this very stage, closed before it is logged: every cup of each joint."""
    return [cup for joint in _own_joints(case) for cup in joint]


def _own_joints(case: Case) -> Iterator[list[CureFact]]:
    """The joints on record for this very stage, each with every cup that went into it."""
    for place in case.stage.cure_places():
        yield from joints_at(case.facts.cures, place)[len(makers_of(case.sequence, case.facts, place)) :]


def judge_lot(case: Case) -> Iterator[ShutHold]:
    """Judged by the mixes of this stage's own joints; before there is one, the cup itself asks."""
    for fault in dict.fromkeys(cure.lot_fault for cure in _own_cures(case) if cure.lot_fault):
        yield ShutHold(HoldKind.LOT, fault, None, ClearedBy.OWNER)
