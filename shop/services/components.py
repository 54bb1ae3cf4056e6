"""Components: putting parts on file and keeping them right."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from shop.db.components import Component
from shop.queries.components import component_record
from shop.queries.shop import read_shop
from shop.rules.components import ComponentFacts, faults_of_component
from shop.rules.refusals import BadInput


def add_component(
    session: Session,
    *,
    now: datetime,
    kind: str,
    name: str,
    dimensions: Mapping[str, int] | None = None,
    mass_mg: int | None = None,
    material: str = "",
    feet: int | None = None,
    price_cents: int | None = None,
    cost_cents: int | None = None,
    currency: str | None = None,
    notes: str = "",
) -> Component:
    """Put a component on file; its currency is the shop's unless another is said. Raises `BadInput`."""
    component = Component(
        kind=kind, name=name, dimensions=dict(dimensions or {}), mass_mg=mass_mg, material=material,
        feet=feet, price_cents=price_cents, cost_cents=cost_cents,
        currency=currency or read_shop(session).currency, notes=notes, created_at=now,
    )  # fmt: skip
    _check(component, {})
    session.add(component)
    session.flush()
    return component


def change_component(session: Session, component_id: int, **changes: Any) -> Component:
    """Change some of a component's facts; `dimensions`, where given, replace them all.

    Raises `NotOnFile` or `BadInput`.
    """
    component = component_record(session, component_id)
    _check(component, changes)
    for name, value in changes.items():
        setattr(component, name, value)
    session.flush()
    return component


def _check(component: Component, changes: Mapping[str, Any]) -> None:
    """Judge a component as it would be with these changes."""
    names = ComponentFacts._fields
    facts = ComponentFacts(*(changes.get(name, getattr(component, name)) for name in names))
    errors = faults_of_component(facts)
    if errors:
        raise BadInput(errors)
