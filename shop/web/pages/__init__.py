"""The pages: one router a noun, in a list that can be read in ten seconds."""

from fastapi import FastAPI

from shop.web.pages import corrections, customers, in_hand, mixes, rod

ROUTERS = (
    corrections.router,
    customers.router,
    in_hand.router,
    mixes.router,
    rod.router,
)


def add_pages(app: FastAPI) -> None:
    """Add every page."""
    for router in ROUTERS:
        app.include_router(router)
