"""Suppliers: frozen views, one record for a verb."""

from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, select
from sqlalchemy.orm import Session

from shop.db.suppliers import Supplier
from shop.rules.refusals import NotOnFile


class SupplierView(NamedTuple):
    """A supplier; `lead_days` is how long an order there usually takes, none where nobody said."""

    id: int
    name: str
    email: str
    phone: str
    lead_days: int | None
    notes: str
    version: int


_VIEW: Select[*tuple[Any, ...]] = select(*(getattr(Supplier, name) for name in SupplierView._fields))
_ONE = _VIEW.where(Supplier.id == bindparam("id"))
_PAGE = _VIEW.where(Supplier.id > bindparam("after")).order_by(Supplier.id).limit(bindparam("most"))
_NAMED = select(Supplier.id).where(Supplier.name == bindparam("name")).order_by(Supplier.id).limit(1)
_BY_NAME = _VIEW.order_by(Supplier.name, Supplier.id)


def supplier_view(session: Session, supplier_id: int) -> SupplierView:
    """One supplier. Raises `NotOnFile`."""
    row = session.execute(_ONE, {"id": supplier_id}).first()
    if row is None:
        raise NotOnFile(f"There is no supplier {supplier_id} on file.")
    return SupplierView(*row)


def suppliers_after(session: Session, after: int, most: int) -> list[SupplierView]:
    """At most `most` suppliers whose id is above `after`, by id."""
    return [SupplierView(*row) for row in session.execute(_PAGE, {"after": after, "most": most})]


def suppliers_by_name(session: Session) -> list[SupplierView]:
    """Every supplier, by name."""
    return [SupplierView(*row) for row in session.execute(_BY_NAME)]


def supplier_named(session: Session, name: str) -> int | None:
    """The id of the supplier with a name, or none."""
    return session.scalar(_NAMED, {"name": name})


def supplier_record(session: Session, supplier_id: int) -> Supplier:
    """The record of one supplier, for a verb. Raises `NotOnFile`."""
    supplier = session.get(Supplier, supplier_id, with_for_update=True)
    if supplier is None:
        raise NotOnFile(f"There is no supplier {supplier_id} on file.")
    return supplier
