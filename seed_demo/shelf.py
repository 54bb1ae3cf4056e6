"""The demo's shelf: zones with their thermometers' readings, adhesives, blanks, components.

All figures are invented, within the ranges of common practice; none is a real product's.
"""

from collections.abc import Callable
from datetime import datetime, timedelta
from math import cos, tau
from typing import NamedTuple

from sqlalchemy.orm import Session

from shop.craft.lengths import parse_length
from shop.services.adhesives import add_adhesive
from shop.services.blanks import add_blank
from shop.services.components import add_component
from shop.services.zones import add_readings, add_zone

DAYS_OF_READINGS = 30
READING_STEP = timedelta(minutes=30)
SOURCE = "invented for the demo; not a data sheet"


class Shelf(NamedTuple):
    """The ids of what the builds are made with."""

    zones: dict[str, int]
    adhesives: dict[str, int]
    blanks: dict[str, int]


ADHESIVES = {
    "slow": {
        "name": "Riverbed slow epoxy", "use": "bond", "parts_a": 1.0, "parts_b": 1.0, "density_a": 1.16,
        "density_b": 1.02, "reference_c": 24.0, "pot_life_minutes": 60.0, "set_minutes": 600.0,
        "full_cure_minutes": 1440.0, "coldest_c": 13.0, "doubling_c": 10.0, "source": SOURCE,
    },
    "fast": {
        "name": "Quickset five-minute epoxy", "use": "bond", "parts_a": 1.0, "parts_b": 1.0,
        "density_a": 1.15, "density_b": 1.1, "reference_c": 24.0, "pot_life_minutes": 5.0,
        "set_minutes": 15.0, "full_cure_minutes": 480.0, "coldest_c": 10.0, "source": SOURCE,
    },
    "finish": {
        "name": "Stillwater wrap finish", "use": "finish", "parts_a": 1.0, "parts_b": 1.0,
        "density_a": 1.12, "density_b": 0.98, "reference_c": 24.0, "pot_life_minutes": 35.0,
        "set_minutes": 480.0, "full_cure_minutes": 4320.0, "recoat_from_minutes": 720.0,
        "recoat_until_minutes": 2160.0, "coldest_c": 15.0, "doubling_c": 10.0, "source": SOURCE,
    },
}  # fmt: skip
BLANKS = {
    "casting": ("Heron 70 MH", "7 ft", 1, 58, "0.590", "0.084"),
    "spinning": ("Wader 66 M", "6 ft 6 in", 2, 49, "0.520", "0.078"),
    "fly": ("Mayfly 904", "9 ft", 4, 41, "0.395", "0.062"),
    "surf": ("Breaker 116", "11 ft 6 in", 2, 240, "0.880", "0.110"),
    "boat": ("Keelson 60 H", "6 ft", 1, 190, "0.760", "0.140"),
}
COMPONENTS: tuple[tuple[str, str, dict[str, str], int, int], ...] = (
    ("grip", "Cork rear grip, full wells", {"length": "9 in"}, 1850, 1100),
    ("grip", "Cork fore grip", {"length": "2 1/2 in"}, 700, 420),
    ("reel seat", "Casting seat, size 16", {"length": "4 1/2 in"}, 2400, 1500),
    ("guide", "Ring guide 8 mm", {}, 450, 260),
    ("tip-top", "Tip-top 5 1/2", {}, 380, 210),
    ("winding check", "Aluminium check 12 mm", {}, 220, 110),
)


def fill_shelf(session: Session, *, now: datetime) -> Shelf:
    """Fill the shelf; gives the ids of what the builds need."""
    zones = _zones(session, now)
    adhesives = {key: add_adhesive(session, now=now, **sheet).id for key, sheet in ADHESIVES.items()}
    blanks = {}
    for key, (model, length, pieces, grams, butt, tip) in BLANKS.items():
        length_nm = parse_length(length.replace(" ft", "'").replace(" in", '"') if "ft" in length else length)
        blanks[key] = add_blank(
            session, now=now, maker="Tern Hollow", model=model, length_nm=length_nm, pieces=pieces,
            mass_mg=grams * 1000, stations=_stations(length_nm, butt, tip),
        ).id  # fmt: skip
    for kind, name, dimensions, price, cost in COMPONENTS:
        sizes = {which: parse_length(value) for which, value in dimensions.items()}
        add_component(
            session, now=now, kind=kind, name=name, dimensions=sizes, price_cents=price, cost_cents=cost,
            currency="EUR",
        )  # fmt: skip
    return Shelf(zones, adhesives, blanks)


def _stations(length_nm: int, butt: str, tip: str) -> list[tuple[int, int]]:
    """A straight taper measured every twelve inches and at the tip."""
    foot = parse_length("12 in")
    butt_nm, tip_nm = parse_length(f"{butt} in"), parse_length(f"{tip} in")
    places = [*range(0, length_nm, foot), length_nm]
    thou = parse_length("0.001 in")
    taper = [(at, butt_nm - (butt_nm - tip_nm) * at // length_nm) for at in places]
    return [(at, od // thou * thou) for at, od in taper]


def _zones(session: Session, now: datetime) -> dict[str, int]:
    warm: dict[str, tuple[float, Callable[[float], float]]] = {
        "bench": (16.0, lambda hour: 20.0 - 3.0 * cos(tau * (hour - 3) / 24)),
        "warm cabinet": (22.0, lambda _hour: 26.0),
        "back store": (8.0, lambda hour: 9.5 - 1.5 * cos(tau * (hour - 3) / 24)),
    }
    ids = {}
    steps = int(timedelta(days=DAYS_OF_READINGS) / READING_STEP)
    for name, (assumed, celsius_at) in warm.items():
        zone = add_zone(session, now=now, name=name, assumed_c=assumed)
        times = [now - READING_STEP * step for step in range(steps, -1, -1)]
        readings = [(at, round(celsius_at(at.hour + at.minute / 60), 1)) for at in times]
        add_readings(session, zone.id, now=now, readings=readings)
        ids[name] = zone.id
    return ids
