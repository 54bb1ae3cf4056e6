"""The API of components."""

from typing import Annotated, Any

from pydantic import BaseModel, Field

from shop.queries.components import ComponentView, component_view, components_after
from shop.rules.components import MATERIALS, MOST_MATERIAL
from shop.services.components import add_component, change_component
from shop.web.api.base import After, Body, Limit, Once, Page, Whole, api_router, changes_of, page_of
from shop.web.api.lengths import LengthIn, LengthOut, length_out
from shop.web.api.masses import MassIn, grams_out
from shop.web.deps import Now, Reading, Writing
from shop.web.doors import KeyForDesk, KeyForLooking

router = api_router("components")

Text = Annotated[str, Field(max_length=120)]
Notes = Annotated[str, Field(max_length=4000)]
Currency = Annotated[str, Field(pattern="^[A-Z]{3}$", description="ISO 4217")]
Material = Annotated[
    str, Field(max_length=MOST_MATERIAL, description=f"Free text, such as {', '.join(MATERIALS)}.")
]
FEET = "Of a guide: 1 or 2."
Dimensions = Annotated[dict[str, LengthIn], Field(max_length=20)]


class ComponentIn(Body):
    """A new component; which `dimensions` it may have depends on its kind. Money is whole cents."""

    kind: Annotated[str, Field(max_length=40)]
    name: Text
    dimensions: Dimensions = Field(default={})
    mass_g: MassIn | None = None
    material: Material = ""
    feet: Whole | None = Field(default=None, description=FEET)
    price_cents: Whole | None = None
    cost_cents: Whole | None = None
    currency: Currency | None = None
    notes: Notes = ""


class ComponentChanges(Body):
    """What changes of a component; whatever is left out stays. `dimensions` replace all there were.

    A null takes the mass, the feet, the price or the cost away.
    """

    kind: Annotated[str, Field(max_length=40)] | None = None
    name: Text | None = None
    dimensions: Dimensions | None = None
    mass_g: MassIn | None = None
    material: Material | None = None
    feet: Whole | None = Field(default=None, description=FEET)
    price_cents: Whole | None = None
    cost_cents: Whole | None = None
    currency: Currency | None = None
    notes: Notes | None = None


class ComponentOut(BaseModel):
    """A component on file."""

    id: int
    kind: str
    name: str
    dimensions: dict[str, LengthOut]
    mass_g: float | None
    material: str
    feet: int | None = Field(description=FEET)
    price_cents: int | None
    cost_cents: int | None
    currency: str
    notes: str


def component_out(component: ComponentView) -> dict[str, Any]:
    """A component, for `ComponentOut`."""
    lengths = {name: length_out(nm) for name, nm in component.dimensions.items()}
    return {**component._asdict(), "dimensions": lengths, "mass_g": grams_out(component.mass_mg)}


def _facts(body: dict[str, Any]) -> dict[str, Any]:
    """A body's fields as the service takes them: milligrams."""
    return {"mass_mg" if name == "mass_g" else name: value for name, value in body.items()}


@router.get("/components", response_model=Page[ComponentOut])
def list_components(actor: KeyForLooking, session: Reading, after: After = 0, limit: Limit = 50) -> Any:
    """Components by id."""
    page = page_of(components_after(session, after, limit + 1), limit, lambda item: item.id)
    return {**page, "items": [component_out(component) for component in page["items"]]}


@router.post("/components", status_code=201, response_model=ComponentOut)
def post_component(actor: KeyForDesk, session: Writing, _once: Once, now: Now, body: ComponentIn) -> Any:
    """Put a component on file."""
    component = add_component(session, now=now, **_facts(body.model_dump()))
    return component_out(component_view(session, component.id))


@router.get("/components/{component_id}", response_model=ComponentOut)
def get_component(actor: KeyForLooking, session: Reading, component_id: int) -> Any:
    """One component."""
    return component_out(component_view(session, component_id))


@router.patch("/components/{component_id}", response_model=ComponentOut)
def patch_component(
    actor: KeyForDesk, session: Writing, _once: Once, component_id: int, body: ComponentChanges
) -> Any:
    """Change a component's facts."""
    changes = changes_of(body, "mass_g", "feet", "price_cents", "cost_cents")
    change_component(session, component_id, **_facts(changes))
    return component_out(component_view(session, component_id))
