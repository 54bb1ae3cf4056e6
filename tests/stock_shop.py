"""A shop that counts: the made-up rod of `make_up_shop` with its parts on a shelf, for tests in every layer.

Six ring guides of which a rod takes three, one casting seat, and two rear grips; the fore grip and the blank
are not counted. The rod follows a short sequence that asks for its parts, and takes one share of a thread.
"""

from datetime import datetime
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from shop.rules.sequences import Hold, HoldKind, Record, RecordKind, Sequence, Stage
from shop.services.builds import take_on_build
from shop.services.components import add_component
from shop.services.make_ups import save_make_up
from shop.services.sequences import add_sequence
from shop.services.stocks import start_counting
from shop.services.suppliers import add_supplier
from tests.api.filled import BOND, CUSTOMER
from tests.lot_shop import bench_at
from tests.make_up_shop import BLANK, REAR, RING, SEAT, WHOLE, fill_for_make_ups

OTHER_SEAT, THREAD_A = 5, 6
RINGS, SEATS, REARS, OTHERS, SHARES, KITS = 1, 2, 3, 4, 5, 6
SUPPLIER = 1
# The rods that take parts; 26-001 is the rod of `make_up_shop`.
ROD, SECOND = "26-002", "26-003"
ITS_PARTS = Hold(HoldKind.PARTS)
TAKING = Sequence(
    "taking parts",
    "casting",
    (
        Stage("agreed"),
        Stage("parts in hand", holds=(ITS_PARTS,)),
        Stage("fitted", holds=(ITS_PARTS,), uses=("blank", "grip")),
        Stage(
            "glued", holds=(ITS_PARTS,), uses=("reel seat",), records=(Record(RecordKind.CURE, "reel seat"),)
        ),
        Stage("laid out", holds=(Hold(HoldKind.SLIDE_ON), ITS_PARTS), uses=("guide", "tip-top")),
        Stage("wrapped", holds=(ITS_PARTS,), uses=("thread",)),
        Stage("handed over"),
    ),
)


def fill_with_stock(session: Session, now: datetime, rods: int = 2) -> None:
    """Put the shop on file, begin to count, and take so many rods on; the ids are the constants above."""
    fill_for_make_ups(session, now)
    add_component(session, now=now, kind="reel seat", name="Casting seat, long", cost_cents=1700)
    add_component(session, now=now, kind="thread", name="Thread A, garnet", cost_cents=60)
    add_supplier(session, now=now, name="Tern Hollow Supply", lead_days=10)
    bench = bench_at(session, now)
    for item_id, there, least, code in (
        (RING, 6, 4, "RING8"), (SEAT, 1, 0, "SEAT16"), (REAR, 2, 1, ""), (OTHER_SEAT, 1, 0, "SEAT16L"),
        (THREAD_A, 3, 0, ""),
    ):  # fmt: skip
        start_counting(
            session, bench, what="component", item_id=item_id, on_shelf=there, least=least, code=code,
            supplier_id=SUPPLIER,
        )  # fmt: skip
    start_counting(session, bench, what="adhesive", item_id=BOND, on_shelf=1, least=1)
    sequence = add_sequence(session, now=now, sequence=TAKING)
    for _ in range(rods):
        number = take_on_build(
            session, now=now, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="7 ft casting",
            rod_kind="casting", sequence_id=sequence.id, blank_id=BLANK,
        ).number  # fmt: skip
        save_make_up(session, number, bench, WHOLE, revision=0)
