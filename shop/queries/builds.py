"""Builds: one record for a verb, frozen views for lists and for one rod."""

from datetime import date, datetime
from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, func, select
from sqlalchemy.orm import Session

from shop.db.blanks import Blank
from shop.db.builds import Build
from shop.db.customers import Customer
from shop.db.sequences import Stage
from shop.db.shop import Shop
from shop.rules.refusals import NotOnFile


class BuildView(NamedTuple):
    """A build as lists and the API show it. `stage` is the one last reached in the present pass."""

    id: int
    number: str
    title: str
    rod_kind: str
    customer_id: int
    customer: str
    sequence_id: int
    blank_id: int | None
    pieces: int
    promised_on: date | None
    thread_colour: str
    notes: str
    stage: str | None
    pass_number: int
    created_at: datetime
    closed_at: datetime | None
    version: int
    is_enquiry: bool
    closed_as: str
    copied_from_id: int | None
    change_by: date | None
    warranty_until: date | None


_VIEW: Select[*tuple[Any, ...]] = (
    select(
        Build.id, Build.number, Build.title, Build.rod_kind, Build.customer_id, Customer.name,
        Build.sequence_id, Build.blank_id, func.coalesce(Blank.pieces, 1), Build.promised_on,
        Build.thread_colour, Build.notes, Stage.name, Build.pass_number, Build.created_at, Build.closed_at,
        Build.version, Build.is_enquiry, Build.closed_as, Build.copied_from_id, Build.change_by,
        Build.warranty_until,
    )
    .join(Customer, Customer.id == Build.customer_id)
    .join(Blank, Blank.id == Build.blank_id, isouter=True)
    .join(Stage, Stage.id == Build.stage_id, isouter=True)
)  # fmt: skip
_ONE = _VIEW.where(Build.number == bindparam("number"))
_BY_ID = _VIEW.where(Build.id == bindparam("id"))
_PAGE = _VIEW.where(Build.id > bindparam("after")).order_by(Build.id).limit(bindparam("most"))
# Undated promises come last on every engine; SQLite would put nulls first.
_OPEN = _VIEW.where(Build.closed_at.is_(None), ~Build.is_enquiry).order_by(
    func.coalesce(Build.promised_on, date(9999, 12, 31)), Build.number
)
# Not by id: SQLite would walk every build backwards rather than sort the few that are open.
_ENQUIRIES = _VIEW.where(Build.closed_at.is_(None), Build.is_enquiry).order_by(
    Build.created_at.desc(), Build.number.desc()
)
_FINISHED = (
    _VIEW.where(Build.closed_at.is_not(None), Build.id < bindparam("before"))
    .order_by(Build.id.desc())
    .limit(bindparam("most"))
)
_OF_CUSTOMER = _VIEW.where(Build.customer_id == bindparam("customer_id")).order_by(Build.id.desc()).limit(100)
_LOCK_SHOP = select(Shop.id).with_for_update()


def build_view(session: Session, number: str) -> BuildView:
    """One build by its printed number. Raises `NotOnFile`."""
    row = session.execute(_ONE, {"number": number}).first()
    if row is None:
        raise NotOnFile(f"There is no build {number} on file.")
    return BuildView(*row)


def build_view_by_id(session: Session, build_id: int) -> BuildView:
    """One build by its id. Raises `NotOnFile`."""
    row = session.execute(_BY_ID, {"id": build_id}).first()
    if row is None:
        raise NotOnFile("There is no such build on file.")
    return BuildView(*row)


def builds_after(session: Session, after: int, most: int) -> list[BuildView]:
    """At most `most` builds whose id is above `after`, by id."""
    return [BuildView(*row) for row in session.execute(_PAGE, {"after": after, "most": most})]


def open_builds(session: Session) -> list[BuildView]:
    """Every build that was ordered and is not finished, the soonest promise first."""
    return [BuildView._make(row) for row in session.connection().execute(_OPEN)]


def enquiries(session: Session) -> list[BuildView]:
    """Every build that nobody has ordered yet, newest first; the bench does not see them."""
    return [BuildView._make(row) for row in session.connection().execute(_ENQUIRIES)]


def finished_builds(session: Session, before: int, most: int) -> list[BuildView]:
    """At most `most` finished builds whose id is below `before`, newest first."""
    return [BuildView(*row) for row in session.execute(_FINISHED, {"before": before, "most": most})]


def builds_of_customer(session: Session, customer_id: int) -> list[BuildView]:
    """A customer's latest builds, newest first, a hundred at most."""
    return [BuildView(*row) for row in session.execute(_OF_CUSTOMER, {"customer_id": customer_id})]


def build_record(session: Session, number: str) -> Build:
    """The record of one build, for a verb to change. Raises `NotOnFile`."""
    build = session.scalars(select(Build).where(Build.number == number).with_for_update()).first()
    if build is None:
        raise NotOnFile(f"There is no build {number} on file.")
    return build


def build_by_id(session: Session, build_id: int) -> Build:
    """The record of one build by its id, for a verb to change. Raises `NotOnFile`."""
    build = session.scalars(select(Build).where(Build.id == build_id).with_for_update()).first()
    if build is None:
        raise NotOnFile("There is no such build on file.")
    return build


def last_running(session: Session, year: int) -> int:
    """The highest running number given in a year, 0 before the first.

    The shop's row stays locked until the transaction ends, so that two builds taken on at once do not get
    one number. (On SQLite a writing session is alone anyway.)
    """
    session.execute(_LOCK_SHOP)
    return session.scalar(select(func.max(Build.running)).where(Build.year == year)) or 0


def has_builds(session: Session) -> bool:
    """Whether any build is on file."""
    return session.scalar(select(Build.id).limit(1)) is not None
