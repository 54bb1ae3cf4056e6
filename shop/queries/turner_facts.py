"""What a decision about a build wants to know of turners: a free place, whether it is on one, past stops."""

from collections.abc import Iterable
from typing import Any, NamedTuple

from sqlalchemy import CompoundSelect, bindparam, func, null, select, union_all
from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.turners import StoppedRod, Turner, TurnerStay, TurnerStop
from shop.queries.cure_clock import Warmth
from shop.queries.turners import turners_now
from shop.rules.facts import TurnerFact
from shop.rules.holds import in_utc
from shop.rules.turners import first_free_at, section_words


class OnTurner(NamedTuple):
    """Whether a build is on a turner that turns, and what is to be inspected of it after a stop, in words."""

    is_on: bool = False
    inspections: tuple[str, ...] = ()


_STOOD = (
    select(StoppedRod.build_id, StoppedRod.section, Turner.name, TurnerStop.stopped_at)
    .join(TurnerStop, TurnerStop.id == StoppedRod.stop_id)
    .join(Turner, Turner.id == TurnerStop.turner_id)
    .where(StoppedRod.outcome == "")
)
# A turner that stands still turns nothing, so a rod on it is as good as on none.
_STAYING = select(TurnerStay.build_id, TurnerStay.section, null(), null()).where(
    TurnerStay.off_at.is_(None),
    ~select(TurnerStop.id)
    .where(TurnerStop.turner_id == TurnerStay.turner_id, TurnerStop.ended_at.is_(None))
    .correlate(TurnerStay)
    .exists(),
)
# By way of the few open builds; the planner would else walk the whole history.
_OPEN = select(Build.id).where(Build.closed_at.is_(None))
_ON_OPEN: CompoundSelect[*tuple[Any, ...]] = union_all(_STOOD.where(StoppedRod.build_id.in_(_OPEN)), _STAYING)
_ON_BUILD: CompoundSelect[*tuple[Any, ...]] = union_all(
    _STOOD.where(StoppedRod.build_id == bindparam("build_id")),
    _STAYING.where(TurnerStay.build_id == bindparam("build_id")),
)
_TAKEN = (
    select(func.count(TurnerStay.id))
    .where(TurnerStay.turner_id == Turner.id, TurnerStay.off_at.is_(None))
    .correlate(Turner)
    .scalar_subquery()
)
_STANDS_STILL = (
    select(TurnerStop.id)
    .where(TurnerStop.turner_id == Turner.id, TurnerStop.ended_at.is_(None))
    .correlate(Turner)
    .exists()
)
_COUNTS = select(Turner.places, _TAKEN, _STANDS_STILL)


def turner_fact(session: Session, warmth: Warmth) -> TurnerFact | None:
    """What a decision wants to know of all turners together; none where none is on file.

    `free_at` is none while a place is free, or where nobody can say.
    """
    counts = session.execute(_COUNTS).all()
    if not counts:
        return None
    places = sum(row[0] for row in counts)
    free = sum(row[0] - row[1] for row in counts if not row[2])
    if free > 0:
        return TurnerFact(places, free)
    now = turners_now(session, warmth)
    last_on = max((stay.on_at for stay in now.stays), default=None)
    return TurnerFact(places, 0, None if last_on is None else first_free_at(*now, last_on))


def on_turner(session: Session, build_id: int) -> OnTurner:
    """What is known of one build."""
    return _by_build(session.execute(_ON_BUILD, {"build_id": build_id})).get(build_id, OnTurner())


def open_on_turner(session: Session) -> dict[int, OnTurner]:
    """The same of every open build of which there is anything to say, by its id."""
    return _by_build(session.connection().execute(_ON_OPEN))


def _by_build(rows: Iterable[Any]) -> dict[int, OnTurner]:
    found: dict[int, OnTurner] = {}
    for build_id, section, name, stopped_at in rows:
        known = found.get(build_id, OnTurner())
        if name is None:
            found[build_id] = known._replace(is_on=True)
        else:
            words = f"{name} stood still at {in_utc(stopped_at)} with {section_words(section)} wet on it."
            found[build_id] = known._replace(inspections=(*known.inspections, words))
    return found
