"""Mixes: what is in the cup, until when it may be used, and what is thought of it."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any, NamedTuple

from sqlalchemy import Row, Select, bindparam, func, select
from sqlalchemy.orm import Session

from shop.db.adhesives import Adhesive
from shop.db.builds import Build
from shop.db.cures import Cure
from shop.db.lots import Lot
from shop.db.mixes import Mix, PuddleCheck, Suspicion
from shop.queries.cure_clock import Clocks, Warmth, instant_of
from shop.queries.cures import FIGURES, sheet_of
from shop.queries.lots import lot_fact
from shop.rules.adhesives import mark_of
from shop.rules.facts import Suspect
from shop.rules.lots import warning_of_mix
from shop.rules.refusals import NotOnFile

# An older cup is not looked at: none stays usable for so long, however cold. Common practice, no source.
LONGEST_POT_LIFE = timedelta(days=2)


class MixView(NamedTuple):
    """A mix as pages and API show it. `id` is its root id, which stays through corrections.

    `recheck_at` is when to look again, where an owner said to wait with the suspicion. Lots, amounts and the
    minutes planned are null where nobody said. `sheet_mark` says what its figures lacked when it was made,
    and is empty where they were a data sheet's.
    """

    id: int
    adhesive_id: int
    adhesive: str
    use: str
    zone_id: int
    zone: str
    mixed_at: datetime
    by: str
    pot_life_ends_at: datetime
    puddle: str
    puddle_at: datetime | None
    suspect: str
    corrected: int
    recheck_at: datetime | None
    sheet_mark: str
    lot_a_id: int | None
    lot_b_id: int | None
    amount_a_ml: float | None
    amount_b_ml: float | None
    planned_minutes: float | None
    releases: list[Any]


LAST_STATE = (
    select(PuddleCheck.state)
    .where(PuddleCheck.mix_id == Mix.root_id)
    .order_by(PuddleCheck.at.desc(), PuddleCheck.id.desc())
    .limit(1)
    .correlate(Mix)
    .scalar_subquery()
)
LAST_TOUCHED = (
    select(PuddleCheck.at)
    .where(PuddleCheck.mix_id == Mix.root_id)
    .order_by(PuddleCheck.at.desc(), PuddleCheck.id.desc())
    .limit(1)
    .correlate(Mix)
    .scalar_subquery()
)
_SUSPECT = (
    select(Suspicion.reason)
    .where(Suspicion.mix_id == Mix.root_id, Suspicion.verdict.is_(None))
    .limit(1)
    .correlate(Mix)
    .scalar_subquery()
)
RECHECK_AT = (
    select(Suspicion.recheck_at)
    .where(Suspicion.mix_id == Mix.root_id, Suspicion.verdict.is_(None))
    .limit(1)
    .correlate(Mix)
    .scalar_subquery()
)
_SAID = (Mix.lot_a_id, Mix.lot_b_id, Mix.amount_a_ml, Mix.amount_b_ml, Mix.planned_minutes, Mix.releases)
_VIEW: Select[*tuple[Any, ...]] = select(
    Mix.root_id, Mix.adhesive_id, Mix.adhesive_name, Mix.use, Mix.zone_id, Mix.mixed_at, Mix.by, LAST_STATE,
    LAST_TOUCHED, _SUSPECT, RECHECK_AT, Mix.id, Mix.sheet_state, *_SAID, *FIGURES,
).where(Mix.superseded_by_id.is_(None))  # fmt: skip
_ROOT_OF = select(Mix.root_id).where(Mix.id == bindparam("entry_id")).scalar_subquery()
_ONE = _VIEW.where(Mix.root_id == _ROOT_OF)
_PAGE = _VIEW.where(Mix.root_id > bindparam("after")).order_by(Mix.root_id).limit(bindparam("most"))
_SINCE = _VIEW.where(Mix.mixed_at > bindparam("since")).order_by(Mix.mixed_at.desc())
_QUARANTINED = select(Lot.id).where(
    Lot.id.in_(bindparam("lot_ids", expanding=True)), Lot.quarantined_reason != ""
)
_DOUBTED = select(Suspicion.mix_id).where(Suspicion.verdict.is_(None))
_ONE_DOUBTED = _DOUBTED.limit(1)
_VERDICTS = (
    select(Suspicion.mix_id, Suspicion.verdict)
    .where(Suspicion.mix_id.in_(bindparam("mix_ids", expanding=True)), Suspicion.verdict.is_not(None))
    .order_by(Suspicion.id)
)
_SUSPECTS = (
    select(Cure.build_id, Suspicion.mix_id, Mix.adhesive_name, Suspicion.reason, Suspicion.recheck_at)
    .join_from(Suspicion, Cure, Cure.mix_id == Suspicion.mix_id)
    .join(Mix, (Mix.root_id == Suspicion.mix_id) & Mix.superseded_by_id.is_(None))
    .join(Build, Build.id == Cure.build_id)
    .where(
        Suspicion.verdict.is_(None),
        Cure.mix_id.in_(_DOUBTED),
        Cure.superseded_by_id.is_(None),
        Cure.failed_reason == "",
    )
    .distinct()
)
_SUSPECTS_OF_BUILD = _SUSPECTS.where(Cure.build_id == bindparam("build_id"))


def mix_view(session: Session, mix_id: int, warmth: Warmth) -> MixView:
    """One mix as it stands, by the id of any of its entries. Raises `NotOnFile`."""
    row = session.execute(_ONE, {"entry_id": mix_id}).first()
    if row is None:
        raise NotOnFile(f"There is no mix {mix_id} on record.")
    return _view(row, Clocks(session, warmth))


def mixes_after(session: Session, after: int, most: int, warmth: Warmth) -> list[MixView]:
    """At most `most` mixes whose id is above `after`, by id."""
    clocks = Clocks(session, warmth)
    return [_view(row, clocks) for row in session.execute(_PAGE, {"after": after, "most": most}).all()]


def mixes_since(session: Session, since: datetime, warmth: Warmth) -> list[MixView]:
    """The mixes made since an instant, newest first."""
    clocks = Clocks(session, warmth)
    return [_view(row, clocks) for row in session.execute(_SINCE, {"since": since}).all()]


def _view(row: Row[*tuple[Any, ...]], clocks: Clocks) -> MixView:
    (root_id, adhesive_id, adhesive, use, zone_id, mixed_at, by, puddle, puddle_at, suspect, recheck_at,
     entry_id, state, *rest) = row  # fmt: skip
    said, figures = rest[: len(_SAID)], rest[len(_SAID) :]
    zone = clocks.warmth.zones[zone_id]
    ends = instant_of(clocks.pot_life_ends(zone_id, sheet_of(*figures), mixed_at.timestamp()))
    assert ends is not None
    return MixView(
        root_id, adhesive_id, adhesive, use, zone_id, zone.name, mixed_at, by, ends, puddle or "", puddle_at,
        suspect or "", entry_id if entry_id != root_id else 0, recheck_at, mark_of(state),
        *said,
    )  # fmt: skip


def warnings_of_mixes(session: Session, mixes: Iterable[MixView]) -> dict[int, list[str]]:
    """What is to be known before anything is closed with mixes, by id; where nothing is, it is left out.

    One statement, and one for each lot that is quarantined, which are few.
    """
    from_lots = {mix.id: [id_ for id_ in (mix.lot_a_id, mix.lot_b_id) if id_ is not None] for mix in mixes}
    named = {lot_id for lot_ids in from_lots.values() for lot_id in lot_ids}
    if not named:
        return {}
    shut = session.scalars(_QUARANTINED, {"lot_ids": sorted(named)}).all()
    says = {lot_id: warning_of_mix(lot_fact(session, lot_id)) for lot_id in shut}
    found = {
        mix_id: [says[lot_id] for lot_id in dict.fromkeys(lot_ids) if lot_id in says]
        for mix_id, lot_ids in from_lots.items()
    }
    return {mix_id: warnings for mix_id, warnings in found.items() if warnings}


def suspects(session: Session) -> dict[int, list[Suspect]]:
    """The suspect mixes on each build that carries one, by the build's id."""
    return _by_build(session.execute(_SUSPECTS)) if _anything_doubted(session) else {}


def _anything_doubted(session: Session) -> bool:
    """Nothing is, nearly always; then the joins can be spared."""
    return session.execute(_ONE_DOUBTED).first() is not None


def suspects_of_build(session: Session, build_id: int) -> list[Suspect]:
    """The suspect mixes on one build."""
    if not _anything_doubted(session):
        return []
    return _by_build(session.execute(_SUSPECTS_OF_BUILD, {"build_id": build_id})).get(build_id, [])


def _by_build(rows: Any) -> dict[int, list[Suspect]]:
    found: dict[int, list[Suspect]] = {}
    for build_id, mix_id, adhesive, reason, recheck_at in rows:
        found.setdefault(build_id, []).append(Suspect(mix_id, adhesive, reason, recheck_at))
    return found


def mix_record(session: Session, mix_id: int) -> Mix:
    """The entry of a mix that counts, by the id of any of its entries; locked until the transaction ends.

    Raises `NotOnFile`.
    """
    root_id = session.scalar(select(Mix.root_id).where(Mix.id == mix_id))
    if root_id is None:
        raise NotOnFile(f"There is no mix {mix_id} on record.")
    # The first entry stays through corrections, so it is what is locked; then the one that counts is sure.
    session.execute(select(Mix.id).where(Mix.id == root_id).with_for_update())
    return session.scalars(select(Mix).where(Mix.root_id == root_id, Mix.superseded_by_id.is_(None))).one()


def open_suspicion(session: Session, mix_id: int) -> Suspicion | None:
    """The record of the suspicion about a mix (by its root id) that awaits a verdict, or none."""
    wanted = select(Suspicion).where(Suspicion.mix_id == mix_id, Suspicion.verdict.is_(None))
    return session.scalars(wanted).first()


def last_touch(session: Session, mix_id: int) -> PuddleCheck | None:
    """The record of the touch of a mix's puddle (by its root id) that was entered last, or none."""
    entered = select(PuddleCheck).where(PuddleCheck.mix_id == mix_id)
    return session.scalars(entered.order_by(PuddleCheck.id.desc()).limit(1)).first()


def mixes_entered_since(
    session: Session, since: datetime, by: str, adhesive_id: int, mixed_from: datetime
) -> list[Mix]:
    """The records of the mixes of an adhesive that somebody entered after an instant, newest first.

    Only those mixed at `mixed_from` or later. The adhesive's record is locked until the transaction ends,
    so that two entries of one cup wait for each other.
    """
    session.execute(select(Adhesive.id).where(Adhesive.id == adhesive_id).with_for_update())
    entered = select(Mix).where(
        Mix.mixed_at >= mixed_from,
        Mix.entered_at > since,
        Mix.by == by,
        Mix.adhesive_id == adhesive_id,
        Mix.superseded_by_id.is_(None),
    )
    return list(session.scalars(entered.order_by(Mix.id.desc())))


def last_verdict(session: Session, mix_id: int) -> str | None:
    """The last verdict given on a mix (by its root id), or none."""
    given = select(Suspicion.verdict).where(Suspicion.mix_id == mix_id, Suspicion.verdict.is_not(None))
    return session.scalar(given.order_by(Suspicion.id.desc()).limit(1))


def mixes_to_redo(session: Session, mix_ids: Iterable[int]) -> set[int]:
    """Those of some mixes (by root id) whose last verdict was `redo`."""
    rows = session.execute(_VERDICTS, {"mix_ids": list(mix_ids)}).all()
    return {mix_id for mix_id, verdict in dict(rows).items() if verdict == "redo"}


def builds_of_mix(session: Session, mix_id: int) -> list[int]:
    """The id of every build that carries a cure of this mix (by its root id)."""
    carried = select(Cure.build_id).where(Cure.mix_id == mix_id, Cure.superseded_by_id.is_(None)).distinct()
    return sorted(session.scalars(carried))


def first_closing(session: Session, mix_id: int) -> datetime | None:
    """When the first cure of a mix (by its root id) was closed, or none."""
    counted = select(func.min(Cure.closed_at)).where(Cure.mix_id == mix_id, Cure.superseded_by_id.is_(None))
    return session.scalar(counted)
