"""A made-up shop to look at: people, customers, products and about fifteen rods at different stages.

Everything in it is invented. It is made through the services, with a fixed random seed and relative to
the moment it is made, so that something is always setting right now. It refuses a database that is not
empty.
"""

import random
from datetime import datetime
from typing import NamedTuple

from seed_demo.builds import take_on_builds
from seed_demo.money import set_rates
from seed_demo.photos import add_demo_photos
from seed_demo.shelf import fill_shelf
from seed_demo.shop import open_demo_shop
from shop.queries.builds import has_builds
from shop.queries.customers import customers_after
from shop.queries.users import list_users
from shop.rules.refusals import Overtaken
from shop.services.sequences import add_ready_made
from shop.services.status_links import give_link
from shop.web.deps import Hub

SEED = 26
OWNER = "Maren"
PASSWORD = "ash-and-amber-1"


class Demo(NamedTuple):
    """How to get in: the owner's name and password, and the path of one customer's status link."""

    owner_name: str
    owner_password: str
    status_url_path: str


def fill(hub: Hub, now: datetime) -> Demo:
    """Fill an empty database. Raises `Overtaken` where anything is on file already."""
    with hub.database.writing(now) as session:
        if list_users(session) or has_builds(session) or customers_after(session, 0, 1):
            raise Overtaken("The demo fills an empty database only; this one has records in it.")
        open_demo_shop(session, hub.passwords, now=now, owner=OWNER, password=PASSWORD)
        add_ready_made(session, now=now)
        set_rates(session, now=now)
        shelf = fill_shelf(session, now=now)
        shown = take_on_builds(session, shelf, now=now, chance=random.Random(SEED), secret=hub.secret)
        add_demo_photos(session, shelf, hub.photos, shown, now=now)
        token = give_link(session, hub.secret, shown, now=now)
    return Demo(OWNER, PASSWORD, f"/rod/{token}")
