"""Suppliers: putting them on file and keeping them right."""

from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from shop.db.suppliers import Supplier
from shop.queries.suppliers import supplier_named, supplier_record
from shop.rules.refusals import BadInput, Overtaken
from shop.rules.suppliers import SupplierEntry, faults_of_supplier


def add_supplier(session: Session, *, now: datetime, **said: Any) -> Supplier:
    """Put a supplier on file; `said` are the fields of a `SupplierEntry`. Raises `BadInput`."""
    entry = _checked(session, said)
    supplier = Supplier(created_at=now, **entry._asdict())
    session.add(supplier)
    session.flush()
    return supplier


def change_supplier(
    session: Session, supplier_id: int, *, version: int | None = None, **changes: Any
) -> Supplier:
    """Change some of what is said of a supplier.

    Raises `NotOnFile`, `BadInput`, and, with `version` given, `Overtaken` where it was changed since.
    """
    supplier = supplier_record(session, supplier_id)
    if version is not None and supplier.version != version:
        raise Overtaken("Somebody else changed this supplier meanwhile; look at what is on file now.")
    before = {name: getattr(supplier, name) for name in SupplierEntry._fields}
    for name, value in _checked(session, before | changes, supplier_id)._asdict().items():
        setattr(supplier, name, value)
    session.flush()
    return supplier


def _checked(session: Session, said: dict[str, Any], own_id: int | None = None) -> SupplierEntry:
    entry = SupplierEntry(**said)
    errors = faults_of_supplier(entry)
    # Two of one name could not be told apart where things are bought; a second press would make them.
    if supplier_named(session, entry.name.strip()) not in (None, own_id):
        errors["name"] = f"{entry.name.strip()} is on file already."
    if errors:
        raise BadInput(errors)
    return entry._replace(name=entry.name.strip(), email=entry.email.strip(), phone=entry.phone.strip())
