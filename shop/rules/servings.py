"""Which places of a build wait for a cup: those that its next stage closes, and those to be done anew.

Pure: what is on record of a build and the decision about its next stage come in as finished values. Whether
the cup itself may be mixed is `shop.rules.cup`'s.
"""

from collections.abc import Iterator
from typing import NamedTuple

from shop.rules.facts import Facts
from shop.rules.holds import Decision, ShutHold
from shop.rules.joints import joints_at
from shop.rules.judging_cures import makers_of
from shop.rules.rechecks import failed_last
from shop.rules.sequences import PREP_CHECK, HoldKind, Sequence, Stage

BOND, FINISH = "bond", "finish"
# What keeps a joint from being done anew: these stand on every stage.
STANDING = (HoldKind.SUSPECT, HoldKind.CLOCK)


class Waiting(NamedTuple):
    """A place that the next stage of a build closes, or one whose joint failed and is to be closed anew.

    `minutes` are attended, `sections` the places of a turner that it takes. `holds` are those that no tick
    or figure clears; `prep` says what to prepare where a recoat window has shut, else it is empty.
    """

    stage: str
    place: str
    use: str
    minutes: float
    sections: int
    is_first_coat: bool
    holds: tuple[ShutHold, ...]
    prep: str


def use_at(place: str) -> str:
    """Whether a place takes wrap finish or bonding epoxy: what is wrapped is coated, the rest is glued."""
    return FINISH if "wrap" in place else BOND


def waiting_places(sequence: Sequence, facts: Facts, decision: Decision, pieces: int) -> list[Waiting]:
    """The places of a build of so many pieces that wait for a cup: first what failed, then what is next."""
    return [*_failed(sequence, facts, decision, pieces), *_next(sequence, facts, decision, pieces)]


def _next(sequence: Sequence, facts: Facts, decision: Decision, pieces: int) -> Iterator[Waiting]:
    """The places of the next stage, but for those that failed before."""
    stage = decision.stage
    if stage is None:
        return
    anew = {place for place, _ in _to_do_anew(sequence, facts)}
    holds = tuple(hold for hold in decision.holds if not hold.is_asked)
    prep = next((hold.reason for hold in decision.holds if _is_prep(hold)), "")
    for place in stage.cure_places():
        if place not in anew and not _is_closed(sequence, facts, place):
            yield _waits(facts, stage, place, pieces, holds, prep)


def _failed(sequence: Sequence, facts: Facts, decision: Decision, pieces: int) -> Iterator[Waiting]:
    """The places that stages reached have closed and that failed since; only what stands holds them."""
    standing = tuple(hold for hold in decision.holds if hold.kind in STANDING)
    for place, maker in _to_do_anew(sequence, facts):
        yield _waits(facts, maker, place, pieces, standing, "")


def _to_do_anew(sequence: Sequence, facts: Facts) -> Iterator[tuple[str, Stage]]:
    """Each place whose last joint failed though its stage is reached, with the stage that made the joint."""
    for place in sorted(facts.redone):
        makers, joints = makers_of(sequence, facts, place), joints_at(facts.cures, place)
        if len(joints) < len(makers) and failed_last(facts, place):
            yield place, makers[len(joints)]


def _waits(
    facts: Facts, stage: Stage, place: str, pieces: int, holds: tuple[ShutHold, ...], prep: str
) -> Waiting:
    use = use_at(place)
    return Waiting(
        stage.name, place, use, stage.attended_minutes / len(stage.cure_places()),
        pieces if use == FINISH else 1, not joints_at(facts.cures, place), holds, prep,
    )  # fmt: skip


def _is_prep(hold: ShutHold) -> bool:
    """Whether it is cleared by preparing the coat underneath, which is ticked when the new one is logged."""
    return hold.kind is HoldKind.RECOAT and hold.check == PREP_CHECK


def _is_closed(sequence: Sequence, facts: Facts, place: str) -> bool:
    """Whether the joint or coat of the next stage is on record, though the stage is not logged yet."""
    return len(joints_at(facts.cures, place)) > len(makers_of(sequence, facts, place))
