"""A shop whose one rod can be made up: a measured blank, parts, guides, and a sequence that asks.

The blank tapers 0.006 in an inch from 0.593 in, so that every figure can be worked by hand.
"""

from datetime import datetime
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from shop.craft.lengths import parse_length
from shop.rules.sequences import Hold, HoldKind, Record, RecordKind, Sequence, Stage
from shop.services.blanks import add_blank
from shop.services.builds import take_on_build
from shop.services.components import add_component
from shop.services.make_ups import GuideSaid, MakeUpSaid, PartSaid
from shop.services.sequences import add_sequence
from tests.api.filled import BOND, CUSTOMER, FINISH, fill

NUMBER = "26-001"
REAR, SEAT, FORE, RING = 1, 2, 3, 4
BLANK = 1
# The figures of a fitted grip are asked for; a wrong handle length is held against the rod.
MADE = Sequence(
    "made up",
    "casting",
    (
        Stage("agreed"),
        Stage(
            "fitted",
            records=(Record(RecordKind.MEASUREMENT, "rear grip length"),),
            figures=("handle", "grips", "seat"),
        ),
        Stage(
            "glued",
            holds=(Hold(HoldKind.MEASUREMENT, name="handle length"),),
            records=(Record(RecordKind.CURE, "rear grip"),),
            figures=("glue",),
        ),
    ),
)


def nm(inches: str) -> int:
    return parse_length(f"{inches} in")


PARTS = (
    PartSaid("rear grip", REAR, nm("1/2"), nm("9 1/2")),
    PartSaid("reel seat", SEAT, nm("9 1/2"), nm("14")),
    PartSaid("fore grip", FORE, nm("14"), nm("16 1/2")),
)
GUIDES = tuple(GuideSaid(nm(at), RING) for at in ("4", "18 1/2", "52"))
WHOLE = MakeUpSaid(PARTS, GUIDES, BOND, FINISH)


def fill_for_make_ups(session: Session, now: datetime) -> None:
    """Put the shop on file and take the rod on; the ids are the constants above."""
    fill(session, now)
    stations = [(nm(str(at)), nm(f"{0.593 - 0.006 * at:.3f}")) for at in range(0, 85, 12)]
    add_blank(session, now=now, model="Heron 70", length_nm=nm("84"), mass_mg=62_000, stations=stations)
    for kind, name, sizes, mass_mg in (
        ("grip", "Cork rear grip", {"od": "1", "bore_tip_end": "1/4"}, 38_000),
        ("reel seat", "Casting seat", {"bore": "0.650", "hood_bore": "0.875", "hood_depth": "7/16"}, 42_000),
        ("grip", "Cork fore grip", {"od": "1", "bore_tip_end": "1/4"}, 12_000),
        ("guide", "Ring guide 8", {"ring_od": "5/16"}, 1_000),
    ):
        dimensions = {which: nm(value) for which, value in sizes.items()}
        add_component(session, now=now, kind=kind, name=name, dimensions=dimensions, mass_mg=mass_mg)
    sequence = add_sequence(session, now=now, sequence=MADE)
    take_on_build(
        session, now=now, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="7 ft casting",
        rod_kind="casting", sequence_id=sequence.id, blank_id=BLANK,
    )  # fmt: skip
