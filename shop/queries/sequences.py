"""Sequences: their versions for lists, one as a value for decisions, one record for a verb."""

from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, func, select
from sqlalchemy.orm import Session, selectinload

from shop.db.builds import Build
from shop.db.sequences import Sequence as SequenceRecord
from shop.db.sequences import Stage as StageRecord
from shop.db.shop import Shop
from shop.rules.refusals import BadInput, NotOnFile
from shop.rules.sequences import ROD_KINDS, Record, RecordKind, Sequence, Stage, hold_from


class SequenceView(NamedTuple):
    """One version of a sequence, and how many builds have started on it."""

    id: int
    family_id: int
    version: int
    name: str
    rod_kind: str
    created_at: datetime
    retired_at: datetime | None
    builds: int


_BUILDS = (
    select(func.count())
    .where(Build.sequence_id == SequenceRecord.id)
    .correlate(SequenceRecord)
    .scalar_subquery()
)
_VIEW: Select[*tuple[Any, ...]] = select(
    SequenceRecord.id, SequenceRecord.family_id, SequenceRecord.version, SequenceRecord.name,
    SequenceRecord.rod_kind, SequenceRecord.created_at, SequenceRecord.retired_at, _BUILDS,
)  # fmt: skip
_ONE = _VIEW.where(SequenceRecord.id == bindparam("id"))
_PAGE = (
    _VIEW.where(SequenceRecord.id > bindparam("after")).order_by(SequenceRecord.id).limit(bindparam("most"))
)
_PRESENT = _VIEW.where(SequenceRecord.retired_at.is_(None)).order_by(
    SequenceRecord.rod_kind, SequenceRecord.name, SequenceRecord.id
)
_FAMILY = _VIEW.where(SequenceRecord.family_id == bindparam("family_id")).order_by(
    SequenceRecord.version.desc()
)
_WHOLE = (
    select(SequenceRecord)
    .where(SequenceRecord.id == bindparam("id"))
    .options(selectinload(SequenceRecord.stages).selectinload(StageRecord.holds))
    .execution_options(populate_existing=True)
)
_MANY = (
    select(SequenceRecord)
    .where(SequenceRecord.id.in_(bindparam("ids", expanding=True)))
    .options(selectinload(SequenceRecord.stages).selectinload(StageRecord.holds))
)
_LOCK_SHOP = select(Shop.id).with_for_update()
_STAGE_IDS = select(StageRecord.name, StageRecord.id).where(StageRecord.sequence_id == bindparam("id"))


def sequence_view(session: Session, sequence_id: int) -> SequenceView:
    """One version of a sequence. Raises `NotOnFile`."""
    row = session.execute(_ONE, {"id": sequence_id}).first()
    if row is None:
        raise NotOnFile(f"There is no sequence {sequence_id} on file.")
    return SequenceView(*row)


def sequences_after(session: Session, after: int, most: int) -> list[SequenceView]:
    """At most `most` versions whose id is above `after`, by id, retired ones included."""
    return [SequenceView(*row) for row in session.execute(_PAGE, {"after": after, "most": most})]


def present_sequences(session: Session) -> list[SequenceView]:
    """The versions that a new build may follow, by kind of rod and name."""
    return [SequenceView(*row) for row in session.execute(_PRESENT)]


def versions_of(session: Session, family_id: int) -> list[SequenceView]:
    """Every version of a family, newest first."""
    return [SequenceView(*row) for row in session.execute(_FAMILY, {"family_id": family_id})]


def sequence_record(session: Session, sequence_id: int) -> SequenceRecord:
    """One version with its stages and holds, for a verb. Raises `NotOnFile`."""
    record = session.scalars(_WHOLE, {"id": sequence_id}).first()
    if record is None:
        raise NotOnFile(f"There is no sequence {sequence_id} on file.")
    return record


def sequence_value(session: Session, sequence_id: int) -> Sequence:
    """One version as the value that decisions are made with. Raises `NotOnFile`."""
    return _value(sequence_record(session, sequence_id))


def keep_others_out(session: Session) -> None:
    """Until this session commits, nobody else changes a sequence or starts a build on one.

    The lock is that of `shop.queries.builds.last_running`. (On SQLite a writing session is alone anyway.)
    """
    session.execute(_LOCK_SHOP)


def sequence_values(session: Session, ids: list[int]) -> dict[int, Sequence]:
    """Several versions as values, by id, in a fixed number of statements."""
    return {record.id: _value(record) for record in session.scalars(_MANY, {"ids": ids})}


def _value(record: SequenceRecord) -> Sequence:
    return Sequence(record.name, record.rod_kind, tuple(_stage(stage) for stage in record.stages))


def _stage(stage: StageRecord) -> Stage:
    return Stage(
        name=stage.name,
        customer_words=stage.customer_words,
        attended_minutes=stage.attended_minutes,
        holds=tuple(hold_from(hold.kind, hold.needs) for hold in stage.holds),
        records=tuple(Record(RecordKind(kept["kind"]), kept["name"]) for kept in stage.records),
        draws=tuple(stage.draws),
        figures=tuple(stage.figures),
        uses=tuple(stage.uses),
        tells_customer=stage.tells_customer,
    )


def stage_ids(session: Session, sequence_id: int) -> dict[str, int]:
    """The ids of a version's stages, by name."""
    return {row.name: row.id for row in session.execute(_STAGE_IDS, {"id": sequence_id})}


def sequence_for_kind(session: Session, sequence_id: int | None, rod_kind: str | None) -> tuple[int, str]:
    """The sequence a new build follows, and its kind of rod, from whichever of the two was said.

    Raises `BadInput` where neither was said, they disagree, or no present sequence is for that kind.
    """
    if sequence_id is not None:
        view = sequence_view(session, sequence_id)
        if rod_kind not in (None, view.rod_kind):
            sentence = f"That sequence is for {view.rod_kind} rods, not for {rod_kind}."
            raise BadInput({"sequence_id": sentence})
        return view.id, view.rod_kind
    if rod_kind not in ROD_KINDS:
        raise BadInput({"rod_kind": f"Say the kind of rod: one of {', '.join(ROD_KINDS)}."})
    found = [view.id for view in present_sequences(session) if view.rod_kind == rod_kind]
    if not found:
        raise BadInput({"rod_kind": f"No sequence for {rod_kind} rods is on file; make one under Ways."})
    return found[0], rod_kind
