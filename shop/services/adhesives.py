"""Adhesives: putting a product's data sheet on file and keeping it right.

Mixes copy the figures when they are made, so a change here never bends a cure that is under way.
"""

from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from shop.db.adhesives import Adhesive
from shop.queries.adhesives import adhesive_named, adhesive_record
from shop.rules.adhesives import FIELDS, faults_of_adhesive
from shop.rules.refusals import BadInput


def add_adhesive(session: Session, *, now: datetime, **figures: Any) -> Adhesive:
    """Put an adhesive on file; `figures` are the columns of `db.adhesives`. Raises `BadInput`."""
    whole = {name: figures.get(name) for name in FIELDS} | {"source": figures.get("source") or ""}
    _check(session, None, whole)
    adhesive = Adhesive(created_at=now, **whole)
    session.add(adhesive)
    session.flush()
    return adhesive


def change_adhesive(session: Session, adhesive_id: int, **changes: Any) -> Adhesive:
    """Change some of an adhesive's figures. Raises `NotOnFile` or `BadInput`."""
    adhesive = adhesive_record(session, adhesive_id)
    whole = {name: getattr(adhesive, name) for name in FIELDS} | changes
    _check(session, adhesive_id, whole)
    for name, value in changes.items():
        setattr(adhesive, name, value)
    session.flush()
    return adhesive


def _check(session: Session, adhesive_id: int | None, figures: dict[str, Any]) -> None:
    errors = faults_of_adhesive(figures)
    same = adhesive_named(session, figures["name"] or "")
    if same is not None and same.id != adhesive_id:
        errors["name"] = f"There is an adhesive called {figures['name']} already."
    if errors:
        raise BadInput(errors)
