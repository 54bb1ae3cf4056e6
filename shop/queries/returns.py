"""Returns: those of a period for counting, of a build, of a lot, and one after the other for programs."""

from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, select
from sqlalchemy.orm import Session, aliased

from shop.db.adhesives import Adhesive
from shop.db.builds import Build
from shop.db.lots import Lot
from shop.db.returns import Return


class ReturnView(NamedTuple):
    """A rod that came back; `repair` is the number of the repair that answers it, or none.

    `lot` is the lot's number with its adhesive, or empty; `cost_cents` is null where nobody said it.
    """

    id: int
    build: str
    title: str
    repair: str | None
    returned_on: date
    cause: str
    stage_name: str
    lot_id: int | None
    lot_number: str | None
    adhesive: str | None
    person: str
    under_warranty: bool
    cost_cents: int | None
    note: str
    by: str

    @property
    def lot(self) -> str:
        """The lot as people call it, or empty."""
        return "" if self.lot_number is None else f"{self.adhesive}, lot {self.lot_number}"


_REPAIR = aliased(Build)
_VIEW: Select[*tuple[Any, ...]] = (
    select(
        Return.id, Build.number, Build.title, _REPAIR.number, Return.returned_on, Return.cause,
        Return.stage_name, Return.lot_id, Lot.number, Adhesive.name, Return.person, Return.under_warranty,
        Return.cost_cents, Return.note, Return.by,
    )
    .join(Build, Build.id == Return.build_id)
    .join(_REPAIR, _REPAIR.id == Return.repair_id, isouter=True)
    .join(Lot, Lot.id == Return.lot_id, isouter=True)
    .join(Adhesive, Adhesive.id == Lot.adhesive_id, isouter=True)
)  # fmt: skip
_ONE = _VIEW.where(Return.id == bindparam("id"))
_BETWEEN = _VIEW.where(
    Return.returned_on >= bindparam("first"), Return.returned_on <= bindparam("last")
).order_by(Return.returned_on, Return.id)
_OF_BUILD = _VIEW.where(Return.build_id == bindparam("build_id")).order_by(Return.id)
_OF_LOT = _VIEW.where(Return.lot_id == bindparam("lot_id")).order_by(Return.returned_on, Return.id)
_PAGE = _VIEW.where(Return.id > bindparam("after")).order_by(Return.id).limit(bindparam("most"))


def return_view(session: Session, return_id: int) -> ReturnView:
    """One return that is on file."""
    return ReturnView(*session.execute(_ONE, {"id": return_id}).one())


def returns_between(session: Session, first: date, last: date) -> list[ReturnView]:
    """Every return of a period, both days included, by day."""
    return [ReturnView(*row) for row in session.execute(_BETWEEN, {"first": first, "last": last})]


def returns_of_build(session: Session, build_id: int) -> list[ReturnView]:
    """Every time a rod came back."""
    return [ReturnView(*row) for row in session.execute(_OF_BUILD, {"build_id": build_id})]


def returns_of_lot(session: Session, lot_id: int) -> list[ReturnView]:
    """Every return that was put down to a lot, by day."""
    return [ReturnView(*row) for row in session.execute(_OF_LOT, {"lot_id": lot_id})]


def returns_after(session: Session, after: int, most: int) -> list[ReturnView]:
    """At most `most` returns whose id is above `after`, by id."""
    return [ReturnView(*row) for row in session.execute(_PAGE, {"after": after, "most": most})]
