"""What the bench knows when something is logged there; shared by the verbs of events, mixes and cures."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from shop.queries.cure_clock import Warmth
from shop.queries.facts import Surroundings
from shop.queries.kept_sequences import KeptSequences
from shop.rules.people import Actor
from shop.rules.refusals import BadInput

# A second tap of a gloved finger says nothing new: the same thing said again by the same person within this
# time is the same tap.
SAME_TAP = timedelta(seconds=30)


@dataclass(frozen=True)
class Signer:
    """Who writes something down, and when: all that an entry needs which rests on nothing at the bench."""

    now: datetime
    actor: Actor

    def name(self, by: str) -> str:
        """The person it is logged for: the one named, or whoever logs."""
        return by.strip() or self.actor.name


@dataclass(frozen=True)
class Bench(Signer):
    """Who logs, when, how warm it has been, and the sequences that builds follow."""

    warmth: Warmth
    around: Surroundings
    sequences: KeptSequences

    def past(self, field: str, instant: datetime | None, not_before: datetime | None, what: str) -> datetime:
        """A stated time, or now where none was stated.

        Raises `BadInput` for a time in the future, or before `not_before`, which `what` describes.
        """
        if instant is None:
            return self.now
        if instant > self.now:
            ahead = _span(instant - self.now)
            raise BadInput({field: f"That time lies {ahead} in the future; work is logged when it is done."})
        if not_before is not None and instant < not_before:
            behind = _span(not_before - instant)
            raise BadInput({field: f"That time lies {behind} before {what}."})
        return instant


def _span(length: timedelta) -> str:
    seconds = int(length.total_seconds())
    if seconds < 120:
        return f"{seconds} s"
    return f"{seconds // 60} min" if seconds < 7200 else f"{seconds // 3600} h {seconds % 3600 // 60:02d} min"
