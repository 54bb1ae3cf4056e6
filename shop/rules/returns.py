"""Returns: why a rod came back, what may be said of it, and how many came back for what.

The causes are our own words. What is said of a return names the rod, a stage, a lot and people of the shop.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple, Protocol

CAUSES = (
    "wrap came loose", "finish soft or yellow", "finish came off", "joint came loose", "ring cracked or lost",
    "guide out of line", "section broke", "ferrule loose", "rust", "use or accident", "other",
)  # fmt: skip
MOST_NOTE, MOST_PERSON, MOST_STAGE = 1000, 80, 80
MOST_CENTS = 100_000_000
NOT_SAID = "not said"


@dataclass(frozen=True, slots=True)
class ReturnSaid:
    """A return as it is said; what it is put down to is empty or none where nobody knows."""

    returned_on: date
    cause: str
    stage_name: str = ""
    lot_id: int | None = None
    person: str = ""
    cost_cents: int | None = None
    note: str = ""


class Line(Protocol):
    """What is counted of a return."""

    @property
    def cause(self) -> str:
        """Why it came back."""

    @property
    def stage_name(self) -> str:
        """At which stage it went wrong, or empty."""

    @property
    def lot(self) -> str:
        """The lot's number with its adhesive, or empty."""

    @property
    def person(self) -> str:
        """Who had done it, or empty."""

    @property
    def under_warranty(self) -> bool:
        """Whether the warranty ran."""

    @property
    def cost_cents(self) -> int | None:
        """What it cost the shop, or none."""


class Count(NamedTuple):
    """How many came back for one thing, how many of them under warranty, and what they cost in cents."""

    what: str
    returns: int
    under_warranty: int
    cost_cents: int


def faults_of_return(
    said: ReturnSaid, today: date, handed_over: date, stages: Sequence[str]
) -> dict[str, str]:
    """What is wrong with a return, by field; `stages` are those of the rod's sequence."""
    errors = {}
    if said.cause not in CAUSES:
        errors["cause"] = f"The cause must be one of {', '.join(CAUSES)}."
    if said.returned_on > today:
        errors["returned_on"] = f"The day it came back cannot lie after today, {today}."
    elif said.returned_on < handed_over:
        errors["returned_on"] = f"It was handed over on {handed_over}; it cannot have come back before."
    if said.stage_name and said.stage_name not in stages:
        errors["stage_name"] = f"“{said.stage_name[:40]}” is not a stage of this rod's sequence."
    if len(said.person) > MOST_PERSON or not said.person.isprintable():
        errors["person"] = f"The person is one line of at most {MOST_PERSON} characters."
    if said.cost_cents is not None and not 0 <= said.cost_cents <= MOST_CENTS:
        errors["cost_cents"] = "The cost must be nothing or more, and less than a million."
    if len(said.note) > MOST_NOTE or "\0" in said.note:
        errors["note"] = f"The note has at most {MOST_NOTE} characters."
    return errors


def counted(lines: Iterable[Line]) -> dict[str, list[Count]]:
    """Returns counted by `cause`, `step`, `lot` and `person`, those with most first."""
    lines = list(lines)
    by: dict[str, Callable[[Line], str]] = {
        "cause": lambda line: line.cause, "step": lambda line: line.stage_name,
        "lot": lambda line: line.lot, "person": lambda line: line.person,
    }  # fmt: skip
    return {name: _counts([(key(line) or NOT_SAID, line) for line in lines]) for name, key in by.items()}


def _counts(keyed: Sequence[tuple[str, Line]]) -> list[Count]:
    totals = Counter(what for what, _ in keyed)
    within = Counter(what for what, line in keyed if line.under_warranty)
    cost: Counter[str] = Counter()
    for what, line in keyed:
        cost[what] += line.cost_cents or 0
    found = [Count(what, how_many, within[what], cost[what]) for what, how_many in totals.items()]
    return sorted(found, key=lambda count: (-count.returns, count.what == NOT_SAID, count.what))
