"""The shop that an order goes through in `test_order`, served for real, and people who sit at its pages.

What lies on the shelf is put there by the verbs; everything that is done with the order is done at a page.
The sequence is short and has every hold that an order meets. Its parts and hours are priced so that the
quote can be worked by hand.
"""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime
from itertools import pairwise
from pathlib import Path

from sqlalchemy.orm import Session

from shop.app import open_hub
from shop.clock import Clock
from shop.queries.builds import build_view
from shop.queries.shop import shop_record
from shop.rules.build_parts import LOOK_ALIKE_CHECK
from shop.rules.people import Role, Scope
from shop.rules.sequences import Hold, HoldKind, Record, RecordKind, Sequence, Stage
from shop.services.components import add_component, change_component
from shop.services.keys import add_key
from shop.services.sequences import add_sequence
from shop.services.status_links import give_link
from shop.services.stocks import start_counting
from shop.services.suppliers import add_supplier
from shop.services.tokens import hash_of
from shop.services.users import add_user
from shop.web.deps import Hub
from tests.conftest import PASSWORD, Hands, quick_settings
from tests.demo_server import free_port
from tests.live_server import served
from tests.lot_shop import bench_at
from tests.make_up_shop import FORE, REAR, RING, SEAT, fill_for_make_ups

OWNER, BUILDER, KEY = "Maren", "Tove", "key-of-the-test-that-reads-the-record"
OTHER_SEAT, THREAD = 5, 6
# The rod of somebody else, with its customer Ada Thorn; the order of the test gets the next number.
STRANGER, ROD = "26-001", "26-002"
COUNTED = ((REAR, 2, "REAR"), (RING, 6, "RING8"), (OTHER_SEAT, 1, "SEAT-LONG"), (THREAD, 3, "THREAD-A"))


def _glues(place: str) -> tuple[Record, ...]:
    return (Record(RecordKind.CURE, place),)


YES, PARTS = Hold(HoldKind.APPROVAL), Hold(HoldKind.PARTS)
STAGES = (
    Stage("order agreed", "Your order is agreed.", 40, (YES,), tells_customer=True),
    Stage("parts in hand", "All the parts for your rod are here.", 20, (Hold(HoldKind.DEPOSIT), PARTS)),
    Stage(
        "rear grip glued", "", 40, (PARTS,), _glues("rear grip"), ("rear grip",), uses=("blank", "grip")
    ),
    Stage(
        "reel seat glued", "", 30,
        (Hold(HoldKind.SET, places=("rear grip",)), PARTS, Hold(HoldKind.CHECK, check=LOOK_ALIKE_CHECK)),
        _glues("reel seat"), ("reel seat", "fore grip"), uses=("reel seat",),
    ),
    Stage(
        "handle cured", "The handle is on.", 0,
        (Hold(HoldKind.FULL_CURE, places=("rear grip", "reel seat")),), tells_customer=True,
    ),
    Stage(
        "wrapped", "The guides are wrapped on.", 90, (Hold(HoldKind.SLIDE_ON), PARTS),
        (Record(RecordKind.PHOTO, "wraps"),), ("guides", "wraps"), uses=("guide", "thread"),
    ),
    Stage("first coat", "The first coat is on.", 20, (YES,), _glues("guide wraps"), ("gloss",)),
    Stage(
        "second coat", "", 20, (Hold(HoldKind.RECOAT, place="guide wraps"),), _glues("guide wraps")
    ),
    Stage("finish cured", "", 0, (Hold(HoldKind.FULL_CURE, places=("guide wraps",)),)),
    Stage("inspected", "Your rod is ready.", 25),
    Stage("handed over", "Handed over. Enjoy it.", 15, (Hold(HoldKind.BALANCE),)),
)  # fmt: skip


ORDERED = Sequence(
    "to order", "spinning",
    tuple(
        stage if before is None else replace(stage, holds=(
            Hold(HoldKind.ORDER, stages=(before.name,)), *stage.holds
        ))
        for before, stage in pairwise((None, *STAGES)) if stage is not None
    ),
)  # fmt: skip


def fill_the_shop(session: Session, hub: Hub, now: datetime) -> str:
    """Put the shop on file, with a stranger's rod; gives the token of the stranger's link.

    Of what the order takes only the reel seat is not there yet, and nobody counts it so far.
    """
    fill_for_make_ups(session, now)
    shop_record(session).currency = "EUR"
    for part, cents in ((REAR, 24_00), (SEAT, 31_50), (FORE, 12_50), (RING, 8_30)):
        change_component(session, part, price_cents=cents, currency="EUR")
    add_component(session, now=now, kind="reel seat", name="Casting seat, long", price_cents=33_00)
    add_component(session, now=now, kind="thread", name="Thread A")
    add_supplier(session, now=now, name="Tern Hollow Supply")
    bench = bench_at(session, now)
    for item_id, there, code in COUNTED:
        start_counting(session, bench, what="component", item_id=item_id, on_shelf=there, code=code)
    add_sequence(session, now=now, sequence=ORDERED)
    for name, role in ((OWNER, Role.OWNER), (BUILDER, Role.BUILDER)):
        add_user(session, hub.passwords, now=now, name=name, role=role, password=PASSWORD)
    add_key(session, now=now, name="reader", scope=Scope.DESK, key_hash=hash_of(KEY))
    return give_link(session, hub.secret, build_view(session, STRANGER).id, now=now)


class Shop:
    """A shop in a folder of its own, served at one address that it keeps over restarts."""

    def __init__(self, migrated: Path, folder: Path, hands: Hands) -> None:
        shutil.copytree(migrated, folder)
        self.port = free_port()
        self.address = f"http://127.0.0.1:{self.port}"
        self._settings = quick_settings(folder).model_copy(update={"public_url": self.address})
        self._hands = hands

    def hub(self) -> Hub:
        """The shop opened anew, as at the start of its process."""
        return open_hub(self._settings, Clock(self._hands.wall, self._hands.steady))

    @contextmanager
    def open(self) -> Iterator[Hub]:
        """The shop behind its address while the block runs."""
        hub = self.hub()
        with served(hub, self.port):
            yield hub
