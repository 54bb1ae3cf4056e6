"""Specs: the newest revision of a build as a value, and every revision for a list."""

from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import bindparam, func, select
from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.make_ups import MakeUp as MakeUpRecord
from shop.db.specs import Spec as SpecRecord
from shop.rules.spec import Spec, spec_from


class SpecView(NamedTuple):
    """A revision of a spec: who wrote it down, when, whose wish it was and why, and the spec itself.

    `rework` names the fields that were changed after the stage that uses them could begin.
    """

    id: int
    revision: int
    entered_at: datetime
    by: str
    asked_by: str
    reason: str
    rework: tuple[str, ...]
    value: Spec


_VIEW = select(
    SpecRecord.id, SpecRecord.revision, SpecRecord.entered_at, SpecRecord.by, SpecRecord.asked_by,
    SpecRecord.reason, SpecRecord.rework, SpecRecord.document,
).where(SpecRecord.build_id == bindparam("build_id"))  # fmt: skip
_LATEST = _VIEW.order_by(SpecRecord.revision.desc()).limit(1)
_ALL = _VIEW.order_by(SpecRecord.revision.desc())
_AFTER = (
    _VIEW.where(SpecRecord.revision > bindparam("after"))
    .order_by(SpecRecord.revision)
    .limit(bindparam("most"))
)
_LATEST_REVISION = (
    select(func.max(SpecRecord.revision))
    .where(SpecRecord.build_id == Build.id)
    .correlate(Build)
    .scalar_subquery()
)
_REVISIONS = select(
    *(
        func.coalesce(
            select(func.max(record.revision))
            .where(record.build_id == bindparam("build_id"))
            .scalar_subquery(),
            0,
        )
        for record in (MakeUpRecord, SpecRecord)
    )
)
_OF_ENQUIRIES = (
    select(Build.id, SpecRecord.document)
    .join(SpecRecord, (SpecRecord.build_id == Build.id) & (SpecRecord.revision == _LATEST_REVISION))
    .where(Build.closed_at.is_(None), Build.is_enquiry)
)


class Revisions(NamedTuple):
    """The newest revisions of what is laid down for a build; 0 where nothing is."""

    make_up: int
    spec: int


def revisions_of_build(session: Session, build_id: int) -> Revisions:
    """The newest revisions of a build's make-up and spec, in one statement."""
    row: Any = session.execute(_REVISIONS, {"build_id": build_id}).one()
    return Revisions(row[0], row[1])


def latest_spec(session: Session, build_id: int) -> SpecView | None:
    """The newest revision of a build's spec; none before the first."""
    row = session.execute(_LATEST, {"build_id": build_id}).first()
    return None if row is None else _view(row)


def specs_of(session: Session, build_id: int) -> list[SpecView]:
    """Every revision of a build's spec, newest first."""
    return [_view(row) for row in session.execute(_ALL, {"build_id": build_id})]


def specs_after(session: Session, build_id: int, after: int, most: int) -> list[SpecView]:
    """At most `most` revisions of a build's spec above `after`, in order."""
    rows = session.execute(_AFTER, {"build_id": build_id, "after": after, "most": most})
    return [_view(row) for row in rows]


def specs_of_enquiries(session: Session) -> dict[int, Spec]:
    """The newest spec of every open enquiry that has one, by the build's id, in one statement."""
    return {build_id: spec_from(document) for build_id, document in session.execute(_OF_ENQUIRIES)}


def _view(row: Any) -> SpecView:
    spec_id, revision, entered_at, by, asked_by, reason, rework, document = row
    value = spec_from(document)
    return SpecView(spec_id, revision, entered_at, by, asked_by, reason, tuple(rework), value)
