"""Small makers of what a decision rests on: a short sequence, cures with round times, facts around them.

Every time counts from one instant, `CLOSED`, at which a joint is closed: it sets 10 h later, is fully
cured 24 h later, may be recoated from 6 h to 20 h later, and its mix could be used until half an hour
after mixing, which was five minutes before.
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

from shop.rules.decide import Decision, ShutHold, decide
from shop.rules.facts import CureFact, Facts, Reached
from shop.rules.sequences import (
    Hold,
    HoldKind,
    Record,
    RecordKind,
    Sequence,
    Stage,
    faults_of_name,
    faults_of_stages,
)

CLOSED = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
SECOND = timedelta(seconds=1)
MINUTE = timedelta(minutes=1)
WRAPS = "guide wraps"


def faults_of(sequence: Sequence) -> list[str]:
    """Everything that keeps a sequence from making sense; empty when it is sound."""
    return [*faults_of_name(sequence).values(), *faults_of_stages(sequence)]


def hours(count: float) -> timedelta:
    return timedelta(hours=count)


def after(count: float) -> datetime:
    """So many hours after `CLOSED`."""
    return CLOSED + hours(count)


def cure(number: int = 1, place: str = "rear grip", closed_at: datetime = CLOSED, **other: Any) -> CureFact:
    """A cure with the round times above, or others where they are given."""
    round_times: dict[str, Any] = {
        "adhesive": "Riverbed", "zone": "bench", "mixing_c": 20.0, "coldest_c": 13.0,
        "set_at": closed_at + hours(10), "full_at": closed_at + hours(24),
        "recoat_from": None, "recoat_until": None, "has_recoat_window": False,
        "pot_life_ends_at": closed_at + timedelta(minutes=25),
    }  # fmt: skip
    return CureFact(id=number, place=place, closed_at=closed_at, **{**round_times, **other})


def coat(number: int = 1, closed_at: datetime = CLOSED, **other: Any) -> CureFact:
    """A finish coat on the guide wraps: sets after 5 h, may be recoated from 6 h to 20 h after closing."""
    window: dict[str, Any] = {
        "adhesive": "Stillwater", "set_at": closed_at + hours(5), "has_recoat_window": True,
        "recoat_from": closed_at + hours(6), "recoat_until": closed_at + hours(20),
    }  # fmt: skip
    return cure(number, WRAPS, closed_at, **{**window, **other})


def makes(place: str) -> tuple[Record, ...]:
    return (Record(RecordKind.CURE, place),)


def stage(*holds: Hold, name: str = "target", place: str = "") -> Stage:
    return Stage(name, holds=holds, records=makes(place) if place else ())


def judge(held: Stage, facts: Facts, now: datetime, *earlier: Stage) -> Decision:
    """The decision about the last stage of a sequence of `earlier` and `held`."""
    return decide(Sequence("short", "casting", (*earlier, held)), facts, held.name, now)


def shut(held: Stage, facts: Facts, now: datetime, *earlier: Stage) -> tuple[ShutHold, ...]:
    return judge(held, facts, now, *earlier).holds


def kinds(decision: Decision) -> list[HoldKind]:
    return [hold.kind for hold in decision.holds]


def reached(*names: str, at: datetime = CLOSED, by: str = "Nell") -> dict[str, Reached]:
    return {name: Reached(at, by) for name in names}


def with_cures(*cures: CureFact, **other: Any) -> Facts:
    return Facts(cures=cures, **other)


def failed(one: CureFact) -> CureFact:
    return replace(one, failed=True)


def tacky(one: CureFact) -> CureFact:
    return replace(one, tacky=True)
