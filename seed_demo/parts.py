"""The demo's components: the parts of whole rods, measured and weighed, and thread to bind them with.

All figures are invented, within the ranges of common practice; none is a real product's.
"""

from datetime import datetime
from typing import NamedTuple

from sqlalchemy.orm import Session

from shop.craft.lengths import parse_length
from shop.rules.masses import mg_of_grams
from shop.services.components import add_component

START_BORE = "1/4 in"


class Part(NamedTuple):
    """One kind of part: what it is, its lengths by name, grams, and prices in cents."""

    kind: str
    name: str
    sizes: dict[str, str]
    grams: float
    material: str
    price_cents: int
    cost_cents: int
    feet: int | None = None


def _grip(length: str, od: str, bore: str = START_BORE, **more: str) -> dict[str, str]:
    return {"length": length, "od": od, "bore_butt_end": bore, "bore_tip_end": bore, **more}


def _guide(ring: str, hole: str, height: str, foot: str, width: str, length: str) -> dict[str, str]:
    return {
        "ring_od": ring, "clear_hole": hole, "centre_height": height, "foot_length": foot,
        "foot_width": width, "length": length,
    }  # fmt: skip


def _arbor(bore: str, od: str, length: str) -> dict[str, str]:
    return {"bore": bore, "od": od, "length": length}


def _round(bore: str, od: str, thickness: str) -> dict[str, str]:
    return {"bore": bore, "od": od, "thickness": thickness}


def _tip(bore: str, ring: str, height: str) -> dict[str, str]:
    return {"tube_bore": bore, "ring_od": ring, "height": height}


SHOULDER = {"shoulder_od": "0.865 in", "shoulder_length": "13/32 in"}
SEAT_16 = {"bore": "0.650 in", "hood_bore": "0.875 in", "hood_depth": "7/16 in", "exposed_thread": "5/8 in"}

PARTS = (
    Part("grip", "Cork rear grip, full wells", _grip("9 in", "1 in", **SHOULDER), 38.0, "cork", 1850, 1100),
    Part("grip", "Cork rear grip, straight", _grip("8 in", "1 in", **SHOULDER), 34.0, "cork", 1650, 980),
    Part("grip", "Cork fore grip", _grip("2 1/2 in", "1 in", **SHOULDER), 9.5, "cork", 700, 420),
    Part(
        "grip", "Cork fly grip, half wells",
        _grip("6 1/2 in", "1 in", recess_od="0.750 in", recess_depth="3/4 in"), 19.0, "cork", 1600, 940,
    ),
    Part("grip", "Foam rear grip, surf", _grip("14 in", "1 3/8 in", "3/4 in"), 46.0, "foam", 1400, 760),
    Part("grip", "Foam fore grip, surf", _grip("6 in", "1 3/8 in", "5/8 in"), 21.0, "foam", 800, 430),
    Part("reel seat", "Casting seat, size 16", {"length": "4 1/2 in", **SEAT_16}, 42.0, "other", 2400, 1500),
    Part("reel seat", "Spinning seat, size 16", {"length": "4 in", **SEAT_16}, 33.0, "other", 2100, 1250),
    Part(
        "reel seat", "Fly seat, up-locking",
        {"bore": "0.437 in", "length": "3 3/4 in", "hood_bore": "0.740 in", "hood_depth": "11/16 in"},
        36.0, "wood", 3900, 2400,
    ),
    Part(
        "reel seat", "Surf seat, size 22",
        {
            "bore": "0.880 in", "length": "6 in", "hood_bore": "1.125 in", "hood_depth": "1/2 in",
            "exposed_thread": "1 in",
        },
        74.0, "aluminium", 3400, 2050,
    ),
    # Arbors come bored for their blank: the bore has to pass over it from the tip to under the seat.
    Part("arbor", "Foam arbor, size 16, bored 0.540", _arbor("0.540 in", "0.640 in", "4 1/2 in"), 2.1, "foam",
         250, 120),
    Part("arbor", "Foam arbor, size 16, bored 0.478", _arbor("0.478 in", "0.640 in", "4 in"), 2.6, "foam",
         250, 120),
    Part("arbor", "Foam arbor, size 22, bored 0.742", _arbor("0.742 in", "0.870 in", "6 in"), 4.8, "foam",
         320, 160),
    Part("winding check", "Aluminium check 12.5 mm", _round("12.5 mm", "21 mm", "3 mm"), 1.2, "aluminium",
         220, 110),
    Part("winding check", "Aluminium check 11.5 mm", _round("11.5 mm", "20 mm", "3 mm"), 1.1, "aluminium",
         220, 110),
    Part("winding check", "Aluminium check 9.5 mm", _round("9.5 mm", "16 mm", "2.5 mm"), 0.8, "aluminium",
         200, 100),
    Part("butt cap", "Rubber butt cap 1 in", {"bore": "1 in", "depth": "1/2 in", "od": "1 3/16 in"}, 9.0,
         "other", 300, 150),
    Part("butt cap", "Rubber butt cap 1 3/8 in", {"bore": "1 3/8 in", "depth": "3/4 in", "od": "1 5/8 in"},
         17.0, "other", 400, 210),
    Part("guide", "Ring guide 25 mm", _guide("25 mm", "20.5 mm", "31.8 mm", "19 mm", "3.2 mm", "52 mm"), 9.8,
         "steel", 980, 590, feet=2),
    Part("guide", "Ring guide 16 mm", _guide("16 mm", "12.4 mm", "19.5 mm", "15 mm", "2.8 mm", "38 mm"), 3.9,
         "steel", 690, 410, feet=2),
    Part("guide", "Ring guide 12 mm", _guide("12 mm", "9 mm", "13.2 mm", "12 mm", "2.5 mm", "31 mm"), 1.9,
         "steel", 560, 330, feet=2),
    Part("guide", "Ring guide 8 mm", _guide("8 mm", "5.8 mm", "8.6 mm", "9.5 mm", "2.2 mm", "17 mm"), 0.7,
         "steel", 450, 260, feet=1),
    Part("guide", "Ring guide 6 mm", _guide("6 mm", "4.2 mm", "6.9 mm", "8.5 mm", "2 mm", "14 mm"), 0.45,
         "steel", 420, 240, feet=1),
    Part("tip-top", "Tip-top 5 1/2", _tip("11/128 in", "6 mm", "6.5 mm"), 0.5, "steel", 380, 210),
    Part("tip-top", "Tip-top 5", _tip("5/64 in", "6 mm", "6.5 mm"), 0.45, "steel", 380, 210),
    Part("tip-top", "Tip-top 4", _tip("1/16 in", "5 mm", "5.5 mm"), 0.3, "steel", 350, 190),
    Part("tip-top", "Tip-top 7 1/2", _tip("15/128 in", "10 mm", "10.5 mm"), 1.4, "steel", 520, 300),
    Part("keeper", "Folding keeper", {"length": "5/8 in"}, 0.4, "steel", 250, 130),
    # 100 yards on a spool.
    Part("thread", "Thread A, garnet", {"diameter": "0.006 in", "length": "300 ft"}, 6.0, "other", 320, 170),
    Part("thread", "Thread D, garnet", {"diameter": "0.011 in", "length": "300 ft"}, 14.0, "other", 360, 190),
)  # fmt: skip


def put_parts_on_file(session: Session, *, now: datetime) -> None:
    """Put every part of the demo on file."""
    for part in PARTS:
        add_component(
            session, now=now, kind=part.kind, name=part.name,
            dimensions={which: parse_length(size) for which, size in part.sizes.items()},
            mass_mg=mg_of_grams(part.grams), material=part.material, feet=part.feet,
            price_cents=part.price_cents, cost_cents=part.cost_cents, currency="EUR",
        )  # fmt: skip
