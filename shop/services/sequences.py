"""Sequences: new ones, the ready-made ones, and changes that leave running builds alone."""

from datetime import datetime

from sqlalchemy.orm import Session

from shop.db.sequences import Hold as HoldRecord
from shop.db.sequences import Sequence as SequenceRecord
from shop.db.sequences import Stage as StageRecord
from shop.queries.sequences import (
    SequenceView,
    keep_others_out,
    present_sequences,
    sequence_record,
    sequence_view,
    versions_of,
)
from shop.rules.ready_made import READY_MADE
from shop.rules.refusals import BadInput, Overtaken
from shop.rules.sequences import Sequence, faults_of_name, faults_of_stages, needs_of


def add_sequence(session: Session, *, now: datetime, sequence: Sequence) -> SequenceRecord:
    """Put a sequence on file; one of a present sequence's name and kind is that one's next version.

    Raises `BadInput` with everything that keeps it from making sense.
    """
    _check(sequence)
    keep_others_out(session)
    same = _present_one(session, sequence)
    if same is not None:
        return _next_version(session, same.id, now=now, sequence=sequence)
    record = SequenceRecord(name=sequence.name, rod_kind=sequence.rod_kind, created_at=now)
    session.add(record)
    session.flush()
    record.family_id = record.id
    _write_stages(session, record.id, sequence)
    return record


def begin_sequence(session: Session, *, now: datetime, sequence: Sequence) -> SequenceRecord:
    """Put a sequence of a new name on file. Raises `BadInput`, also where a present one has that name."""
    _check(sequence)
    keep_others_out(session)
    same = _present_one(session, sequence)
    if same is not None:
        sentence = (
            f"A sequence for {same.rod_kind} rods is called “{same.name}” already; choose another name."
        )
        raise BadInput({"name": sentence})
    return add_sequence(session, now=now, sequence=sequence)


def _present_one(session: Session, sequence: Sequence) -> SequenceView | None:
    """The present sequence of the same name for the same kind of rod, if there is one."""
    known = (sequence.name, sequence.rod_kind)
    return next((view for view in present_sequences(session) if (view.name, view.rod_kind) == known), None)


def add_ready_made(session: Session, *, now: datetime) -> None:
    """Put every ready-made sequence on file; the shop may change them."""
    for sequence in READY_MADE:
        add_sequence(session, now=now, sequence=sequence)


def change_sequence(
    session: Session, sequence_id: int, *, now: datetime, sequence: Sequence
) -> SequenceRecord:
    """Change a sequence: in place while no build has started on it, else as its next version.

    Gives the version that has the change. Raises `BadInput`, or `Overtaken` for a version out of use.
    """
    _check(sequence)
    # Two changes at once would make one version twice; a build started meanwhile would be changed under way.
    keep_others_out(session)
    view = sequence_view(session, sequence_id)
    if view.retired_at is not None:
        newest = versions_of(session, view.family_id)[0]
        if newest.id != view.id:
            raise Overtaken(f"Version {newest.version} of this sequence is newer; change that one.")
        raise Overtaken("This sequence is out of use, so it can no longer be changed.")
    same = _present_one(session, sequence)
    if same is not None and same.family_id != view.family_id:
        raise BadInput(
            {"name": f"Another sequence for {same.rod_kind} rods is called “{same.name}” already."}
        )
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
    keep_others_out(session)
    record = sequence_record(session, sequence_id)
    if record.retired_at is None:
        record.retired_at = now


def _check(sequence: Sequence) -> None:
    errors = faults_of_name(sequence)
    faults = faults_of_stages(sequence)
    if faults:
        errors["stages"] = " ".join(faults)
    if errors:
        raise BadInput(errors)


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
            draws=list(stage.draws), figures=list(stage.figures),
            uses=list(stage.uses), tells_customer=stage.tells_customer,
        )  # fmt: skip
        session.add(record)
        session.flush()
        session.add_all(
            HoldRecord(stage_id=record.id, position=place, kind=hold.kind.value, needs=needs_of(hold))
            for place, hold in enumerate(stage.holds)
        )
    session.flush()
