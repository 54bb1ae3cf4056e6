"""Customers: taking them down and keeping them right."""

from datetime import date, datetime
from typing import Any

from sqlalchemy.orm import Session

from shop.db.customers import Customer
from shop.queries.customers import customer_record
from shop.rules.mail_addresses import fault_of_address
from shop.rules.refusals import BadInput, Overtaken


def add_customer(
    session: Session,
    *,
    now: datetime,
    name: str,
    email: str = "",
    phone: str = "",
    notes: str = "",
    wants_mail: bool = True,
    photo_consent_on: date | None = None,
) -> Customer:
    """Take down a new customer. Raises `BadInput`."""
    _check(name, email)
    customer = Customer(
        name=name, email=email, phone=phone, notes=notes, wants_mail=wants_mail,
        photo_consent_on=photo_consent_on, created_at=now,
    )  # fmt: skip
    session.add(customer)
    session.flush()
    return customer


def change_customer(session: Session, customer_id: int, **changes: Any) -> Customer:
    """Change some of `name`, `email`, `phone`, `notes`, `wants_mail`, `photo_consent_on`.

    Raises `NotOnFile`, `BadInput`, or `Overtaken` for a customer who was erased.
    """
    customer = customer_record(session, customer_id)
    if customer.erased_at is not None:
        raise Overtaken("This customer was erased; take them down anew if they come again.")
    _check(changes.get("name", customer.name), changes.get("email", ""))
    for field, value in changes.items():
        setattr(customer, field, value)
    session.flush()
    return customer


def _check(name: str, email: str) -> None:
    errors = {}
    if not name.strip():
        errors["name"] = "The name is missing; please fill it in."
    if email and (sentence := fault_of_address(email)):
        errors["email"] = sentence
    if errors:
        raise BadInput(errors)
