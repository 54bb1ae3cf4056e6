"""The shop's own figures: name, time zone, currency, and how careful its cure clock is."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.queries.shop import shop_version
from shop.rules.warranties import MOST_MONTHS
from shop.services.shop import (
    LEAST_CAP,
    LEAST_GAP_MINUTES,
    MOST_CAP,
    MOST_DAYS,
    MOST_GAP_MINUTES,
    change_shop,
    faults_of_shop,
)
from shop.web.deps import Form, Posted, Reading, Writing
from shop.web.doors import AtWays
from shop.web.forms import Fields, FormView, showing_again
from shop.web.pages.setup import shop_facts, zone_options
from shop.web.running import ReadingRoute
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/shop.html"


@router.get("/ways/shop")
def show_shop(actor: AtWays, page: Page, session: Reading) -> Response:
    """The shop's figures, to change."""
    shop = page.shop
    values = {
        "shop_name": shop.name,
        "time_zone": shop.time_zone,
        "currency": shop.currency,
        "credit_cap": f"{shop.credit_cap:g}",
        "reading_gap_minutes": f"{shop.reading_gap_minutes:g}",
        "warranty_months": shop.warranty_months,
        "unclaimed_days": shop.unclaimed_days,
        "version": shop_version(session),
    }
    return page.show(TEMPLATE, here="ways", form=FormView(values), **_context())


@router.post("/ways/shop")
def save_shop(actor: AtWays, page: Page, session: Writing, posted: Form) -> Response:
    """Change the shop's figures."""
    page.here = "ways"
    with showing_again(page, TEMPLATE, posted, _context):
        change_shop(session, shop_facts(posted), **_figures(posted))
    return page.go("/ways/shop", "The shop's figures are saved.")


def _figures(posted: Posted) -> dict[str, Any]:
    fields = Fields(posted)
    cap, gap = "The most credit for warmth", "The reading gap"
    values = {
        "credit_cap": fields.number("credit_cap", cap, LEAST_CAP, MOST_CAP),
        "reading_gap_minutes": fields.number("reading_gap_minutes", gap, LEAST_GAP_MINUTES, MOST_GAP_MINUTES),
        "version": fields.whole("version", "The version", 1, 10**9),
    }
    for (name, value), label in zip(values.items(), (cap, gap, "The version"), strict=True):
        fields.required(name, label, value)
    # What is left empty stays as it is.
    months = fields.whole("warranty_months", "The warranty", 0, MOST_MONTHS)
    days = fields.whole("unclaimed_days", "The number of days", 1, MOST_DAYS)
    fields.errors |= faults_of_shop(shop_facts(posted))
    fields.done()
    return values | {"warranty_months": months, "unclaimed_days": days}


def _context() -> dict[str, Any]:
    return {"zones": zone_options()}
