"""What is kept about a customer, as its pages show it: counts with reasons, and every record in lines."""

import json
from collections.abc import Mapping
from typing import Any

from shop.db.sessions import Session
from shop.queries.customers import customer_view
from shop.queries.privacy import NamedIn, Row, everything_about, named_elsewhere, obstacles_to_erasing
from shop.rules.privacy import KINDS, REASONS, RecordKindKept, traces_of
from shop.rules.refusals import NotOnFile

# The kinds of record that have a page of their own for each rod, by the end of its address.
PAGES = {
    "builds": "", "specs": "/spec", "quotes": "/quote", "payments": "/payments", "promises": "",
    "messages": "/messages", "photos": "/photos", "intakes": "/intake", "returns": "/came-back",
    "status_links": "",
}  # fmt: skip
# What only a program can make anything of.
FOR_PROGRAMS = frozenset({"id", "version", "year", "running", "key", "claimed_until", "next_try_at", "tries"})


def privacy_context(session: Session, customer_id: int) -> dict[str, Any]:
    """Everything that `pages/privacy.html` needs but the form. Raises `NotOnFile`, also once erased."""
    customer = customer_view(session, customer_id)
    if customer.erased_at is not None:
        raise NotOnFile("This customer was erased; nothing is kept about the person any more.")
    found = everything_about(session, customer_id)
    numbers = {row["id"]: row["number"] for row in found["builds"]}
    traces = traces_of(customer.name, customer.email, customer.phone)
    return {
        "customer": customer,
        "kinds": [_kind(kind, found, numbers) for kind in KINDS],
        "obstacles": obstacles_to_erasing(session, customer_id),
        "elsewhere": [_elsewhere(line) for line in named_elsewhere(session, customer_id, traces)],
        "reasons": [("", "none"), *((reason, reason) for reason in REASONS)],
        "has_photos": any(row["removed_at"] is None for row in found["photos"]),
    }


def _kind(kind: RecordKindKept, found: Mapping[str, list[Row]], numbers: Mapping[int, str]) -> dict[str, Any]:
    """A kind of record with how many there are, and links to where they are looked at."""
    rows = found[kind.name]
    links = []
    if kind.name in PAGES:
        ids = dict.fromkeys(row["id" if kind.name == "builds" else "build_id"] for row in rows)
        links = [(numbers[at], f"/builds/{numbers[at]}{PAGES[kind.name]}") for at in ids]
    return {"label": kind.label, "count": len(rows), "why": kind.why, "erasing": kind.erasing, "links": links}


def _elsewhere(line: NamedIn) -> dict[str, Any]:
    return {
        "where": line.where, "rows": line.rows, "stays": line.stays,
        "links": [(number, f"/builds/{number}") for number in line.numbers],
    }  # fmt: skip


def export_of(session: Session, customer_id: int, exported_at: str, shop: str) -> dict[str, Any]:
    """Everything that is kept about a customer, as one document. Raises `NotOnFile`."""
    customer_view(session, customer_id)
    why = {kind.name: kind.why for kind in KINDS}
    return {
        "shop": shop, "exported_at": exported_at, "why_it_is_kept": why,
        "records": everything_about(session, customer_id),
    }  # fmt: skip


def readable(session: Session, customer_id: int) -> list[dict[str, Any]]:
    """The same for people: each kind with its records, every record as pairs of a label and words."""
    found = everything_about(session, customer_id)
    labels = {kind.name: kind.label for kind in KINDS} | {"quote_answers": "Answers to quotes"}
    return [
        {"label": labels[name], "records": [_pairs(row) for row in rows]}
        for name, rows in found.items()
        if rows
    ]


def _pairs(row: Row) -> list[tuple[str, str]]:
    """The fields of a record that say anything to people; the JSON document has all of them."""
    return [
        (name.replace("_", " "), _words(value))
        for name, value in row.items()
        if value not in (None, "") and name not in FOR_PROGRAMS and not name.endswith("_id")
    ]


def _words(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return json.dumps(value, ensure_ascii=False) if isinstance(value, dict | list) else str(value)
