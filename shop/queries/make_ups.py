"""Make-ups: the latest of a build as a value, its revisions for a list, what is meant for a decision."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import bindparam, func, select
from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.make_ups import MakeUp as MakeUpRecord
from shop.queries.adhesives import adhesive_view
from shop.queries.blanks import blank_view
from shop.rules.blanks import joints_of
from shop.rules.facts import Meant
from shop.rules.make_up import Bare, MakeUp, Sheet, make_up_from
from shop.rules.record import quantity_of
from shop.rules.refusals import NotOnFile


class MakeUpView(NamedTuple):
    """A revision of a make-up: who saved it, when and why, and the make-up itself."""

    id: int
    revision: int
    entered_at: datetime
    by: str
    reason: str
    value: MakeUp


class RevisionLine(NamedTuple):
    """A revision as one line of a list."""

    revision: int
    entered_at: datetime
    by: str
    reason: str


_COLUMNS = (
    MakeUpRecord.id, MakeUpRecord.revision, MakeUpRecord.entered_at, MakeUpRecord.by, MakeUpRecord.reason,
    MakeUpRecord.document,
)  # fmt: skip
_VIEW = select(*_COLUMNS).where(MakeUpRecord.build_id == bindparam("build_id"))
_LATEST = _VIEW.order_by(MakeUpRecord.revision.desc()).limit(1)
_ONE = _VIEW.where(MakeUpRecord.revision == bindparam("revision"))
_REVISIONS = (
    select(MakeUpRecord.revision, MakeUpRecord.entered_at, MakeUpRecord.by, MakeUpRecord.reason)
    .where(MakeUpRecord.build_id == bindparam("build_id"))
    .order_by(MakeUpRecord.revision.desc())
)
_MEANT = (
    select(MakeUpRecord.meant)
    .where(MakeUpRecord.build_id == bindparam("build_id"))
    .order_by(MakeUpRecord.revision.desc())
    .limit(1)
)
_LATEST_REVISION = (
    select(func.max(MakeUpRecord.revision))
    .where(MakeUpRecord.build_id == Build.id)
    .correlate(Build)
    .scalar_subquery()
)
_MEANT_OF_OPEN = (
    select(Build.id, MakeUpRecord.meant)
    .join(
        MakeUpRecord,
        (MakeUpRecord.build_id == Build.id) & (MakeUpRecord.revision == _LATEST_REVISION),
    )
    .where(Build.closed_at.is_(None))
)
_LATEST_OF_BUILDS = (
    select(MakeUpRecord.build_id, *_COLUMNS)
    .join(Build, Build.id == MakeUpRecord.build_id)
    .where(
        Build.id.in_(bindparam("build_ids", expanding=True)), MakeUpRecord.revision == _LATEST_REVISION
    )
)  # fmt: skip


def latest_make_up(session: Session, build_id: int) -> MakeUpView | None:
    """The latest revision of a build's make-up; none before the first."""
    return _view(session.execute(_LATEST, {"build_id": build_id}).first())


def latest_make_ups(session: Session, build_ids: Iterable[int]) -> dict[int, MakeUpView]:
    """The latest revision of each of some builds' make-ups, by the build's id; those without are left out."""
    rows = session.execute(_LATEST_OF_BUILDS, {"build_ids": list(build_ids)})
    return {row[0]: view for row in rows if (view := _view(row[1:])) is not None}


def make_up_at(session: Session, build_id: int, revision: int) -> MakeUpView | None:
    """One revision of a build's make-up, or none."""
    return _view(session.execute(_ONE, {"build_id": build_id, "revision": revision}).first())


def _view(row: Any) -> MakeUpView | None:
    if row is None:
        return None
    make_up_id, revision, entered_at, by, reason, document = row
    return MakeUpView(make_up_id, revision, entered_at, by, reason, make_up_from(document))


def revisions_of(session: Session, build_id: int) -> list[RevisionLine]:
    """Every revision of a build's make-up, newest first."""
    return [RevisionLine(*row) for row in session.execute(_REVISIONS, {"build_id": build_id})]


def meant_of_build(session: Session, build_id: int) -> dict[str, Meant]:
    """What the latest make-up of a build means its figures to be, by their names."""
    return _meant(session.execute(_MEANT, {"build_id": build_id}).scalar())


def meant_of_open_builds(session: Session) -> dict[int, dict[str, Meant]]:
    """The same of every open build that has a make-up, by the build's id, in one statement."""
    return {build_id: _meant(kept) for build_id, kept in session.execute(_MEANT_OF_OPEN)}


def _meant(kept: dict[str, Any] | None) -> dict[str, Meant]:
    return {
        name: Meant(quantity_of(figure["nominal"]), quantity_of(figure["tolerance"]))
        for name, figure in (kept or {}).items()
    }


def bare_blank(session: Session, blank_id: int | None) -> Bare | None:
    """What a make-up copies of a blank; none where none is chosen. Raises `NotOnFile`."""
    if blank_id is None:
        return None
    blank = blank_view(session, blank_id)
    return Bare(
        name=f"{blank.maker} {blank.model}".strip(), length_nm=blank.length_nm, pieces=blank.pieces,
        mass_mg=blank.mass_mg, stations=blank.stations,
        joints=joints_of(blank.length_nm, blank.pieces, blank.joints), wall_butt_nm=blank.wall_butt_nm,
        wall_tip_nm=blank.wall_tip_nm, test_load_mg=blank.test_load_mg, test_sag_nm=blank.test_sag_nm,
        most_load_mg=blank.most_load_mg,
    )  # fmt: skip


def sheet_on_file(session: Session, adhesive_id: int | None, use: str) -> Sheet | None:
    """What a make-up copies of an adhesive; none where none is chosen.

    Raises `NotOnFile`, also for one that is on file for another use.
    """
    if adhesive_id is None:
        return None
    sheet = adhesive_view(session, adhesive_id)
    if sheet.use != use:
        wanted = {"bond": "a bonding epoxy", "finish": "a wrap finish"}[use]
        raise NotOnFile(f"“{sheet.name}” is not on file as {wanted}.")
    return Sheet(
        sheet.id, sheet.name, sheet.parts_a, sheet.parts_b, sheet.density_a, sheet.density_b,
        sheet.pot_life_minutes,
    )  # fmt: skip
