"""The pages: one router a noun, in a list that can be read in ten seconds."""

from fastapi import FastAPI

from shop.web.api import reference
from shop.web.pages import (
    adhesives,
    blanks,
    builds,
    clock,
    components,
    corrections,
    customers,
    desk,
    hours,
    in_hand,
    keys,
    labels,
    make_ups,
    mixes,
    news,
    people,
    rod,
    sequences,
    setting,
    setup,
    shelf,
    shop_settings,
    sign_in,
    spine,
    stages,
    sums,
    tickets,
    ways,
    you,
    zones,
)

# The pages asked for most come first: routes are tried in this order.
ROUTERS = (
    in_hand.router,
    rod.router,
    news.router,
    adhesives.router,
    blanks.router,
    builds.router,
    clock.router,
    components.router,
    corrections.router,
    customers.router,
    desk.router,
    hours.router,
    keys.router,
    labels.router,
    make_ups.router,
    mixes.router,
    people.router,
    reference.router,
    sequences.router,
    setting.router,
    setup.router,
    shelf.router,
    shop_settings.router,
    sign_in.router,
    spine.router,
    stages.router,
    sums.router,
    tickets.router,
    ways.router,
    you.router,
    zones.router,
)


def add_pages(app: FastAPI) -> None:
    """Add every page."""
    for router in ROUTERS:
        app.include_router(router)
