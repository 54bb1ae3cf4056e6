"""Stops of turners, and the rods that stood still while they were wet: all as it stands in the database.

Which rods those were is decided once, when a stop is noted; in which order to turn them is
`shop.rules.turners`'s.
"""

from collections.abc import Iterable
from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, or_, select
from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.turners import StoppedRod, Turner, TurnerStay, TurnerStop
from shop.queries.cure_clock import Warmth
from shop.queries.turners import turnings_of
from shop.rules.refusals import NotOnFile
from shop.rules.turners import Turning, hand_order, must_turn_by_hand


class StoppedRodView(NamedTuple):
    """A rod, or one section of it, that stood still while it was wet.

    `turner_id` and `place_number` say where it is now, both none where it is on no turner. `outcome` is
    empty until somebody has inspected it.
    """

    id: int
    stop_id: int
    build_id: int
    build: str
    title: str
    section: int
    turned_at: datetime | None
    turned_by: str
    inspected_at: datetime | None
    inspected_by: str
    outcome: str
    note: str
    turner_id: int | None
    place_number: int | None
    turning: Turning


class StopView(NamedTuple):
    """A stop of a turner with the rods that it caught wet, in the order in which to turn them."""

    id: int
    turner_id: int
    turner: str
    stopped_at: datetime
    by: str
    note: str
    ended_at: datetime | None
    ended_by: str
    rods: tuple[StoppedRodView, ...]

    def by_hand(self, now: datetime) -> list[StoppedRodView]:
        """The rods that must be turned by hand, the next one first."""
        return [rod for rod in self.rods if not rod.outcome and self.needs_hand(rod, now)]

    def to_inspect(self, now: datetime) -> list[StoppedRodView]:
        """The rods whose coats may and must be inspected."""
        return [rod for rod in self.rods if not rod.outcome and not self.needs_hand(rod, now)]

    def needs_hand(self, rod: StoppedRodView, now: datetime) -> bool:
        """Whether a rod stands still on this turner with its coat still wet."""
        is_on_it = rod.turner_id == self.turner_id
        return must_turn_by_hand(self.ended_at is None, is_on_it, rod.turning, now)


_STOPS: Select[*tuple[Any, ...]] = (
    select(
        TurnerStop.id, TurnerStop.turner_id, Turner.name, TurnerStop.stopped_at, TurnerStop.by,
        TurnerStop.note, TurnerStop.ended_at, TurnerStop.ended_by,
    )
    .join_from(Turner, TurnerStop, TurnerStop.turner_id == Turner.id)
    .order_by(TurnerStop.stopped_at, TurnerStop.id)
)  # fmt: skip
_UNINSPECTED = (
    select(StoppedRod.id)
    .where(StoppedRod.stop_id == TurnerStop.id, StoppedRod.outcome == "")
    .correlate(TurnerStop)
    .exists()
)
# By way of the few turners; the planner would else walk what every one of them ever did.
_TO_SEE = _STOPS.where(
    TurnerStop.turner_id.in_(select(Turner.id)), or_(TurnerStop.ended_at.is_(None), _UNINSPECTED)
)
_STOP = _STOPS.where(TurnerStop.id == bindparam("id"))
_RODS: Select[*tuple[Any, ...]] = (
    select(
        StoppedRod.id, StoppedRod.stop_id, StoppedRod.build_id, Build.number, Build.title, StoppedRod.section,
        StoppedRod.turned_at, StoppedRod.turned_by, StoppedRod.inspected_at, StoppedRod.inspected_by,
        StoppedRod.outcome, StoppedRod.note, TurnerStay.turner_id, TurnerStay.place_number,
    )
    .join(Build, Build.id == StoppedRod.build_id)
    .join(
        TurnerStay,
        (TurnerStay.build_id == StoppedRod.build_id)
        & (TurnerStay.section == StoppedRod.section)
        & TurnerStay.off_at.is_(None),
        isouter=True,
    )
    .where(StoppedRod.stop_id.in_(bindparam("stop_ids", expanding=True)))
)  # fmt: skip


def stops_to_see(session: Session, warmth: Warmth) -> list[StopView]:
    """The stops that go on, and those after which a coat is still to be inspected, by when they began."""
    return _views(session, warmth, session.execute(_TO_SEE).all())


def stop_view(session: Session, stop_id: int, warmth: Warmth) -> StopView:
    """One stop with its rods. Raises `NotOnFile`."""
    views = _views(session, warmth, session.execute(_STOP, {"id": stop_id}).all())
    if not views:
        raise NotOnFile(f"There is no stop {stop_id} of a turner on record.")
    return views[0]


def _views(session: Session, warmth: Warmth, rows: Iterable[Any]) -> list[StopView]:
    stops = [tuple(row) for row in rows]
    found = session.execute(_RODS, {"stop_ids": [stop[0] for stop in stops]}).all() if stops else []
    turnings = turnings_of(session, list({row[2] for row in found}), warmth)
    rods: dict[int, list[StoppedRodView]] = {}
    for row in found:
        rods.setdefault(row[1], []).append(StoppedRodView._make((*row, turnings.get(row[2], Turning()))))
    return [StopView._make((*stop, tuple(sorted(rods.get(stop[0], []), key=_order)))) for stop in stops]


def _order(rod: StoppedRodView) -> Any:
    return hand_order(rod.turning, rod.place_number or 0, rod.turned_at)


def stop_record(session: Session, stop_id: int) -> TurnerStop:
    """The record of one stop, for a verb; locked until the transaction ends. Raises `NotOnFile`."""
    # Not so hard that a rod which it caught could not be added by somebody who holds that rod's build.
    stop = session.get(TurnerStop, stop_id, with_for_update={"key_share": True})
    if stop is None:
        raise NotOnFile(f"There is no stop {stop_id} of a turner on record.")
    return stop


def stops_of_turner(session: Session, turner_id: int) -> list[TurnerStop]:
    """The records of every stop of a turner, for a verb, in the order noted."""
    return list(
        session.scalars(select(TurnerStop).where(TurnerStop.turner_id == turner_id).order_by(TurnerStop.id))
    )


def stopped_rods(session: Session, stop_id: int) -> list[StoppedRod]:
    """The records of the rods that a stop caught wet, for a verb."""
    return list(
        session.scalars(select(StoppedRod).where(StoppedRod.stop_id == stop_id).order_by(StoppedRod.id))
    )


def stopped_rod_record(session: Session, stop_id: int, build_id: int, section: int) -> StoppedRod:
    """The record of one rod that a stop caught wet; locked until the transaction ends. Raises `NotOnFile`."""
    wanted = select(StoppedRod).where(
        StoppedRod.stop_id == stop_id, StoppedRod.build_id == build_id, StoppedRod.section == section
    )
    rod = session.scalars(wanted.with_for_update()).first()
    if rod is None:
        raise NotOnFile("That rod was not wet on this turner when it stood still.")
    return rod


def pending_inspection(session: Session, build_id: int, section: int) -> StoppedRod | None:
    """The record of a coat on that section which stood still and was not inspected since, or none.

    A whole rod (section 0) has every section, and every section is part of the whole rod.
    """
    wanted = select(StoppedRod).where(StoppedRod.build_id == build_id, StoppedRod.outcome == "")
    rods = session.scalars(wanted)
    return next((rod for rod in rods if section in (0, rod.section) or rod.section == 0), None)
