"""Cures: the stored instants joined to their mixes, and the times that follow from the zones' warmth."""

from collections.abc import Iterable
from datetime import datetime
from functools import lru_cache
from typing import Any, NamedTuple

from sqlalchemy import Row, Select, bindparam, exists, func, select
from sqlalchemy.orm import Session, aliased

from shop.craft.cure import Sheet
from shop.db.builds import Build
from shop.db.cures import Cure
from shop.db.mixes import Mix, PuddleCheck
from shop.queries.cure_clock import Warmth, instant_of
from shop.rules.facts import CureFact
from shop.rules.refusals import NotOnFile


class CureView(NamedTuple):
    """A cure with its times: null where it is stalled, or where the sheet is silent."""

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


_FIGURES = (
    Mix.reference_c, Mix.pot_life_minutes, Mix.set_minutes, Mix.full_cure_minutes, Mix.recoat_from_minutes,
    Mix.recoat_until_minutes, Mix.coldest_c, Mix.doubling_c,
)  # fmt: skip
_COLUMNS = (
    Cure.build_id, Cure.id, Cure.place, Cure.closed_at, Cure.failed_reason, Mix.root_id,
    func.coalesce(Cure.zone_id, Mix.zone_id), Mix.adhesive_name, *_FIGURES,
)  # fmt: skip
# By way of the few open builds; the planner would else walk the whole history.
_ON_OPEN = Cure.build_id.in_(select(Build.id).where(Build.closed_at.is_(None)))
# Cures and their mixes apart: many cures share a mix, and fewer columns are fewer values to make.
_CURE = select(
    Cure.build_id, Cure.id, Cure.place, Cure.closed_at, Cure.failed_reason, Cure.mix_id, Cure.zone_id
).where(Cure.superseded_by_id.is_(None))
_MIX: Select[*tuple[Any, ...]] = select(
    Mix.root_id, Mix.id, Mix.zone_id, Mix.mixed_at, Mix.adhesive_name, *_FIGURES
).where(Mix.superseded_by_id.is_(None))
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


def tacky_puddles(session: Session) -> dict[int, datetime]:
    """When the puddle was last found tacky, for each mix whose last puddle check says so."""
    return dict(session.execute(_TACKY).all())


def open_cure_facts(session: Session, warmth: Warmth) -> dict[int, list[CureFact]]:
    """The present pass's cures of every open build, by the build's id."""
    core = session.connection()
    mixes = {row[0]: tuple(row) for row in core.execute(_OPEN_MIXES)}
    return _facts_by_build(core.execute(_OPEN), mixes, tacky_puddles(session), warmth)


def cure_facts(session: Session, build_id: int, pass_number: int, warmth: Warmth) -> list[CureFact]:
    """The cures of one pass of one build."""
    core = session.connection()
    rows = core.execute(_OF_PASS, {"build_id": build_id, "pass_number": pass_number}).all()
    if not rows:
        return []
    mixes = {row[0]: tuple(row) for row in core.execute(_MIXES_OF_BUILD, {"build_id": build_id})}
    return _facts_by_build(rows, mixes, tacky_puddles(session), warmth).get(build_id, [])


def _facts_by_build(
    rows: Iterable[Row[*tuple[Any, ...]]],
    mixes: dict[int, tuple[Any, ...]],
    tacky: dict[int, datetime],
    warmth: Warmth,
) -> dict[int, list[CureFact]]:
    """The facts of the rows; each is kept by all that it was made from while the warmth is the same."""
    found: dict[int, list[CureFact]] = {}
    answers = warmth.answers
    for row in rows:
        mix = mixes[row[5]]
        # A mix's entry is never changed, so its id stands for its figures.
        key = (row[1], row[2], row[3], row[4], row[6], mix[1], tacky.get(row[5]))
        fact = answers.get(key)
        if fact is None:
            fact = answers[key] = _fact(row, mix, tacky.get(row[5]), warmth)
        found.setdefault(row[0], []).append(fact)
    return found


def _fact(
    row: Row[*tuple[Any, ...]], mix: tuple[Any, ...], tacky_at: datetime | None, warmth: Warmth
) -> CureFact:
    _, cure_id, place, closed_at, failed, _, zone_id = row
    _, _, mixed_in, mixed_at, adhesive, *figures = mix
    sheet = sheet_of(*figures)
    clock = warmth.zones[zone_id or mixed_in].clock
    times = clock.times(sheet, closed_at.timestamp(), warmth.credit_cap)
    set_at = instant_of(times.set_at)
    mixing = warmth.zones[mixed_in]
    mixed = mixed_at.timestamp()
    pot_life_ends = instant_of(mixing.clock.pot_life_ends(sheet, mixed))
    assert pot_life_ends is not None
    return CureFact(
        id=cure_id,
        place=place,
        adhesive=adhesive,
        closed_at=closed_at,
        set_at=set_at,
        full_at=instant_of(times.full_at),
        recoat_from=instant_of(times.recoat_from),
        recoat_until=instant_of(times.recoat_until),
        has_recoat_window=sheet.recoat_from_minutes is not None,
        pot_life_ends_at=pot_life_ends,
        tacky=tacky_at is not None and set_at is not None and tacky_at >= set_at,
        failed=bool(failed),
        zone=mixing.name,
        mixing_c=mixing.clock.temperature_at(mixed),
        coldest_c=sheet.coldest,
    )


def cure_view(session: Session, cure_id: int, warmth: Warmth) -> CureView:
    """One cure with its times. Raises `NotOnFile`."""
    row = session.execute(_SHOWN_ONE, {"id": cure_id}).first()
    if row is None:
        raise NotOnFile(f"There is no cure {cure_id} on record.")
    return _view(row, warmth)


def cures_of_build(session: Session, build_id: int, warmth: Warmth) -> list[CureView]:
    """Every cure of a build, corrected and failed ones included, in the order entered."""
    return [_view(row, warmth) for row in session.execute(_SHOWN_OF_BUILD, {"build_id": build_id})]


def cures_of_mix(session: Session, mix_id: int, warmth: Warmth) -> list[CureView]:
    """Every cure of a mix (by its root id), in the order entered."""
    return [_view(row, warmth) for row in session.execute(_SHOWN_OF_MIX, {"mix_id": mix_id})]


def _view(row: Row[*tuple[Any, ...]], warmth: Warmth) -> CureView:
    (_, cure_id, place, closed_at, failed, mix_id, zone_id, adhesive, *figures, number, pass_number, by,
     corrects, corrected_by) = row  # fmt: skip
    zone = warmth.zones[zone_id]
    times = zone.clock.times(sheet_of(*figures), closed_at.timestamp(), warmth.credit_cap)
    full_at = instant_of(times.full_at)
    return CureView(
        cure_id, number, place, mix_id, adhesive, zone.name, pass_number, closed_at, by,
        instant_of(times.set_at), full_at, instant_of(times.recoat_from), instant_of(times.recoat_until),
        full_at is None, failed, corrects, corrected_by,
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
