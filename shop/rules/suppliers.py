"""Suppliers: what may be written down of one."""

from typing import NamedTuple

from shop.rules.stock import fault_of_lead_days

MOST_NAME, MOST_EMAIL, MOST_PHONE, MOST_NOTES = 120, 254, 40, 4000


class SupplierEntry(NamedTuple):
    """What is said of a supplier; `lead_days` is how long an order there usually takes."""

    name: str
    email: str = ""
    phone: str = ""
    lead_days: int | None = None
    notes: str = ""


def faults_of_supplier(entry: SupplierEntry) -> dict[str, str]:
    """Everything that keeps it from being right, by field; empty when it is."""
    faults = {}
    if not entry.name.strip():
        faults["name"] = "The supplier needs a name."
    for name, most in (
        ("name", MOST_NAME), ("email", MOST_EMAIL), ("phone", MOST_PHONE), ("notes", MOST_NOTES),
    ):  # fmt: skip
        if len(getattr(entry, name)) > most:
            faults[name] = f"At most {most} characters fit."
    # Nothing is sent there by Tackfree, so it is enough that it looks like an address.
    if entry.email and ("@" not in entry.email.strip("@") or not entry.email.isprintable()):
        faults["email"] = "An e-mail address has a name, an @ and a host."
    if fault := fault_of_lead_days(entry.lead_days):
        faults["lead_days"] = fault
    return faults
