"""The app that Schemathesis tries: a filled shop in a folder of its own, and a key for the desk.

Made once for the whole run; the folder is removed when the process ends. The clock stands still, so that
what is tried does not depend on the day.
"""

import shutil
import tempfile
from atexit import register
from pathlib import Path
from zoneinfo import ZoneInfo

from fastapi import FastAPI
from sqlalchemy.orm import Session

from shop.app import create_app, open_hub
from shop.clock import Clock
from shop.rules.deliveries import DeliveryDays
from shop.rules.people import Scope
from shop.services.builds import take_on_build
from shop.services.components import add_component
from shop.services.deliveries import DeliverySaid, LineSaid, receive_delivery
from shop.services.keys import add_key
from shop.services.stocks import start_counting
from shop.services.suppliers import add_supplier
from shop.services.tokens import hash_of
from shop.web.deps import Hub
from tests.api.filled import CUSTOMER, SEQUENCE, fill
from tests.conftest import Hands, quick_settings
from tests.lot_shop import bench_at

KEY = "a key that only this test knows"


def make_app() -> FastAPI:
    """The app around a shop with the records whose ids and numbers the examples name."""
    folder = Path(tempfile.mkdtemp(prefix="tackfree-schema-"))
    register(shutil.rmtree, folder, ignore_errors=True)
    hands = Hands()
    hub = open_hub(quick_settings(folder), Clock(hands.wall, hands.steady))
    register(hub.database.close)
    _fill(hub, hands)
    return create_app(hub)


def _fill(hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        fill(session, hands.wall_at)
        for _ in range(14):
            take_on_build(
                session, now=hands.wall_at, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="7 ft",
                rod_kind="casting", sequence_id=SEQUENCE,
            )  # fmt: skip
        _count(session, hands)
        add_key(session, now=hands.wall_at, name="schema", scope=Scope.DESK, key_hash=hash_of(KEY))


def _count(session: Session, hands: Hands) -> None:
    """A counted part of which a delivery came, for the calls that name the first of each."""
    add_supplier(session, now=hands.wall_at, name="Tern Hollow Supply")
    part = add_component(session, now=hands.wall_at, kind="guide", name="Ring guide 8 mm")
    bench = bench_at(session, hands.wall_at)
    stock = start_counting(session, bench, what="component", item_id=part.id, on_shelf=9)
    said = DeliverySaid(DeliveryDays(hands.wall_at.date()), [LineSaid(stock.id, 6, 265)], 1)
    receive_delivery(session, bench, said)
