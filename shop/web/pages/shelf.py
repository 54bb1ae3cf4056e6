"""The Shelf: blanks, components and adhesives, each list under its own tab."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.queries.adhesives import adhesives_by_name
from shop.queries.blanks import blanks_by_model
from shop.queries.components import components_by_kind
from shop.web.deps import Reading
from shop.web.doors import Looking
from shop.web.running import ReadingRoute
from shop.web.templating import Page
from shop.web.wording import amount, both_units, minutes

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/shelf.html"


def _link(text: str, href: str) -> dict[str, str]:
    return {"text": text, "href": href}


@router.get("/shelf")
def show_blanks(actor: Looking, page: Page, session: Reading) -> Response:
    """The blanks."""
    rows: list[list[Any]] = [
        [
            _link(f"{blank.maker} {blank.model}".strip(), f"/shelf/blanks/{blank.id}"),
            both_units(blank.length_nm), blank.pieces,
            "–" if blank.mass_mg is None else f"{blank.mass_mg / 1000:g} g", len(blank.stations),
        ]
        for blank in blanks_by_model(session)
    ]  # fmt: skip
    head = ["Blank", "Length", "Pieces", "Mass", "Stations measured"]
    return page.show(TEMPLATE, here="shelf", tab="blanks", noun="blank", head=head, rows=rows)


@router.get("/shelf/components")
def show_components(actor: Looking, page: Page, session: Reading) -> Response:
    """The components."""
    rows: list[list[Any]] = [
        [
            _link(item.name, f"/shelf/components/{item.id}"), item.kind,
            ", ".join(f"{name} {both_units(nm)}" for name, nm in item.dimensions.items()) or "–",
            amount(item.price_cents, item.currency), amount(item.cost_cents, item.currency),
        ]
        for item in components_by_kind(session)
    ]  # fmt: skip
    head = ["Component", "Kind", "Dimensions", "Price", "Cost"]
    return page.show(TEMPLATE, here="shelf", tab="components", noun="component", head=head, rows=rows)


@router.get("/shelf/adhesives")
def show_adhesives(actor: Looking, page: Page, session: Reading) -> Response:
    """The adhesives."""
    rows: list[list[Any]] = [
        [
            _link(item.name, f"/shelf/adhesives/{item.id}"), item.use, f"{item.reference_c:g} °C",
            minutes(item.pot_life_minutes), minutes(item.set_minutes), minutes(item.full_cure_minutes),
            f"{item.coldest_c:g} °C" if item.coldest_c is not None else "13 °C (sheet silent)",
        ]
        for item in adhesives_by_name(session)
    ]  # fmt: skip
    head = ["Adhesive", "Use", "Figures hold at", "Pot life", "Sets", "Full cure", "Coldest"]
    return page.show(TEMPLATE, here="shelf", tab="adhesives", noun="adhesive", head=head, rows=rows)
