"""The demo's stock: what is counted, where it came from, and what is set aside for rods that are begun.

Invented. Counting begins now, when most rods are on their way; so what is on them already asks for nothing.
One seat too few is there, one delivery waits to be looked at, and some things are below their least.
"""

from datetime import timedelta
from typing import NamedTuple

from sqlalchemy.orm import Session

from seed_demo.shelf import Shelf
from shop.queries.build_parts import parts_of_build
from shop.queries.builds import open_builds
from shop.queries.components import components_by_kind
from shop.queries.lots import lots_on_file
from shop.queries.shop import shop_day
from shop.rules.deliveries import DeliveryDays
from shop.services.bench import Bench
from shop.services.build_parts import name_part, set_aside_all_that_is_there
from shop.services.deliveries import DeliverySaid, LineSaid, inspect_delivery, receive_delivery
from shop.services.stocks import start_counting
from shop.services.suppliers import add_supplier


class Kept(NamedTuple):
    """What lies of a component: how many, how many there should be, where, from which supplier."""

    name: str
    on_shelf: int
    least: int
    bin: str
    supplier: str = "parts"


SUPPLIERS = {
    "blanks": ("Tern Hollow Blanks", "blanks@example.org", 28),
    "parts": ("Fathom & Ferrule Supply", "parts@example.org", 10),
    "chemistry": ("Riverbed Resins", "resins@example.org", 5),
}
COMPONENTS = (
    Kept("Cork rear grip, full wells", 3, 2, "drawer 1"),
    Kept("Cork fore grip", 4, 2, "drawer 1"),
    Kept("Casting seat, size 16", 1, 1, "drawer 2"),
    Kept("Spinning seat, size 16", 2, 1, "drawer 2"),
    Kept("Fly seat, up-locking", 1, 1, "drawer 2"),
    Kept("Ring guide 25 mm", 5, 2, "box A"),
    Kept("Ring guide 12 mm", 14, 6, "box A"),
    Kept("Ring guide 8 mm", 22, 10, "box A"),
    Kept("Ring guide 6 mm", 28, 12, "box A"),
    Kept("Tip-top 5 1/2", 4, 2, "box B"),
    Kept("Thread A, garnet", 9, 3, "rack"),
)
BLANKS = {"casting": 2, "fly": 1}


def count_the_shelf(session: Session, shelf: Shelf, bench: Bench) -> None:
    """Begin to count, take a delivery in, and set aside what is there for the rods that are begun."""
    suppliers = {
        key: add_supplier(session, now=bench.now, name=name, email=email, lead_days=days).id
        for key, (name, email, days) in SUPPLIERS.items()
    }
    stocks = _count(session, shelf, bench, suppliers)
    _deliver(session, bench, suppliers, stocks)
    thread = next(item.id for item in components_by_kind(session) if item.name == "Thread A, garnet")
    for build in open_builds(session):
        parts = parts_of_build(session, build.id)
        if any(part.missing and part.free for part in parts):
            name_part(session, build.number, bench, component_id=thread, count=1)
            set_aside_all_that_is_there(session, build.number, bench)


def _count(session: Session, shelf: Shelf, bench: Bench, suppliers: dict[str, int]) -> dict[str, int]:
    ids = {item.name: item.id for item in components_by_kind(session)}
    stocks = {
        kept.name: start_counting(
            session, bench, what="component", item_id=ids[kept.name], on_shelf=kept.on_shelf,
            least=kept.least, bin=kept.bin, supplier_id=suppliers[kept.supplier],
        ).id
        for kept in COMPONENTS
    }  # fmt: skip
    for kind, on_shelf in BLANKS.items():
        stocks[kind] = start_counting(
            session, bench, what="blank", item_id=shelf.blanks[kind], on_shelf=on_shelf, least=1,
            bin="rack by the door", supplier_id=suppliers["blanks"],
        ).id  # fmt: skip
    lots = lots_on_file(session, shop_day(session, bench.now))
    for key, adhesive_id in shelf.adhesives.items():
        on_shelf = sum(lot.adhesive_id == adhesive_id and lot.emptied_on is None for lot in lots)
        start_counting(
            session, bench, what="adhesive", item_id=adhesive_id, on_shelf=on_shelf,
            least=2 if key == "slow" else 1, bin="cupboard", supplier_id=suppliers["chemistry"],
        )  # fmt: skip
    return stocks


def _deliver(session: Session, bench: Bench, suppliers: dict[str, int], stocks: dict[str, int]) -> None:
    today = shop_day(session, bench.now)
    came = today - timedelta(days=4)
    blanks = receive_delivery(
        session, bench,
        DeliverySaid(
            DeliveryDays(came, today + timedelta(days=3), today + timedelta(days=10)),
            [LineSaid(stocks["casting"], 1, 6_400), LineSaid(stocks["fly"], 1, 8_900)],
            suppliers["blanks"], "TH 2207",
        ),
    )  # fmt: skip
    rings = receive_delivery(
        session, bench,
        DeliverySaid(
            DeliveryDays(came, today - timedelta(days=1), today + timedelta(days=26)),
            [LineSaid(stocks["Ring guide 8 mm"], 6, 265), LineSaid(stocks["Tip-top 5 1/2"], 2, 205)],
            suppliers["parts"], "DN 4471",
        ),
    )  # fmt: skip
    inspect_delivery(session, bench, rings.id, note="All as ordered.")
    assert blanks.inspected_at is None
