"""The Shelf: blanks, components and adhesives, each list under its own tab. Lots are in `lots`."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.queries.adhesives import adhesives_by_name
from shop.queries.blanks import blanks_by_model
from shop.queries.components import components_by_kind
from shop.rules.components import said
from shop.rules.people import Actor, Right
from shop.web.deps import Reading
from shop.web.doors import Looking
from shop.web.pages.adhesives import coldest_said, sheet_date_said
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page
from shop.web.wording import amount, both_units, minutes, weight

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/shelf.html"
ALSO = {"text": "Start from a class", "href": "/shelf/ready-made"}


def _link(text: str, href: str) -> dict[str, str]:
    return {"text": text, "href": href}


@router.get("/shelf")
def show_blanks(actor: Looking, page: Page, session: Reading) -> Response:
    """The blanks."""
    rows: list[list[Any]] = [
        [
            _link(f"{blank.maker} {blank.model}".strip(), f"/shelf/blanks/{blank.id}"),
            both_units(blank.length_nm), blank.pieces,
            weight(blank.mass_mg) or "–", blank.measured,
        ]
        for blank in blanks_by_model(session)
    ]  # fmt: skip
    head = ["Blank", "Length", "Pieces", "Mass", "Stations measured"]
    return _tab(actor, page, "blanks", "Add a blank", head, rows)


@router.get("/shelf/components")
def show_components(actor: Looking, page: Page, session: Reading) -> Response:
    """The components."""
    rows: list[list[Any]] = [
        [
            _link(item.name, f"/shelf/components/{item.id}"), item.kind,
            ", ".join(f"{said(name)} {both_units(nm)}" for name, nm in item.dimensions.items()) or "–",
            amount(item.price_cents, item.currency), amount(item.cost_cents, item.currency),
        ]
        for item in components_by_kind(session)
    ]  # fmt: skip
    head = ["Component", "Kind", "Dimensions", "Price", "Cost"]
    return _tab(actor, page, "components", "Add a component", head, rows)


@router.get("/shelf/adhesives")
def show_adhesives(actor: Looking, page: Page, session: Reading) -> Response:
    """The adhesives."""
    rows: list[list[Any]] = [
        [
            _link(item.name, f"/shelf/adhesives/{item.id}"), item.use, f"{item.reference_c:g} °C",
            minutes(item.pot_life_minutes), minutes(item.set_minutes), minutes(item.full_cure_minutes),
            coldest_said(item), sheet_date_said(item),
        ]
        for item in adhesives_by_name(session)
    ]  # fmt: skip
    head = ["Adhesive", "Use", "Figures hold at", "Pot life", "Sets", "Full cure", "Coldest", "Sheet"]
    return _tab(actor, page, "adhesives", "Add an adhesive", head, rows, ALSO)


def _tab(
    actor: Actor,
    page: Frame,
    tab: str,
    add: str,
    head: list[str],
    rows: list[list[Any]],
    also: dict[str, str] | None = None,
) -> Response:
    """One list; who may not change the shelf is not asked to."""
    may_add = actor.may(Right.DESK)
    return page.show(
        TEMPLATE, here="shelf", tab=tab, head=head, rows=rows, add=add if may_add else "", also=also
    )
