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
from shop.rules.facts import Reached, Recheck, Tick
from shop.rules.rechecks import still_asked
from shop.rules.sequences import HoldKind


class EventKind(StrEnum):
    """What an event tells of."""

    STAGE = "stage"
    CHECK = "check"
    MEASUREMENT = "measurement"
    RELEASE = "release"
    MIX = "mix"
    CURE = "cure"
    PUDDLE = "puddle"
    SUSPICION = "suspicion"
    VERDICT = "verdict"
    SEND_BACK = "send_back"
    CORRECTION = "correction"
    MAKE_UP = "make_up"
    TURNER = "turner"
    MOVE = "move"
    SPEC = "spec"
    QUOTE = "quote"
    PAYMENT = "payment"
    PARTS = "parts"
    PHOTO = "photo"
    PROMISE = "promise"
    INTAKE = "intake"
    CLOSED = "closed"
    ORDER = "order"


@dataclass(frozen=True, slots=True)
class EventFact:
    """One event of the record, as far as a decision needs it.

    `details` may hold `checks` (pairs of name and person), `measurements` (name to a quantity's map),
    `releases` (maps of `kind` and `reason`), `rechecks` (see `recheck_map`), `kept` (stages that a sending
    back leaves standing), and for a correction the facts anew: `at`, `by`, `undone`, `checks`,
    `measurements`.
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
    rechecks: tuple[Recheck, ...] = ()


def recheck_map(again: Recheck) -> dict[str, Any]:
    """A tick that is asked for again, as it is kept in an event."""
    since = None if again.since is None else again.since.isoformat()
    return {"name": again.name, "stage": again.stage, "place": again.place, "since": since}


def recheck_of(kept: Mapping[str, Any]) -> Recheck:
    """A tick that is asked for again, as it was kept in an event."""
    since = None if kept["since"] is None else datetime.fromisoformat(kept["since"])
    return Recheck(kept["name"], kept["stage"], kept["place"], since)


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
    stand = standing(events)
    for event in stand:
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
    return Known(reached, tuple(ticks), measured, frozenset(releases), _asked_again(stand))


def _asked_again(stand: Iterable[EventFact]) -> tuple[Recheck, ...]:
    """The ticks that are asked for again, of events with every correction in place.

    One that was undone afterwards is not: then its stage asks for it as for any other. What a sending back
    carried over rests on ticks of the earlier pass.
    """
    asked: dict[tuple[str, str], Recheck] = {}
    stands: set[tuple[str, str]] = set()
    for event in stand:
        names = [name for name, _ in event.details.get("checks", ())]
        if names:
            stands.update((name, event.stage or "") for name in names)
            asked = {
                (again.name, again.stage): again
                for again in still_asked(asked.values(), names, event.happened_at)
            }
        for kept in event.details.get("rechecks", ()):
            again = recheck_of(kept)
            asked[again.name, again.stage] = again
            if event.kind is EventKind.SEND_BACK:
                stands.add((again.name, again.stage))
    return tuple(again for key, again in asked.items() if key in stands)
