"""Adhesives: frozen views with the figures of their data sheets, one record for a verb."""

from datetime import date, datetime
from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, select
from sqlalchemy.orm import Session

from shop.db.adhesives import Adhesive
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
    def confirmed(self) -> bool:
        """Whether somebody stands by the figures: they were typed from a sheet, or confirmed since."""
        return not self.ready_made or self.confirmed_at is not None


_VIEW: Select[*tuple[Any, ...]] = select(*(getattr(Adhesive, name) for name in AdhesiveView._fields))
_ONE = _VIEW.where(Adhesive.id == bindparam("id"))
_PAGE = _VIEW.where(Adhesive.id > bindparam("after")).order_by(Adhesive.id).limit(bindparam("most"))
_BY_NAME = _VIEW.order_by(Adhesive.name)


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


def adhesive_record(session: Session, adhesive_id: int) -> Adhesive:
    """The record of one adhesive, for a verb. Raises `NotOnFile`."""
    adhesive = session.get(Adhesive, adhesive_id)
    if adhesive is None:
        raise NotOnFile(f"There is no adhesive {adhesive_id} on file.")
    return adhesive


def adhesive_named(session: Session, name: str) -> Adhesive | None:
    """The record of the adhesive of that name, or none."""
    return session.scalars(select(Adhesive).where(Adhesive.name == name)).first()
