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

from shop.app import create_app, open_hub
from shop.clock import Clock
from shop.rules.people import Scope
from shop.services.builds import take_on_build
from shop.services.keys import add_key
from shop.services.tokens import hash_of
from shop.web.deps import Hub
from tests.api.filled import CUSTOMER, SEQUENCE, fill
from tests.conftest import Hands, quick_settings

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
        add_key(session, now=hands.wall_at, name="schema", scope=Scope.DESK, key_hash=hash_of(KEY))
