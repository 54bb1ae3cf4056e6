"""Components: frozen views, one record for a verb."""

from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, select
from sqlalchemy.orm import Session

from shop.db.components import Component
from shop.rules.refusals import NotOnFile


class ComponentView(NamedTuple):
    """A component; `dimensions` maps names to nanometres, money is whole cents of `currency`.

    `feet` is how many feet a guide has; other kinds have none.
    """

    id: int
    kind: str
    name: str
    dimensions: dict[str, int]
    mass_mg: int | None
    material: str
    feet: int | None
    price_cents: int | None
    cost_cents: int | None
    currency: str
    notes: str


_VIEW: Select[*tuple[Any, ...]] = select(*(getattr(Component, name) for name in ComponentView._fields))
_ONE = _VIEW.where(Component.id == bindparam("id"))
_PAGE = _VIEW.where(Component.id > bindparam("after")).order_by(Component.id).limit(bindparam("most"))
_BY_KIND = _VIEW.order_by(Component.kind, Component.name, Component.id)


def component_view(session: Session, component_id: int) -> ComponentView:
    """One component. Raises `NotOnFile`."""
    row = session.execute(_ONE, {"id": component_id}).first()
    if row is None:
        raise NotOnFile(f"There is no component {component_id} on file.")
    return ComponentView(*row)


def components_after(session: Session, after: int, most: int) -> list[ComponentView]:
    """At most `most` components whose id is above `after`, by id."""
    return [ComponentView(*row) for row in session.execute(_PAGE, {"after": after, "most": most})]


def components_by_kind(session: Session) -> list[ComponentView]:
    """Every component, by kind and name."""
    return [ComponentView(*row) for row in session.execute(_BY_KIND)]


def component_record(session: Session, component_id: int) -> Component:
    """The record of one component, for a verb. Raises `NotOnFile`."""
    component = session.get(Component, component_id)
    if component is None:
        raise NotOnFile(f"There is no component {component_id} on file.")
    return component
