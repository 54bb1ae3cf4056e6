"""Customers: one record for a verb, frozen views for pages and API."""

from datetime import date, datetime
from typing import NamedTuple

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from shop.db.customers import Customer
from shop.rules.refusals import NotOnFile


class CustomerView(NamedTuple):
    """A customer as pages and API show them."""

    id: int
    name: str
    email: str
    phone: str
    notes: str
    wants_mail: bool
    photo_consent_on: date | None
    erased_at: datetime | None


_VIEW = select(
    Customer.id, Customer.name, Customer.email, Customer.phone, Customer.notes, Customer.wants_mail,
    Customer.photo_consent_on, Customer.erased_at,
)  # fmt: skip
_ONE = _VIEW.where(Customer.id == bindparam("id"))
_PAGE = _VIEW.where(Customer.id > bindparam("after")).order_by(Customer.id).limit(bindparam("most"))
_BY_NAME = _VIEW.order_by(Customer.name, Customer.id)


def customer_view(session: Session, customer_id: int) -> CustomerView:
    """One customer. Raises `NotOnFile`."""
    row = session.execute(_ONE, {"id": customer_id}).first()
    if row is None:
        raise NotOnFile(f"There is no customer {customer_id} on file.")
    return CustomerView(*row)


def customers_after(session: Session, after: int, most: int) -> list[CustomerView]:
    """At most `most` customers whose id is above `after`, by id."""
    rows = session.execute(_PAGE, {"after": after, "most": most})
    return [CustomerView(*row) for row in rows]


def customers_by_name(session: Session, most: int | None = None) -> list[CustomerView]:
    """Every customer, by name; or at most so many of them."""
    wanted = _BY_NAME if most is None else _BY_NAME.limit(most)
    return [CustomerView(*row) for row in session.execute(wanted)]


def customers_to_choose(session: Session, keep: int | None = None) -> list[tuple[int, str]]:
    """Id and name of everybody whom a rod may be for, by name: erased ones are not, but for `keep`."""
    return [
        (item.id, item.name)
        for item in customers_by_name(session)
        if item.erased_at is None or item.id == keep
    ]


def customer_record(session: Session, customer_id: int) -> Customer:
    """The record of one customer, for a verb to change. Raises `NotOnFile`."""
    record = session.get(Customer, customer_id)
    if record is None:
        raise NotOnFile(f"There is no customer {customer_id} on file.")
    return record
