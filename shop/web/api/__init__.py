"""The API, version 1: one router a noun, in a list that can be read in ten seconds."""

from fastapi import APIRouter, FastAPI

from shop.web.api import (
    adhesives,
    bench,
    blanks,
    build_parts,
    builds,
    components,
    cup,
    cures,
    customers,
    deliveries,
    events,
    lots,
    mail_settings,
    mail_templates,
    mails,
    make_ups,
    messages,
    mixes,
    moves,
    orders,
    payments,
    photos,
    promises,
    purchases,
    quotes,
    search,
    sensors,
    sequences,
    servings,
    specs,
    status_links,
    stocks,
    sums,
    suppliers,
    tax_rules,
    totals,
    turners,
    zones,
)
from shop.web.api.base import Replayed, replayed

ROUTERS = (
    adhesives.router,
    bench.router,
    blanks.router,
    build_parts.router,
    builds.router,
    components.router,
    cup.router,
    cures.router,
    customers.router,
    deliveries.router,
    events.router,
    lots.router,
    mail_settings.router,
    mail_templates.router,
    mails.router,
    make_ups.router,
    messages.router,
    mixes.router,
    moves.router,
    orders.router,
    payments.router,
    photos.router,
    promises.router,
    purchases.router,
    quotes.router,
    search.router,
    sensors.router,
    sequences.router,
    servings.router,
    specs.router,
    status_links.router,
    stocks.router,
    sums.router,
    suppliers.router,
    tax_rules.router,
    totals.router,
    turners.router,
    zones.router,
)


def add_api(app: FastAPI) -> None:
    """Put every noun of the API under `/api/v1`."""
    api = APIRouter(prefix="/api/v1")
    for router in ROUTERS:
        api.include_router(router)
    app.include_router(api)
    app.add_exception_handler(Replayed, replayed)
