"""The record of one pass, folded into what is known: stages reached, checks ticked, figures measured.

Events are never changed. A correction is an event that points at an earlier one; what counts is the
earlier event with the corrected facts put in place.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from enum import StrEnum
from typing import Any

from shop.craft.quantities import Dimension, Quantity
from shop.rules.facts import Reached, Tick
from shop.rules.sequences import HoldKind


class EventKind(StrEnum):
    """What an event tells of."""

    STAGE = "stage"
    CHECK = "check"
    MEASUREMENT = "measurement"
    RELEASE = "release"
    CURE = "cure"
    PUDDLE = "puddle"
    SUSPICION = "suspicion"
    VERDICT = "verdict"
    SEND_BACK = "send_back"
    CORRECTION = "correction"
    MAKE_UP = "make_up"


@dataclass(frozen=True, slots=True)
class EventFact:
    """One event of the record, as far as a decision needs it.

    `details` may hold `checks` (pairs of name and person), `measurements` (name to a quantity's map),
    `releases` (maps of `kind` and `reason`), `kept` (stages that a sending back leaves standing), and for
    a correction the facts anew: `at`, `by`, `undone`, `checks`, `measurements`.
    """

    id: int
    kind: EventKind
    stage: str | None
    happened_at: datetime
    by: str
    corrects_id: int | None = None
    details: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Known:
    """What the record of a pass amounts to."""

    reached: dict[str, Reached]
    ticks: tuple[Tick, ...]
    measured: dict[str, Quantity]
    releases: frozenset[tuple[str, HoldKind]]


def quantity_map(quantity: Quantity) -> dict[str, Any]:
    """A quantity as it is kept in an event."""
    return {"dimension": quantity.dimension.value, "amount": quantity.amount}


def quantity_of(kept: Mapping[str, Any]) -> Quantity:
    """A quantity as it was kept in an event."""
    return Quantity(Dimension(kept["dimension"]), kept["amount"])


def standing(events: Iterable[EventFact]) -> list[EventFact]:
    """The events with every correction put in place; undone ones and the corrections are left out."""
    by_id: dict[int, EventFact] = {}
    root_of: dict[int, int] = {}
    undone: set[int] = set()
    for event in events:
        if event.kind is not EventKind.CORRECTION or event.corrects_id is None:
            by_id[event.id] = event
            continue
        root = root_of[event.id] = root_of.get(event.corrects_id, event.corrects_id)
        if root in by_id:
            by_id[root] = _corrected(by_id[root], event)
            (undone.add if event.details.get("undone") else undone.discard)(root)
    return [event for event in by_id.values() if event.id not in undone]


def _corrected(event: EventFact, correction: EventFact) -> EventFact:
    anew = correction.details
    details = {**event.details, **{key: anew[key] for key in ("checks", "measurements") if key in anew}}
    at = datetime.fromisoformat(anew["at"]) if "at" in anew else event.happened_at
    return replace(event, happened_at=at, by=anew.get("by", event.by), details=details)


def fold(events: Iterable[EventFact]) -> Known:
    """What the events of one pass, in the order they were entered, amount to."""
    reached: dict[str, Reached] = {}
    ticks: list[Tick] = []
    measured: dict[str, Quantity] = {}
    releases: set[tuple[str, HoldKind]] = set()
    for event in standing(events):
        details = event.details
        if event.kind is EventKind.STAGE and event.stage is not None:
            reached[event.stage] = Reached(event.happened_at, event.by)
        elif event.kind is EventKind.SEND_BACK:
            for name, kept in details.get("kept", {}).items():
                reached[name] = Reached(datetime.fromisoformat(kept["at"]), kept["by"])
        if details:
            ticks.extend(Tick(name, by, event.stage or "") for name, by in details.get("checks", ()))
            for name, kept in details.get("measurements", {}).items():
                measured[name] = quantity_of(kept)
            if event.kind is EventKind.RELEASE and event.stage is not None:
                releases.update((event.stage, HoldKind(item["kind"])) for item in details["releases"])
    return Known(reached, tuple(ticks), measured, frozenset(releases))
