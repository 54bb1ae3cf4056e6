"""The bench as it stands: what may be touched now, what is setting and until when, what is held and why."""

from datetime import datetime
from typing import NamedTuple

from sqlalchemy.orm import Session

from shop.queries.builds import BuildView, open_builds
from shop.queries.cure_clock import Warmth
from shop.queries.facts import Surroundings, facts_of_build, facts_of_open_builds, seen_from
from shop.queries.kept_records import KeptRecords
from shop.queries.kept_sequences import KeptSequences
from shop.rules.decide import ClearedBy, Decision, decide, next_stage
from shop.rules.facts import CureFact, Facts
from shop.rules.holds import Case
from shop.rules.joints import told_as_one
from shop.rules.judging_cures import waiting_coat
from shop.rules.sequences import HoldKind, Sequence
from shop.rules.soft import is_soft

NOTHING_KNOWN = Facts()


class BenchRow(NamedTuple):
    """An open build with the decision about its next stage. `cures` are those still hardening, or tacky.

    Of those, one of several cups in a joint has the times of the whole joint.
    """

    build: BuildView
    sequence: Sequence
    facts: Facts
    decision: Decision
    cures: tuple[CureFact, ...]


class BenchView(NamedTuple):
    """Every open build, each in one of three lists, in the order to take them up."""

    free: list[BenchRow]
    curing: list[BenchRow]
    held: list[BenchRow]


class OpenBuilds(NamedTuple):
    """Every open build with what is on record of it; the same until somebody commits something."""

    builds: list[BuildView]
    facts: dict[int, Facts]


def read_open_builds(session: Session, records: KeptRecords, warmth: Warmth) -> OpenBuilds:
    """Read every open build, in a number of statements that does not grow."""
    return OpenBuilds(open_builds(session), facts_of_open_builds(session, records, warmth))


def bench_view(
    session: Session, kept: KeptSequences, opened: OpenBuilds, around: Surroundings, now: datetime
) -> BenchView:
    """Sort the open builds into free, curing and held, as they stand at an instant."""
    view = BenchView([], [], [])
    for build in opened.builds:
        sequence = kept.of_build(session, build.sequence_id).value
        row = _row(build, sequence, seen_from(opened.facts.get(build.id, NOTHING_KNOWN), around), now)
        _list_for(view, row.decision).append(row)
    view.free.sort(key=lambda row: (shuts_at(row, now) is None, shuts_at(row, now) or now))
    view.curing.sort(key=lambda row: row.decision.time_clears_at or now)
    return view


def build_row(
    session: Session,
    build: BuildView,
    kept: KeptSequences,
    warmth: Warmth,
    around: Surroundings,
    now: datetime,
) -> BenchRow:
    """One build, open or finished, with the decision about its next stage."""
    sequence = kept.of_build(session, build.sequence_id).value
    facts = facts_of_build(session, build.id, build.pass_number, warmth, around)
    return _row(build, sequence, facts, now)


def _row(build: BuildView, sequence: Sequence, facts: Facts, now: datetime) -> BenchRow:
    # Nothing comes next for an order that was declined or cancelled.
    stage = None if build.closed_as else next_stage(sequence, facts.reached)
    decision = Decision(None, ()) if stage is None else decide(sequence, facts, stage.name, now)
    hardening = tuple(cure for cure in told_as_one(facts.cures) if is_soft(cure, now))
    return BenchRow(build, sequence, facts, decision, hardening)


def _list_for(view: BenchView, decision: Decision) -> list[BenchRow]:
    if decision.allowed:
        return view.free
    return view.curing if waits_for_time(decision) else view.held


def waits_for_time(decision: Decision) -> bool:
    """Whether time is what the stage waits for: all else is ticked or measured when it is logged."""
    return any(hold.cleared_by is ClearedBy.TIME for hold in decision.holds) and all(
        hold.cleared_by is ClearedBy.TIME or hold.is_asked for hold in decision.holds
    )


def shuts_at(row: BenchRow, now: datetime) -> datetime | None:
    """When the recoat window that a free build waits in shuts, if it waits in one.

    The window is that of the coat which the next one goes on, soft or fully cured by now: a sheet may leave
    it open for longer than the cure takes. One that has shut is not waited in any more.
    """
    stage = row.decision.stage
    if stage is None:
        return None
    cases = (
        Case(row.sequence, stage, row.facts, hold, now)
        for hold in stage.holds
        if hold.kind is HoldKind.RECOAT
    )
    ends = (coat.recoat_until for coat in map(waiting_coat, cases) if coat is not None)
    return min((at for at in ends if at is not None and at >= now), default=None)
