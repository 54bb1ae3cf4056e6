"""The API, version 1: one router a noun, in a list that can be read in ten seconds."""

from fastapi import APIRouter, FastAPI

from shop.web.api import (
    adhesives,
    bench,
    blanks,
    builds,
    components,
    cures,
    customers,
    events,
    make_ups,
    mixes,
    sequences,
    status_links,
    sums,
    zones,
)
from shop.web.api.base import Replayed, replayed

ROUTERS = (
    adhesives.router,
    bench.router,
    blanks.router,
    builds.router,
    components.router,
    cures.router,
    customers.router,
    events.router,
    make_ups.router,
    mixes.router,
    sequences.router,
    status_links.router,
    sums.router,
    zones.router,
)


def add_api(app: FastAPI) -> None:
    """Put every noun of the API under `/api/v1`."""
    api = APIRouter(prefix="/api/v1")
    for router in ROUTERS:
        api.include_router(router)
    app.include_router(api)
    app.add_exception_handler(Replayed, replayed)
