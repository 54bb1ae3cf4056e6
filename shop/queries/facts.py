"""Gathers what a decision about a build rests on: the record, the cures, the suspicions, the warmth."""

from typing import NamedTuple

from sqlalchemy.orm import Session

from shop.craft.cure import DEFAULT_COLDEST_C
from shop.queries.cure_clock import Warmth
from shop.queries.cures import cure_facts, open_cure_facts
from shop.queries.events import event_facts, open_event_facts
from shop.queries.mixes import suspects, suspects_of_build
from shop.rules.facts import CureFact, Facts, Suspect, ZoneFact
from shop.rules.record import EventFact, fold


class Surroundings(NamedTuple):
    """What is the same for every build: the doubt about the clock, and the zone where mixes are made."""

    clock_doubt: str
    mixing_zone: ZoneFact | None


def surroundings(warmth: Warmth, clock_doubt: str, now_seconds: float) -> Surroundings:
    """What is the same for every build at an instant. The first zone is where mixes are made."""
    first = next(iter(warmth.zones.values()), None)
    if first is None:
        return Surroundings(clock_doubt, None)
    celsius = first.clock.temperature_at(now_seconds)
    return Surroundings(clock_doubt, ZoneFact(first.name, celsius, DEFAULT_COLDEST_C))


def facts_of_build(
    session: Session, build_id: int, pass_number: int, warmth: Warmth, around: Surroundings
) -> Facts:
    """What is known of one build in one pass."""
    return _facts(
        event_facts(session, build_id, pass_number),
        cure_facts(session, build_id, pass_number, warmth),
        suspects_of_build(session, build_id),
        around,
    )


def facts_of_open_builds(session: Session, warmth: Warmth, around: Surroundings) -> dict[int, Facts]:
    """What is known of every open build, by its id, in a fixed number of statements.

    A build with nothing on record is left out.
    """
    events = open_event_facts(session)
    cures = open_cure_facts(session, warmth)
    doubted = suspects(session)
    return {
        build_id: _facts(events.get(build_id, []), cures.get(build_id, []), doubted.get(build_id, []), around)
        for build_id in {*events, *cures, *doubted}
    }


def _facts(
    events: list[EventFact], cures: list[CureFact], doubted: list[Suspect], around: Surroundings
) -> Facts:
    known = fold(events)
    return Facts(
        reached=known.reached,
        cures=tuple(cures),
        ticks=known.ticks,
        measured=known.measured,
        releases=known.releases,
        suspects=tuple(doubted),
        clock_doubt=around.clock_doubt,
        mixing_zone=around.mixing_zone,
    )
