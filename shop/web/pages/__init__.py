"""The pages: one router a noun, in a list that can be read in ten seconds."""

from fastapi import FastAPI

from shop.web.api import reference
from shop.web.pages import (
    adhesives,
    blanks,
    clock,
    components,
    corrections,
    customers,
    in_hand,
    keys,
    mixes,
    people,
    rod,
    setup,
    shelf,
    shop_settings,
    sign_in,
    ways,
    you,
    zones,
)

ROUTERS = (
    adhesives.router,
    blanks.router,
    clock.router,
    components.router,
    corrections.router,
    customers.router,
    in_hand.router,
    keys.router,
    mixes.router,
    people.router,
    reference.router,
    rod.router,
    setup.router,
    shelf.router,
    shop_settings.router,
    sign_in.router,
    ways.router,
    you.router,
    zones.router,
)


def add_pages(app: FastAPI) -> None:
    """Add every page."""
    for router in ROUTERS:
        app.include_router(router)
