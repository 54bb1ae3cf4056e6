"""Gathers what a decision about a build rests on: the record, the cures, the suspicions, the warmth."""

from collections.abc import Mapping
from dataclasses import replace
from typing import NamedTuple

from sqlalchemy.orm import Session

from shop.craft.cure import DEFAULT_COLDEST_C
from shop.queries.cure_clock import Warmth
from shop.queries.cures import cure_facts, open_cure_facts
from shop.queries.desk_facts import DeskFacts, desk_facts, open_desk_facts
from shop.queries.events import event_facts
from shop.queries.kept_records import KeptRecords
from shop.queries.make_ups import meant_of_build, meant_of_open_builds
from shop.queries.mixes import suspects, suspects_of_build
from shop.queries.turner_facts import OnTurner, on_turner, open_on_turner
from shop.rules.facts import CureFact, Facts, Meant, Suspect, TurnerFact, ZoneFact
from shop.rules.record import Known, fold

UNKNOWN = Known({}, (), {}, frozenset())
NOT_ON_TURNER = OnTurner()
NOTHING_AT_THE_DESK = DeskFacts()


class Surroundings(NamedTuple):
    """What is the same for every build: the doubt about the clock, where mixes are made, the turners."""

    clock_doubt: str
    mixing_zone: ZoneFact | None
    turner: TurnerFact | None = None


def surroundings(
    warmth: Warmth, clock_doubt: str, now_seconds: float, turner: TurnerFact | None = None
) -> Surroundings:
    """What is the same for every build at an instant. The first zone is where mixes are made.

    `turner` is what `shop.queries.turner_facts.turner_fact` gives.
    """
    first = next(iter(warmth.zones.values()), None)
    if first is None:
        return Surroundings(clock_doubt, None, turner)
    celsius = first.clock.temperature_at(now_seconds)
    return Surroundings(clock_doubt, ZoneFact(first.name, celsius, DEFAULT_COLDEST_C), turner)


def facts_of_build(
    session: Session, build_id: int, pass_number: int, warmth: Warmth, around: Surroundings
) -> Facts:
    """What is known of one build in one pass."""
    facts = _facts(
        fold(event_facts(session, build_id, pass_number)),
        cure_facts(session, build_id, pass_number, warmth),
        suspects_of_build(session, build_id),
        meant_of_build(session, build_id),
        on_turner(session, build_id),
        desk_facts(session, build_id),
    )
    return seen_from(facts, around)


def seen_from(facts: Facts, around: Surroundings) -> Facts:
    """The facts of a build with what is the same for every build."""
    return replace(
        facts, clock_doubt=around.clock_doubt, mixing_zone=around.mixing_zone, turner=around.turner
    )


def facts_of_open_builds(session: Session, records: KeptRecords, warmth: Warmth) -> dict[int, Facts]:
    """What is on record of every open build, by its id, in a fixed number of statements.

    A build with nothing on record is left out; `seen_from` adds what is the same for every build.
    """
    known = records.of_open_builds(session)
    cures = open_cure_facts(session, warmth)
    doubted = suspects(session)
    meant = meant_of_open_builds(session)
    turned = open_on_turner(session)
    desk = open_desk_facts(session)
    return {
        build_id: _facts(
            known.get(build_id, UNKNOWN), cures.get(build_id, []), doubted.get(build_id, []),
            meant.get(build_id, {}), turned.get(build_id, NOT_ON_TURNER),
            desk.get(build_id, NOTHING_AT_THE_DESK),
        )
        for build_id in {*known, *cures, *doubted, *meant, *turned, *desk}
    }  # fmt: skip


def _facts(
    known: Known,
    cures: list[CureFact],
    doubted: list[Suspect],
    meant: Mapping[str, Meant],
    turned: OnTurner,
    desk: DeskFacts,
) -> Facts:
    return Facts(
        reached=known.reached,
        cures=tuple(cures),
        ticks=known.ticks,
        measured=known.measured,
        releases=known.releases,
        suspects=tuple(doubted),
        meant=meant,
        rechecks=known.rechecks,
        is_on_turner=turned.is_on,
        inspections=turned.inspections,
        parts=desk.parts,
        money=desk.money,
        approval=desk.approval,
        redone=frozenset(cure.place for cure in cures if cure.failed),
    )
