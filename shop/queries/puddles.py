"""The puddles of the mixes that open builds carry: how each was last found, and when it is due again."""

from collections.abc import Iterable
from datetime import datetime
from typing import NamedTuple

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.mixes import Mix
from shop.queries.cure_clock import Warmth
from shop.queries.cures import open_cure_facts
from shop.queries.mixes import LAST_STATE, LAST_TOUCHED, RECHECK_AT
from shop.rules.facts import CureFact
from shop.rules.puddles import NextTouch, PuddleState, Touch, Why, is_asked_for, next_touch


class Puddle(NamedTuple):
    """The puddle of a mix, and the rods and places that wait for it.

    `due_at` is when to touch it next, none where it is not due any more or will not set for cold; `why`
    says which. `state` is how it was last found, empty before the first touch. `overdue` says that
    `due_at` has come; it is false until `seen_at` an instant.
    """

    mix_id: int
    adhesive: str
    rods: tuple[str, ...]
    places: tuple[str, ...]
    due_at: datetime | None
    why: Why
    state: str
    touched_at: datetime | None
    overdue: bool = False

    def seen_at(self, now: datetime) -> "Puddle":
        """The same as it stands at an instant."""
        return self._replace(overdue=self.due_at is not None and self.due_at <= now)


_NUMBERS = select(Build.id, Build.number).where(Build.closed_at.is_(None))
_MIXES = select(Mix.root_id, Mix.adhesive_name, Mix.set_minutes, LAST_STATE, LAST_TOUCHED, RECHECK_AT).where(
    Mix.superseded_by_id.is_(None), Mix.root_id.in_(bindparam("mix_ids", expanding=True))
)

Joint = tuple[str, CureFact]


def puddles_due(session: Session, warmth: Warmth, now: datetime) -> list[Puddle]:
    """The puddles that are due, now or later, by when; then those that cold keeps from setting."""
    due = [
        puddle.seen_at(now)
        for puddle in open_puddles(session, warmth)
        if puddle.why is Why.STALLED or is_asked_for(NextTouch(puddle.due_at, puddle.why), now)
    ]
    return sorted(due, key=lambda puddle: (puddle.due_at is None, puddle.due_at or now, puddle.mix_id))


def open_puddles(session: Session, warmth: Warmth) -> list[Puddle]:
    """The puddle of every mix with a cure that counts on an open build, in a fixed number of statements.

    It is the same until somebody commits something, or a reading comes.
    """
    cures = open_cure_facts(session, warmth)
    numbers = dict(session.execute(_NUMBERS).all())
    joints: dict[int, list[Joint]] = {}
    for build_id, facts in cures.items():
        for fact in facts:
            if not fact.failed:
                joints.setdefault(fact.mix_id, []).append((numbers[build_id], fact))
    rows = session.execute(_MIXES, {"mix_ids": list(joints)}) if joints else ()
    return [_puddle(joints[row[0]], *row) for row in rows]


def _puddle(
    joints: Iterable[Joint],
    mix_id: int,
    adhesive: str,
    set_minutes: float,
    state: str | None,
    touched_at: datetime | None,
    recheck_at: datetime | None,
) -> Puddle:
    last = None if state is None or touched_at is None else Touch(PuddleState(state), touched_at)
    due = next_touch([cure.set_at for _, cure in joints], set_minutes, last, recheck_at)
    rods = tuple(sorted({number for number, _ in joints}))
    places = tuple(dict.fromkeys(cure.place for _, cure in joints))
    return Puddle(mix_id, adhesive, rods, places, due.at, due.why, state or "", touched_at)
