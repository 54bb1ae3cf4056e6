"""What a decision is made of: shut holds, what clears them, and the case a hold is judged in.

Plain values. Who judges is `shop.rules.decide`, and for cures `shop.rules.judging_cures`.
"""

from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum

from shop.rules.facts import Facts, Reached, Recheck
from shop.rules.sequences import HOUSE_RULES, Hold, HoldKind, Sequence, Stage


def in_utc(instant: datetime) -> str:
    """An instant as a reason names it, for readers whose own time zone is not known."""
    return f"{instant.astimezone(UTC):%Y-%m-%d %H:%M} UTC"


def as_sentence(said: str) -> str:
    """What somebody wrote, with a full stop where it ends in nothing."""
    said = said.strip()
    return said if said.endswith((".", "!", "?", "…")) else f"{said}."


class ClearedBy(StrEnum):
    """What clears a hold."""

    TIME = "time"
    WORK = "work"
    PERSON = "person"
    OWNER = "owner"
    NEVER = "never"


@dataclass(frozen=True, slots=True)
class ShutHold:
    """A hold that is shut: the reason as a sentence, and the instant it clears if time alone clears it.

    `already` is set only where the stage has been logged before: when, and by whom. `look_again_at` is
    set where an owner said to wait with a mix under suspicion, `recheck` where a tick is asked for anew,
    `closed_at` where a joint was closed too soon. The reason names such instants as `in_utc` writes them.

    `check` and `figure` name the check and the figure by which logging the stage clears it; both are empty
    where that cannot, as when nobody has said what the figure should be. `is_stalled` says that a cure gets
    nowhere in the cold. Whoever decides by a hold goes by these, never by the words of its reason.
    """

    kind: HoldKind
    reason: str
    clears_at: datetime | None
    cleared_by: ClearedBy
    already: Reached | None = None
    look_again_at: datetime | None = None
    recheck: Recheck | None = None
    check: str = ""
    figure: str = ""
    is_stalled: bool = False
    closed_at: datetime | None = None

    @property
    def waivable(self) -> bool:
        """Whether an owner may release it with a written reason."""
        return self.kind in HOUSE_RULES and self.cleared_by is not ClearedBy.NEVER

    @property
    def is_asked(self) -> bool:
        """Whether it is cleared by a tick or a figure that logging the stage asks for."""
        return bool(self.check or self.figure)


@dataclass(frozen=True, slots=True)
class Decision:
    """The answer: every shut hold, none when the stage may be reached. `stage` is none at the end."""

    stage: Stage | None
    holds: tuple[ShutHold, ...]

    @property
    def allowed(self) -> bool:
        """Whether the stage may be reached."""
        return self.stage is not None and not self.holds

    @property
    def overtaken(self) -> Reached | None:
        """When and by whom the stage was logged already, if it was."""
        return next((hold.already for hold in self.holds if hold.already is not None), None)

    @property
    def ready_at(self) -> datetime | None:
        """The instant at which time alone will have cleared every hold; none if it will not, or is free."""
        alone = all(hold.clears_at is not None for hold in self.holds)
        return self.time_clears_at if alone else None

    @property
    def time_clears_at(self) -> datetime | None:
        """The instant at which time will have cleared the holds that it clears, whatever else is shut."""
        return max((hold.clears_at for hold in self.holds if hold.clears_at is not None), default=None)


@dataclass(frozen=True, slots=True)
class Case:
    """One hold to be judged, with all that it may look at."""

    sequence: Sequence
    stage: Stage
    facts: Facts
    hold: Hold
    now: datetime
