"""Sequences: new ones, the ready-made ones, and changes that leave running builds alone."""

from datetime import datetime

from sqlalchemy.orm import Session

from shop.db.sequences import Hold as HoldRecord
from shop.db.sequences import Sequence as SequenceRecord
from shop.db.sequences import Stage as StageRecord
from shop.queries.sequences import present_sequences, sequence_record, sequence_view, versions_of
from shop.rules.ready_made import READY_MADE
from shop.rules.refusals import BadInput, Overtaken
from shop.rules.sequences import Sequence, faults_of, needs_of


def add_sequence(session: Session, *, now: datetime, sequence: Sequence) -> SequenceRecord:
    """Put a sequence on file; one of a present sequence's name and kind is that one's next version.

    Raises `BadInput` with everything that keeps it from making sense.
    """
    _check(sequence)
    for present in present_sequences(session):
        if (present.name, present.rod_kind) == (sequence.name, sequence.rod_kind):
            return _next_version(session, present.id, now=now, sequence=sequence)
    record = SequenceRecord(name=sequence.name, rod_kind=sequence.rod_kind, created_at=now)
    session.add(record)
    session.flush()
    record.family_id = record.id
    _write_stages(session, record.id, sequence)
    return record


def add_ready_made(session: Session, *, now: datetime) -> None:
    """Put every ready-made sequence on file; the shop may change them."""
    for sequence in READY_MADE:
        add_sequence(session, now=now, sequence=sequence)


def change_sequence(
    session: Session, sequence_id: int, *, now: datetime, sequence: Sequence
) -> SequenceRecord:
    """Change a sequence: in place while no build has started on it, else as its next version.

    Gives the version that has the change. Raises `BadInput`, or `Overtaken` for a retired version.
    """
    _check(sequence)
    view = sequence_view(session, sequence_id)
    if view.retired_at is not None:
        raise Overtaken("A newer version of this sequence is in use; change that one.")
    if view.builds:
        return _next_version(session, sequence_id, now=now, sequence=sequence)
    record = sequence_record(session, sequence_id)
    record.name, record.rod_kind = sequence.name, sequence.rod_kind
    record.stages.clear()
    # The old stages must be gone before new ones of the same names come.
    session.flush()
    _write_stages(session, sequence_id, sequence)
    return record


def retire_sequence(session: Session, sequence_id: int, *, now: datetime) -> None:
    """Take a sequence out of use for new builds. Raises `NotOnFile`."""
    record = sequence_record(session, sequence_id)
    if record.retired_at is None:
        record.retired_at = now


def _check(sequence: Sequence) -> None:
    faults = faults_of(sequence)
    if faults:
        raise BadInput({"stages": " ".join(faults)})


def _next_version(session: Session, sequence_id: int, *, now: datetime, sequence: Sequence) -> SequenceRecord:
    before = sequence_record(session, sequence_id)
    assert before.family_id is not None
    record = SequenceRecord(
        family_id=before.family_id, version=versions_of(session, before.family_id)[0].version + 1,
        name=sequence.name, rod_kind=sequence.rod_kind, created_at=now,
    )  # fmt: skip
    session.add(record)
    before.retired_at = now
    session.flush()
    _write_stages(session, record.id, sequence)
    return record


def _write_stages(session: Session, sequence_id: int, sequence: Sequence) -> None:
    for position, stage in enumerate(sequence.stages):
        record = StageRecord(
            sequence_id=sequence_id, position=position, name=stage.name,
            customer_words=stage.customer_words, attended_minutes=stage.attended_minutes,
            records=[{"kind": item.kind.value, "name": item.name} for item in stage.records],
            draws=list(stage.draws),
        )  # fmt: skip
        session.add(record)
        session.flush()
        session.add_all(
            HoldRecord(stage_id=record.id, position=place, kind=hold.kind.value, needs=needs_of(hold))
            for place, hold in enumerate(stage.holds)
        )
    session.flush()
