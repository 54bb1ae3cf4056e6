"""Turners with the rods on them: until when each must turn, and when to look whether a turner still turns.

Until when a rod must turn is computed from its cures by `shop.rules.turners`; nothing of it is stored. Stops
are in `shop.queries.turner_stops`, what decisions about a build want to know in `shop.queries.turner_facts`.
"""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, func, or_, select
from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.cures import Cure
from shop.db.mixes import Mix
from shop.db.turners import StoppedRod, Turner, TurnerCheck, TurnerStay, TurnerStop
from shop.db.zones import Zone
from shop.queries.cure_clock import Warmth
from shop.queries.cures import cure_facts_of_builds
from shop.rules.facts import CureFact
from shop.rules.refusals import NotOnFile
from shop.rules.turners import Coat, Occupied, Places, Turning, Wet, next_look, turning_of


class StayView(NamedTuple):
    """A rod, or one section of it (0 for the whole rod), on a place of a turner; `off_at` none while on it.

    `to_inspect` says that it stood still while it was wet, and that nobody has looked at its coat since.
    """

    id: int
    turner_id: int
    place_number: int
    section: int
    on_at: datetime
    by: str
    off_at: datetime | None
    off_by: str
    build_id: int
    build: str
    title: str
    to_inspect: bool
    turning: Turning

    @property
    def occupied(self) -> Occupied:
        """The same as the rules take it."""
        return Occupied(self.turner_id, self.place_number, self.on_at, self.turning, self.to_inspect)


class TurnerView(NamedTuple):
    """A turner with the rods on it, by place.

    `seen_at` is when it was last known to turn, by a look or by the end of a stop; `stop_id` and
    `stopped_at` are none while it turns.
    """

    id: int
    name: str
    places: int
    check_minutes: int
    zone_id: int | None
    zone: str | None
    version: int
    seen_at: datetime | None
    stop_id: int | None
    stopped_at: datetime | None
    stays: tuple[StayView, ...]

    @property
    def free(self) -> int:
        """How many places a rod could be put on now."""
        return 0 if self.stop_id else self.places - len(self.stays)

    @property
    def as_places(self) -> Places:
        """The same as the rules take it."""
        return Places(self.id, self.places, self.stop_id is not None)

    @property
    def last_seen_at(self) -> datetime | None:
        """The last instant at which somebody stood at it and it turned: a look, or a rod put on."""
        return max((at for at in (self.seen_at, *(stay.on_at for stay in self.stays)) if at), default=None)

    def look_at(self, now: datetime) -> datetime | None:
        """When to look next whether it turns; none while it stands still or nothing on it is wet."""
        wet = [Wet(stay.occupied.wet_since, stay.turning.until) for stay in self.wet_at(now)]
        return None if self.stop_id else next_look(wet, self.seen_at, timedelta(minutes=self.check_minutes))

    def wet_at(self, now: datetime) -> list[StayView]:
        """The rods on it that must go on turning."""
        return [stay for stay in self.stays if not stay.turning.is_over(now)]


class TurnersNow(NamedTuple):
    """Every turner and every place taken, as `shop.rules.turners` takes them."""

    stays: tuple[Occupied, ...]
    turners: tuple[Places, ...]


def _of_turner(column: Any) -> Any:
    return select(func.max(column)).where(column.class_.turner_id == Turner.id).correlate(Turner)


_STANDS = (TurnerStop.turner_id == Turner.id) & TurnerStop.ended_at.is_(None)
_STOP_ID = select(func.max(TurnerStop.id)).where(_STANDS).correlate(Turner).scalar_subquery()
_STOPPED_AT = select(func.max(TurnerStop.stopped_at)).where(_STANDS).correlate(Turner).scalar_subquery()
_TURNERS: Select[*tuple[Any, ...]] = (
    select(
        Turner.id, Turner.name, Turner.places, Turner.check_minutes, Turner.zone_id, Zone.name,
        Turner.version, _of_turner(TurnerCheck.at).scalar_subquery(),
        _of_turner(TurnerStop.ended_at).scalar_subquery(), _STOP_ID, _STOPPED_AT,
    )
    .join(Zone, Zone.id == Turner.zone_id, isouter=True)
    .order_by(Turner.id)
)  # fmt: skip
_PAGE = _TURNERS.where(Turner.id > bindparam("after")).limit(bindparam("most"))
_ONE = _TURNERS.where(Turner.id == bindparam("id"))
_TO_INSPECT = (
    select(StoppedRod.id)
    .where(
        StoppedRod.build_id == TurnerStay.build_id,
        or_(StoppedRod.section == TurnerStay.section, StoppedRod.section == 0, TurnerStay.section == 0),
        StoppedRod.outcome == "",
    )
    .correlate(TurnerStay)
    .exists()
)
_STAYS: Select[*tuple[Any, ...]] = select(
    TurnerStay.id, TurnerStay.turner_id, TurnerStay.place_number, TurnerStay.section, TurnerStay.on_at,
    TurnerStay.by, TurnerStay.off_at, TurnerStay.off_by, TurnerStay.build_id, Build.number, Build.title,
    _TO_INSPECT,
).join(Build, Build.id == TurnerStay.build_id)  # fmt: skip
_ON = _STAYS.where(TurnerStay.off_at.is_(None)).order_by(TurnerStay.turner_id, TurnerStay.place_number)
_STAY = _STAYS.where(TurnerStay.id == bindparam("id"))
# What counts is the coat; a joint does not sag.
_COATS = (
    select(Cure.build_id, Cure.id, Mix.turn_minutes)
    .join(Mix, (Mix.root_id == Cure.mix_id) & Mix.superseded_by_id.is_(None))
    .where(
        Cure.build_id.in_(bindparam("build_ids", expanding=True)), Cure.superseded_by_id.is_(None),
        Cure.failed_reason == "", Mix.use == "finish",
    )
)  # fmt: skip


def turners_after(session: Session, warmth: Warmth, after: int, most: int) -> list[TurnerView]:
    """At most `most` turners whose id is above `after`, with the rods on them, by id."""
    rows = session.execute(_PAGE, {"after": after, "most": most}).all()
    return _views(session, warmth, rows)


def every_turner(session: Session, warmth: Warmth) -> list[TurnerView]:
    """Every turner with the rods on it, by id, in a fixed number of statements."""
    return _views(session, warmth, session.execute(_TURNERS).all())


def turner_view(session: Session, turner_id: int, warmth: Warmth) -> TurnerView:
    """One turner with the rods on it. Raises `NotOnFile`."""
    views = _views(session, warmth, session.execute(_ONE, {"id": turner_id}).all())
    if not views:
        raise NotOnFile(f"There is no turner {turner_id} on file.")
    return views[0]


def _views(session: Session, warmth: Warmth, rows: Iterable[Any]) -> list[TurnerView]:
    rows = list(rows)
    stays = stays_on(session, warmth) if rows else []
    views = []
    for turner_id, name, places, minutes, zone_id, zone, version, checked, ended, stop_id, stopped in rows:
        seen_at = max((at for at in (checked, ended) if at is not None), default=None)
        own = tuple(stay for stay in stays if stay.turner_id == turner_id)
        view = (turner_id, name, places, minutes, zone_id, zone, version, seen_at, stop_id, stopped, own)
        views.append(TurnerView(*view))
    return views


def stays_on(session: Session, warmth: Warmth) -> list[StayView]:
    """The rods on every turner, by turner and place."""
    return _stays(session, warmth, session.execute(_ON).all())


def stay_view(session: Session, stay_id: int, warmth: Warmth) -> StayView:
    """One stay of a rod on a turner, ended or not. Raises `NotOnFile`."""
    stays = _stays(session, warmth, session.execute(_STAY, {"id": stay_id}).all())
    if not stays:
        raise NotOnFile(f"There is no stay {stay_id} on a turner on record.")
    return stays[0]


def _stays(session: Session, warmth: Warmth, rows: Iterable[Any]) -> list[StayView]:
    rows = list(rows)
    turnings = turnings_of(session, list({row[8] for row in rows}), warmth)
    return [StayView._make((*row, turnings.get(row[8], Turning()))) for row in rows]


def turnings_of(session: Session, build_ids: list[int], warmth: Warmth) -> dict[int, Turning]:
    """What the coats of some builds ask of a turner, by the build's id; a build without a coat is left out.

    Coats of earlier passes count too: sending a build back does not dry them.
    """
    coats = coats_of(session, build_ids, warmth)
    return {build_id: turning_of(found) for build_id, found in coats.items()}


def coats_of(session: Session, build_ids: list[int], warmth: Warmth) -> dict[int, list[Coat]]:
    """Every coat that counts of some builds, by the build's id; a build without one is left out."""
    if not build_ids:
        return {}
    rows = session.execute(_COATS, {"build_ids": build_ids}).all()
    if not rows:
        return {}
    facts = cure_facts_of_builds(session, list({row[0] for row in rows}), warmth)
    by_id = {fact.id: fact for found in facts.values() for fact in found}
    coats: dict[int, list[Coat]] = {}
    for build_id, cure_id, turn_minutes in rows:
        coats.setdefault(build_id, []).append(_coat(by_id[cure_id], turn_minutes is not None))
    return coats


def _coat(fact: CureFact, by_sheet: bool) -> Coat:
    until = fact.turned_at if by_sheet else fact.set_at
    return Coat(fact.closed_at, None if fact.tacky else until, by_sheet)


def turners_now(session: Session, warmth: Warmth) -> TurnersNow:
    """Every turner and every place taken, to ask `places_free_for` and `first_free_at` with."""
    views = every_turner(session, warmth)
    stays = tuple(stay.occupied for view in views for stay in view.stays)
    return TurnersNow(stays, tuple(view.as_places for view in views))


def turner_record(session: Session, turner_id: int) -> Turner:
    """The record of one turner, for a verb; locked until the transaction ends. Raises `NotOnFile`.

    Verbs that lock builds too lock the turner first.
    """
    turner = session.get(Turner, turner_id, with_for_update=True)
    if turner is None:
        raise NotOnFile(f"There is no turner {turner_id} on file.")
    return turner


def turner_name(session: Session, turner_id: int) -> str:
    """What a turner that is on file is called."""
    return session.execute(select(Turner.name).where(Turner.id == turner_id)).scalar_one()


def turner_named(session: Session, name: str) -> Turner | None:
    """The record of the turner of that name, or none."""
    return session.scalars(select(Turner).where(Turner.name == name)).first()


def stay_record(session: Session, stay_id: int) -> TurnerStay:
    """The record of one stay, for a verb; locked until the transaction ends. Raises `NotOnFile`."""
    stay = session.get(TurnerStay, stay_id, with_for_update=True)
    if stay is None:
        raise NotOnFile(f"There is no stay {stay_id} on a turner on record.")
    return stay


def last_stay_at(session: Session, turner_id: int, place_number: int) -> TurnerStay | None:
    """The record of the stay that was last put down for a place, or none."""
    wanted = select(TurnerStay).where(
        TurnerStay.turner_id == turner_id, TurnerStay.place_number == place_number
    )
    return session.scalars(wanted.order_by(TurnerStay.id.desc()).limit(1)).first()


def stays_of_build(session: Session, build_id: int) -> list[TurnerStay]:
    """The records of every stay of a build, ended ones too, in the order entered."""
    wanted = select(TurnerStay).where(TurnerStay.build_id == build_id)
    return list(session.scalars(wanted.order_by(TurnerStay.id)))


def stays_since(session: Session, turner_id: int, since: datetime) -> list[TurnerStay]:
    """The records of the rods that are on a turner, or that came off it after an instant, for a verb."""
    wanted = select(TurnerStay).where(
        TurnerStay.turner_id == turner_id, or_(TurnerStay.off_at.is_(None), TurnerStay.off_at > since)
    )
    return list(session.scalars(wanted.order_by(TurnerStay.id)))
