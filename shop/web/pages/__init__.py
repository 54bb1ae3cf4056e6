"""The pages: one router a noun, in a list that can be read in ten seconds."""

from fastapi import FastAPI

from shop.web.api import reference
from shop.web.pages import (
    clock,
    corrections,
    customers,
    in_hand,
    keys,
    mixes,
    people,
    rod,
    setup,
    shop_settings,
    sign_in,
    ways,
    you,
)

ROUTERS = (
    clock.router,
    corrections.router,
    customers.router,
    in_hand.router,
    keys.router,
    mixes.router,
    people.router,
    reference.router,
    rod.router,
    setup.router,
    shop_settings.router,
    sign_in.router,
    ways.router,
    you.router,
)


def add_pages(app: FastAPI) -> None:
    """Add every page."""
    for router in ROUTERS:
        app.include_router(router)
