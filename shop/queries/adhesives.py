"""Adhesives: frozen views of their data sheets' figures and of what was changed, one record for a verb."""

from datetime import date, datetime
from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, select
from sqlalchemy.orm import Session

from shop.db.adhesives import Adhesive, SheetChange
from shop.rules.adhesives import MARKS, SheetState, sheet_state
from shop.rules.refusals import NotOnFile


class AdhesiveView(NamedTuple):
    """An adhesive as pages and API show it; null where the sheet is silent.

    `ready_made` is the class of product whose placeholders its figures began as, or empty.
    """

    id: int
    name: str
    use: str
    parts_a: float
    parts_b: float
    density_a: float | None
    density_b: float | None
    reference_c: float
    pot_life_minutes: float
    set_minutes: float
    full_cure_minutes: float
    recoat_from_minutes: float | None
    recoat_until_minutes: float | None
    coldest_c: float | None
    doubling_c: float | None
    source: str
    turn_minutes: float | None
    opened_life_days: int | None
    sheet_date: date | None
    ready_made: str
    confirmed_at: datetime | None
    confirmed_by: str
    version: int

    @property
    def sheet_state(self) -> SheetState:
        """What the figures stand on."""
        return sheet_state(self.ready_made, self.source, self.sheet_date, self.confirmed_at)

    @property
    def confirmed(self) -> bool:
        """Whether somebody stands by the figures as those of a sheet that is named and dated."""
        return self.sheet_state is SheetState.CONFIRMED

    @property
    def sheet_mark(self) -> str:
        """What to say of the figures wherever they are relied on; empty where they are a sheet's."""
        return MARKS[self.sheet_state]


class SheetChangeView(NamedTuple):
    """One act on a sheet: `made`, `changed` or `confirmed`.

    `changes` holds maps of `field`, `before` and `after`; days are ISO texts.
    """

    id: int
    kind: str
    at: datetime
    by: str
    changes: list[Any]


_VIEW: Select[*tuple[Any, ...]] = select(*(getattr(Adhesive, name) for name in AdhesiveView._fields))
_ONE = _VIEW.where(Adhesive.id == bindparam("id"))
_PAGE = _VIEW.where(Adhesive.id > bindparam("after")).order_by(Adhesive.id).limit(bindparam("most"))
_BY_NAME = _VIEW.order_by(Adhesive.name)
_CHANGES: Select[*tuple[Any, ...]] = select(
    SheetChange.id, SheetChange.kind, SheetChange.at, SheetChange.by, SheetChange.changes
).where(SheetChange.adhesive_id == bindparam("adhesive_id"))
_CHANGES_AFTER = (
    _CHANGES.where(SheetChange.id > bindparam("after")).order_by(SheetChange.id).limit(bindparam("most"))
)
_LAST_CHANGES = _CHANGES.order_by(SheetChange.id.desc()).limit(bindparam("most"))


def adhesive_view(session: Session, adhesive_id: int) -> AdhesiveView:
    """One adhesive. Raises `NotOnFile`."""
    row = session.execute(_ONE, {"id": adhesive_id}).first()
    if row is None:
        raise NotOnFile(f"There is no adhesive {adhesive_id} on file.")
    return AdhesiveView(*row)


def adhesives_after(session: Session, after: int, most: int) -> list[AdhesiveView]:
    """At most `most` adhesives whose id is above `after`, by id."""
    return [AdhesiveView(*row) for row in session.execute(_PAGE, {"after": after, "most": most})]


def adhesives_by_name(session: Session) -> list[AdhesiveView]:
    """Every adhesive, by name."""
    return [AdhesiveView(*row) for row in session.execute(_BY_NAME)]


def last_changes(session: Session, adhesive_id: int, most: int) -> list[SheetChangeView]:
    """At most `most` of the acts on an adhesive's sheet, newest first."""
    rows = session.execute(_LAST_CHANGES, {"adhesive_id": adhesive_id, "most": most})
    return [SheetChangeView(*row) for row in rows]


def changes_after(session: Session, adhesive_id: int, after: int, most: int) -> list[SheetChangeView]:
    """At most `most` acts on an adhesive's sheet whose id is above `after`, by id."""
    wanted = {"adhesive_id": adhesive_id, "after": after, "most": most}
    return [SheetChangeView(*row) for row in session.execute(_CHANGES_AFTER, wanted)]


def state_of_sheet(adhesive: Adhesive) -> SheetState:
    """What the figures of an adhesive's record stand on."""
    return sheet_state(adhesive.ready_made, adhesive.source, adhesive.sheet_date, adhesive.confirmed_at)


def adhesive_record(session: Session, adhesive_id: int) -> Adhesive:
    """The record of one adhesive, for a verb. Raises `NotOnFile`."""
    adhesive = session.get(Adhesive, adhesive_id)
    if adhesive is None:
        raise NotOnFile(f"There is no adhesive {adhesive_id} on file.")
    return adhesive


def adhesive_named(session: Session, name: str) -> Adhesive | None:
    """The record of the adhesive of that name, or none."""
    return session.scalars(select(Adhesive).where(Adhesive.name == name)).first()
