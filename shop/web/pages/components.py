"""The shelf's pages of components."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.craft.lengths import format_mm
from shop.queries.components import ComponentView, component_view
from shop.rules.components import DIMENSIONS, GUIDE, KINDS, MATERIALS, MOST_MATERIAL, said
from shop.rules.masses import MOST_MASS_MG
from shop.rules.people import Right
from shop.services.components import add_component, change_component
from shop.web.deps import Form, Now, Posted, Reading, Writing
from shop.web.doors import AtDesk, Looking
from shop.web.forms import Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Page
from shop.web.wording import amount, both_units, grams, weight

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
FORM = "pages/component.html"
# Fields are called as the verbs name them in their refusals, so that a fault stands beside its field.
SIZE = "dimensions."


@router.get("/shelf/components/new")
def new_component(actor: AtDesk, page: Page, kind: str = "grip") -> Response:
    """An empty form for a new component of one kind."""
    shown = kind if kind in DIMENSIONS else "grip"
    return page.show(
        FORM, here="shelf", form=FormView({"currency": page.shop.currency}), **_context(shown, None)
    )


@router.post("/shelf/components/new")
def put_component_on_file(actor: AtDesk, page: Page, session: Writing, now: Now, posted: Form) -> Response:
    """Put a component on file."""
    page.here = "shelf"
    kind = posted.get("kind", "")
    with showing_again(page, FORM, posted, lambda: _context(kind, None)):
        component = add_component(session, now=now, **_fields(posted, kind))
    return page.go(f"/shelf/components/{component.id}", f"{component.name} is on file.")


@router.get("/shelf/components/{component_id}")
def show_component(actor: Looking, page: Page, session: Reading, component_id: int) -> Response:
    """One component, to look at and to change."""
    item = component_view(session, component_id)
    values = {
        "name": item.name, "currency": item.currency, "notes": item.notes,
        "mass_g": grams(item.mass_mg), "material": item.material, "feet": item.feet or "",
        "price_cents": _amount(item.price_cents), "cost_cents": _amount(item.cost_cents),
        **{f"{SIZE}{name}": f"{format_mm(nm)} mm" for name, nm in item.dimensions.items()},
    }  # fmt: skip
    context = _context(item.kind, item, may_desk=actor.may(Right.DESK))
    return page.show(FORM, here="shelf", form=FormView(values), **context)


@router.post("/shelf/components/{component_id}")
def save_component(actor: AtDesk, page: Page, session: Writing, component_id: int, posted: Form) -> Response:
    """Change a component's facts; its kind stays."""
    page.here = "shelf"
    item = component_view(session, component_id)
    with showing_again(page, FORM, posted, lambda: _context(item.kind, item)):
        change_component(session, component_id, **_fields(posted, item.kind))
    return page.go(f"/shelf/components/{component_id}", "The component is saved.")


def _context(kind: str, item: ComponentView | None, may_desk: bool = True) -> dict[str, Any]:
    sizes = [(f"{SIZE}{name}", said(name)) for name in DIMENSIONS.get(kind, ())]
    context = {
        "kind": kind, "kinds": KINDS, "item": item, "sizes": sizes, "materials": MATERIALS,
        "has_feet": kind == GUIDE, "may_desk": may_desk,
    }  # fmt: skip
    if item is None:
        return context
    facts = [
        ("Kind", item.kind),
        *((said(name).capitalize(), both_units(nm)) for name, nm in item.dimensions.items()),
        ("Mass", weight(item.mass_mg)), ("Material", item.material), ("Feet", item.feet),
        ("Price", amount(item.price_cents, item.currency)),
        # What the shop pays for it is the desk's.
        ("Cost", amount(item.cost_cents, item.currency) if may_desk else ""), ("Notes", item.notes),
    ]  # fmt: skip
    return {**context, "facts": [(term, detail) for term, detail in facts if detail]}


def _amount(cents: int | None) -> str:
    return "" if cents is None else f"{cents // 100}.{cents % 100:02d}"


def _fields(posted: Posted, kind: str) -> dict[str, Any]:
    fields = Fields(posted)
    values = {
        "kind": kind,
        "name": fields.text("name", "The name", 120, required=True),
        "dimensions": _sizes(fields, kind),
        "mass_mg": fields.grams_mg("mass_g", "The mass in grams", MOST_MASS_MG),
        "material": fields.text("material", "The material", MOST_MATERIAL),
        "feet": fields.whole("feet", "The number of feet", 1, 2),
        "price_cents": fields.cents("price_cents", "The price"),
        "cost_cents": fields.cents("cost_cents", "The cost"),
        "currency": fields.text("currency", "The currency", 3, required=True),
        "notes": fields.text("notes", "The notes", 4000),
    }
    fields.done()
    return values


def _sizes(fields: Fields, kind: str) -> dict[str, int]:
    sizes = {}
    for name in DIMENSIONS.get(kind, ()):
        typed = fields.length_nm(f"{SIZE}{name}")
        if typed is not None:
            sizes[name] = typed
    return sizes
