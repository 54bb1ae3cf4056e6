"""Cures: the stored instants joined to their mixes, and the times that follow from the zones' warmth."""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from functools import lru_cache
from typing import Any, NamedTuple

from sqlalchemy import Row, Select, bindparam, exists, func, select
from sqlalchemy.orm import Session, aliased

from shop.craft.cure import CureTimes, Sheet
from shop.db.builds import Build
from shop.db.cures import Cure
from shop.db.mixes import Mix, PuddleCheck
from shop.queries.adhesives import AdhesiveView
from shop.queries.cure_clock import Clocks, Warmth, instant_of
from shop.queries.lots import MixedFrom, lot_faults
from shop.queries.moves import (
    Move,
    Path,
    moves_of_build,
    moves_of_cure,
    moves_of_mixes,
    open_moves,
    paths,
)
from shop.rules.adhesives import mark_of
from shop.rules.facts import CureFact
from shop.rules.puddles import PuddleState, Touch, is_in_doubt
from shop.rules.refusals import NotOnFile


class MoveView(NamedTuple):
    """A cure carried to a zone; `undone` says why it is not so, and is empty where it stands."""

    id: int
    zone: str
    at: datetime
    by: str
    undone: str


class CureView(NamedTuple):
    """A cure with its times: null where it is stalled, or where the sheet is silent.

    `zone` is where it lies now, `closed_in` where it lay when it was closed; `moves` has those undone too.
    `sheet_mark` says what the figures of its mix lacked when that was made; empty where they were a sheet's.
    """

    id: int
    build: str
    place: str
    mix_id: int
    adhesive: str
    zone: str
    pass_number: int
    closed_at: datetime
    by: str
    set_at: datetime | None
    full_at: datetime | None
    recoat_from: datetime | None
    recoat_until: datetime | None
    stalled: bool
    failed: str
    corrects: int | None
    corrected_by: int | None
    turned_at: datetime | None
    closed_in: str
    moves: tuple[MoveView, ...]
    sheet_mark: str


# What `sheet_of` takes, in its order.
FIGURES = (
    Mix.reference_c, Mix.pot_life_minutes, Mix.set_minutes, Mix.full_cure_minutes, Mix.recoat_from_minutes,
    Mix.recoat_until_minutes, Mix.coldest_c, Mix.doubling_c, Mix.turn_minutes,
)  # fmt: skip
_COLUMNS = (
    Cure.build_id, Cure.id, Cure.place, Cure.closed_at, Cure.failed_reason, Mix.root_id,
    func.coalesce(Cure.zone_id, Mix.zone_id), Mix.adhesive_name, Mix.sheet_state, *FIGURES,
)  # fmt: skip
# By way of the few open builds; the planner would else walk the whole history.
_ON_OPEN = Cure.build_id.in_(select(Build.id).where(Build.closed_at.is_(None)))
# Cures and their mixes apart: many cures share a mix, and fewer columns are fewer values to make.
_CURE = select(
    Cure.build_id, Cure.id, Cure.place, Cure.closed_at, Cure.failed_reason, Cure.mix_id, Cure.zone_id
).where(Cure.superseded_by_id.is_(None))
_MIX: Select[*tuple[Any, ...]] = select(
    Mix.root_id, Mix.id, Mix.zone_id, Mix.mixed_at, Mix.adhesive_name, Mix.adhesive_id, Mix.lot_a_id,
    Mix.lot_b_id, Mix.releases, Mix.sheet_state, *FIGURES,
).where(Mix.superseded_by_id.is_(None))  # fmt: skip
_OPEN = _CURE.join(Build, Build.id == Cure.build_id).where(_ON_OPEN, Cure.pass_number == Build.pass_number)
_OPEN_MIXES = _MIX.where(Mix.root_id.in_(select(Cure.mix_id).where(_ON_OPEN)))
_OF_PASS = _CURE.where(Cure.build_id == bindparam("build_id"), Cure.pass_number == bindparam("pass_number"))
_MIXES_OF_BUILD = _MIX.where(
    Mix.root_id.in_(select(Cure.mix_id).where(Cure.build_id == bindparam("build_id")))
)
_SHOWN: Select[*tuple[Any, ...]] = (
    select(*_COLUMNS, Build.number, Cure.pass_number, Cure.by, Cure.corrects_id, Cure.superseded_by_id)
    .join_from(Cure, Mix, (Mix.root_id == Cure.mix_id) & Mix.superseded_by_id.is_(None))
    .join(Build, Build.id == Cure.build_id)
)
_SHOWN_ONE = _SHOWN.where(Cure.id == bindparam("id"))
_SHOWN_OF_BUILD = _SHOWN.where(Cure.build_id == bindparam("build_id")).order_by(Cure.id)
_SHOWN_OF_MIX = _SHOWN.where(Mix.root_id == bindparam("mix_id")).order_by(Cure.id)
_OF_BUILDS = _CURE.where(Cure.build_id.in_(bindparam("build_ids", expanding=True)))
_OF_MIXES = _CURE.where(Cure.mix_id.in_(bindparam("mix_ids", expanding=True)))
_MIXES = _MIX.where(Mix.root_id.in_(bindparam("mix_ids", expanding=True)))
_later = aliased(PuddleCheck)
_TACKY = select(PuddleCheck.mix_id, PuddleCheck.at).where(
    PuddleCheck.state == "tacky",
    # The last touch counts, not the last one entered: work is logged late.
    ~exists().where(
        _later.mix_id == PuddleCheck.mix_id,
        (_later.at > PuddleCheck.at) | ((_later.at == PuddleCheck.at) & (_later.id > PuddleCheck.id)),
    ),
)


@lru_cache(maxsize=4096)
def sheet_of(*figures: float | None) -> Sheet:
    """The copied figures of a mix as the cure clock takes them; made once for each product."""
    return Sheet(*figures)  # type: ignore[arg-type]


def sheet_in(source: Mix | AdhesiveView) -> Sheet:
    """The figures of an adhesive, or those that a mix has copied of one, as the cure clock takes them."""
    return sheet_of(*(getattr(source, column.key) for column in FIGURES))


def tacky_puddles(session: Session) -> dict[int, datetime]:
    """When the puddle was last found tacky, for each mix whose last puddle check says so."""
    return dict(session.execute(_TACKY).all())


def _doubted(session: Session, warmth: Warmth) -> frozenset[int]:
    """The root ids of the mixes that their puddles put in doubt; nearly always none.

    Every cure of such a mix counts for when it should have set, on whichever rod it is.
    """
    tacky = tacky_puddles(session)
    if not tacky:
        return frozenset()
    core, wanted = session.connection(), {"mix_ids": list(tacky)}
    mixes = {row[0]: tuple(row) for row in core.execute(_MIXES, wanted)}
    set_times: dict[int, list[datetime | None]] = {}
    soonest: dict[int, list[datetime]] = {}
    moves, clocks = paths(moves_of_mixes(session, list(tacky))), Clocks(session, warmth)
    rows = core.execute(_OF_MIXES, wanted)
    for facts in _facts_by_build(rows, mixes, frozenset(), {}, moves, clocks).values():
        for fact in facts:
            set_times.setdefault(fact.mix_id, []).append(fact.set_at)
            sheet = sheet_of(*mixes[fact.mix_id][-len(FIGURES) :])
            at_full_credit = timedelta(minutes=sheet.set_minutes / warmth.credit_cap)
            soonest.setdefault(fact.mix_id, []).append(fact.closed_at + at_full_credit)
    return frozenset(
        mix_id
        for mix_id, at in tacky.items()
        if is_in_doubt(set_times.get(mix_id, ()), Touch(PuddleState.TACKY, at), soonest.get(mix_id, ()))
    )


def open_cure_facts(session: Session, warmth: Warmth) -> dict[int, list[CureFact]]:
    """The present pass's cures of every open build, by the build's id."""
    core = session.connection()
    mixes = {row[0]: tuple(row) for row in core.execute(_OPEN_MIXES)}
    faults, moves = _lot_faults(session, mixes), paths(open_moves(session))
    doubted, clocks = _doubted(session, warmth), Clocks(session, warmth)
    return _facts_by_build(core.execute(_OPEN), mixes, doubted, faults, moves, clocks)


def cure_facts(session: Session, build_id: int, pass_number: int, warmth: Warmth) -> list[CureFact]:
    """The cures of one pass of one build."""
    core = session.connection()
    rows = core.execute(_OF_PASS, {"build_id": build_id, "pass_number": pass_number}).all()
    if not rows:
        return []
    mixes = {row[0]: tuple(row) for row in core.execute(_MIXES_OF_BUILD, {"build_id": build_id})}
    faults, moves = _lot_faults(session, mixes), paths(moves_of_build(session, build_id))
    doubted, clocks = _doubted(session, warmth), Clocks(session, warmth)
    return _facts_by_build(rows, mixes, doubted, faults, moves, clocks).get(build_id, [])


def cure_facts_of_builds(session: Session, build_ids: list[int], warmth: Warmth) -> dict[int, list[CureFact]]:
    """The cures of every pass of some builds, by the build's id, in a fixed number of statements."""
    core = session.connection()
    rows = core.execute(_OF_BUILDS, {"build_ids": build_ids}).all() if build_ids else []
    if not rows:
        return {}
    mix_ids = list({row[5] for row in rows})
    mixes = {row[0]: tuple(row) for row in core.execute(_MIXES, {"mix_ids": mix_ids})}
    faults, moves = _lot_faults(session, mixes), paths(moves_of_mixes(session, mix_ids))
    doubted, clocks = _doubted(session, warmth), Clocks(session, warmth)
    return _facts_by_build(rows, mixes, doubted, faults, moves, clocks)


def _lot_faults(session: Session, mixes: dict[int, tuple[Any, ...]]) -> dict[int, str]:
    """What is wrong with the lots that the mixes name, by root id; asked only where one names any."""
    named = {
        root_id: MixedFrom(mix[5], mix[3], mix[6], mix[7], mix[8])
        for root_id, mix in mixes.items()
        if mix[6] or mix[7]
    }
    return lot_faults(session, named)


def _facts_by_build(
    rows: Iterable[Row[*tuple[Any, ...]]],
    mixes: dict[int, tuple[Any, ...]],
    doubted: frozenset[int],
    lot_faults_by_mix: dict[int, str],
    moves: Mapping[int, Path],
    clocks: Clocks,
) -> dict[int, list[CureFact]]:
    """The facts of the rows; each is kept by all that it was made from while the warmth is the same."""
    found: dict[int, list[CureFact]] = {}
    answers = clocks.warmth.answers
    for row in rows:
        mix = mixes[row[5]]
        # A mix's entry is never changed, so its id stands for its figures.
        lot_fault = lot_faults_by_mix.get(row[5], "")
        path = moves.get(row[1], ())
        key = (row[1], row[2], row[3], row[4], row[6], mix[1], row[5] in doubted, lot_fault, path)
        fact = answers.get(key)
        if fact is None:
            fact = answers[key] = _fact(row, mix, row[5] in doubted, lot_fault, path, clocks)
        found.setdefault(row[0], []).append(fact)
    return found


def _fact(
    row: Row[*tuple[Any, ...]],
    mix: tuple[Any, ...],
    is_doubted: bool,
    lot_fault: str,
    path: Path,
    clocks: Clocks,
) -> CureFact:
    _, cure_id, place, closed_at, failed, mix_id, zone_id = row
    _, _, mixed_in, mixed_at, adhesive, _, _, _, _, state, *figures = mix
    sheet = sheet_of(*figures)
    times = _times(clocks, sheet, closed_at, zone_id or mixed_in, path)
    zones, mixed = clocks.warmth.zones, mixed_at.timestamp()
    pot_life_ends = instant_of(clocks.pot_life_ends(mixed_in, sheet, mixed))
    assert pot_life_ends is not None
    return CureFact(
        id=cure_id,
        place=place,
        adhesive=adhesive,
        closed_at=closed_at,
        set_at=instant_of(times.set_at),
        full_at=instant_of(times.full_at),
        recoat_from=instant_of(times.recoat_from),
        recoat_until=instant_of(times.recoat_until),
        has_recoat_window=sheet.recoat_from_minutes is not None,
        pot_life_ends_at=pot_life_ends,
        tacky=is_doubted,
        failed=bool(failed),
        zone=zones[mixed_in].name,
        mixing_c=clocks.temperature_at(mixed_in, mixed),
        coldest_c=sheet.coldest,
        lot_fault=lot_fault,
        mix_id=mix_id,
        turned_at=instant_of(times.turned_at),
        lies_in=zones[path[-1][1] if path else zone_id or mixed_in].name,
        sheet_mark=mark_of(state),
    )


def _times(clocks: Clocks, sheet: Sheet, closed_at: datetime, zone_id: int, path: Path) -> CureTimes:
    """The times of a cure that was closed in a zone and then went its way."""
    closed = closed_at.timestamp()
    stays = [(closed, zone_id), *((max(closed, at.timestamp()), to) for at, to in path)]
    return clocks.times(stays, sheet, closed)


def cure_view(session: Session, cure_id: int, warmth: Warmth) -> CureView:
    """One cure with its times. Raises `NotOnFile`."""
    row = session.execute(_SHOWN_ONE, {"id": cure_id}).first()
    if row is None:
        raise NotOnFile(f"There is no cure {cure_id} on record.")
    return _view(row, {cure_id: moves_of_cure(session, cure_id)}, Clocks(session, warmth))


def cures_of_build(session: Session, build_id: int, warmth: Warmth) -> list[CureView]:
    """Every cure of a build, corrected and failed ones included, in the order entered."""
    rows = session.execute(_SHOWN_OF_BUILD, {"build_id": build_id}).all()
    moves, clocks = moves_of_build(session, build_id) if rows else {}, Clocks(session, warmth)
    return [_view(row, moves, clocks) for row in rows]


def cures_of_mix(session: Session, mix_id: int, warmth: Warmth) -> list[CureView]:
    """Every cure of a mix (by its root id), in the order entered."""
    rows = session.execute(_SHOWN_OF_MIX, {"mix_id": mix_id}).all()
    moves, clocks = moves_of_mixes(session, [mix_id]) if rows else {}, Clocks(session, warmth)
    return [_view(row, moves, clocks) for row in rows]


def _view(row: Row[*tuple[Any, ...]], moves: Mapping[int, list[Move]], clocks: Clocks) -> CureView:
    (_, cure_id, place, closed_at, failed, mix_id, zone_id, adhesive, state, *figures, number, pass_number,
     by, corrects, corrected_by) = row  # fmt: skip
    made, zones = moves.get(cure_id, []), clocks.warmth.zones
    path = paths({cure_id: made})[cure_id]
    times = _times(clocks, sheet_of(*figures), closed_at, zone_id, path)
    full_at = instant_of(times.full_at)
    return CureView(
        cure_id, number, place, mix_id, adhesive, zones[path[-1][1] if path else zone_id].name, pass_number,
        closed_at, by, instant_of(times.set_at), full_at, instant_of(times.recoat_from),
        instant_of(times.recoat_until), full_at is None, failed, corrects, corrected_by,
        instant_of(times.turned_at), zones[zone_id].name,
        tuple(MoveView(move.id, zones[move.zone_id].name, move.at, move.by, move.undone) for move in made),
        mark_of(state),
    )  # fmt: skip


def cure_record(session: Session, cure_id: int) -> Cure:
    """The record of one cure, for a verb; locked until the transaction ends. Raises `NotOnFile`."""
    cure = session.get(Cure, cure_id, with_for_update=True)
    if cure is None:
        raise NotOnFile(f"There is no cure {cure_id} on record.")
    return cure


def cure_records_of_mix(session: Session, mix_id: int) -> list[Cure]:
    """The records of a mix's cures that count, for a verb."""
    wanted = select(Cure).where(Cure.mix_id == mix_id, Cure.superseded_by_id.is_(None))
    return list(session.scalars(wanted))
