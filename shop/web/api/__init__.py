"""The API, version 1: one router a noun, in a list that can be read in ten seconds."""

from fastapi import APIRouter, FastAPI

from shop.web.api import (
    adhesives,
    bench,
    blanks,
    builds,
    components,
    cup,
    cures,
    customers,
    events,
    lots,
    make_ups,
    mixes,
    moves,
    orders,
    sensors,
    sequences,
    servings,
    specs,
    status_links,
    sums,
    turners,
    zones,
)
from shop.web.api.base import Replayed, replayed

ROUTERS = (
    adhesives.router,
    bench.router,
    blanks.router,
    builds.router,
    components.router,
    cup.router,
    cures.router,
    customers.router,
    events.router,
    lots.router,
    make_ups.router,
    mixes.router,
    moves.router,
    orders.router,
    sensors.router,
    sequences.router,
    servings.router,
    specs.router,
    status_links.router,
    sums.router,
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
