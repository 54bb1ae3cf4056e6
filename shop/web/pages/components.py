"""The shelf's pages of components."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.craft.lengths import LengthError, format_mm, parse_length
from shop.queries.components import component_view
from shop.rules.components import DIMENSIONS, KINDS
from shop.services.components import add_component, change_component
from shop.web.deps import Form, Now, Posted, Reading, Writing
from shop.web.doors import AtDesk, Looking
from shop.web.forms import Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
FORM = "pages/component.html"


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
        "price": _amount(item.price_cents), "cost": _amount(item.cost_cents),
        **{f"size-{name}": f"{format_mm(nm)} mm" for name, nm in item.dimensions.items()},
    }  # fmt: skip
    return page.show(FORM, here="shelf", form=FormView(values), **_context(item.kind, item.id))


@router.post("/shelf/components/{component_id}")
def save_component(actor: AtDesk, page: Page, session: Writing, component_id: int, posted: Form) -> Response:
    """Change a component's facts; its kind stays."""
    page.here = "shelf"
    kind = component_view(session, component_id).kind
    with showing_again(page, FORM, posted, lambda: _context(kind, component_id)):
        change_component(session, component_id, **_fields(posted, kind))
    return page.go(f"/shelf/components/{component_id}", "The component is saved.")


def _context(kind: str, component_id: int | None) -> dict[str, Any]:
    sizes = [(f"size-{name}", name.replace("_", " ")) for name in DIMENSIONS.get(kind, ())]
    return {"kind": kind, "kinds": KINDS, "component_id": component_id, "sizes": sizes}


def _amount(cents: int | None) -> str:
    return "" if cents is None else f"{cents // 100}.{cents % 100:02d}"


def _fields(posted: Posted, kind: str) -> dict[str, Any]:
    fields = Fields(posted)
    values = {
        "kind": kind,
        "name": fields.text("name", "The name", 120, required=True),
        "dimensions": _sizes(posted, fields, kind),
        "price_cents": fields.cents("price", "The price"),
        "cost_cents": fields.cents("cost", "The cost"),
        "currency": fields.text("currency", "The currency", 3, required=True),
        "notes": fields.text("notes", "The notes", 4000),
    }
    fields.done()
    return values


def _sizes(posted: Posted, fields: Fields, kind: str) -> dict[str, int]:
    sizes = {}
    for name in DIMENSIONS.get(kind, ()):
        typed = posted.get(f"size-{name}", "")
        if typed:
            try:
                sizes[name] = parse_length(typed)
            except LengthError as fault:
                fields.errors[f"size-{name}"] = str(fault)
    return sizes
