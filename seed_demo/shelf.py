"""The demo's shelf: zones with their thermometers' readings, adhesives, blanks; its parts are in `parts`.

All figures are invented, within the ranges of common practice; none is a real product's.
"""

from collections.abc import Callable
from datetime import date, datetime, timedelta
from math import cos, tau
from typing import NamedTuple

from sqlalchemy.orm import Session

from seed_demo.lots import LotPair, put_lots_on_shelf
from seed_demo.parts import put_parts_on_file
from shop.craft.lengths import parse_length
from shop.services.adhesives import add_adhesive
from shop.services.blanks import add_blank
from shop.services.sensors import add_sensor
from shop.services.zones import add_readings, add_zone

DAYS_OF_READINGS = 30
READING_STEP = timedelta(minutes=30)
SOURCE = "its sheet, revision 3, invented for the demo"
SHEET_DATE = date(2025, 9, 1)


class Shelf(NamedTuple):
    """The ids of what the builds are made with; of each adhesive's lots the two to mix from."""

    zones: dict[str, int]
    adhesives: dict[str, int]
    blanks: dict[str, int]
    lots: dict[str, LotPair]


ADHESIVES = {
    "slow": {
        "name": "Riverbed slow epoxy", "use": "bond", "parts_a": 1.0, "parts_b": 1.0, "density_a": 1.16,
        "density_b": 1.02, "reference_c": 24.0, "pot_life_minutes": 60.0, "set_minutes": 600.0,
        "full_cure_minutes": 1440.0, "coldest_c": 13.0, "doubling_c": 10.0,
        "opened_life_days": 365, "source": SOURCE, "sheet_date": SHEET_DATE,
    },
    "fast": {
        "name": "Quickset five-minute epoxy", "use": "bond", "parts_a": 1.0, "parts_b": 1.0,
        "density_a": 1.15, "density_b": 1.1, "reference_c": 24.0, "pot_life_minutes": 5.0,
        "set_minutes": 15.0, "full_cure_minutes": 480.0, "coldest_c": 10.0, "source": "read off the bottle",
    },
    "finish": {
        "name": "Stillwater wrap finish", "use": "finish", "parts_a": 1.0, "parts_b": 1.0,
        "density_a": 1.12, "density_b": 0.98, "reference_c": 24.0, "pot_life_minutes": 35.0,
        "set_minutes": 480.0, "full_cure_minutes": 4320.0, "recoat_from_minutes": 720.0,
        "recoat_until_minutes": 2160.0, "coldest_c": 15.0, "doubling_c": 10.0,
        "turn_minutes": 360.0, "opened_life_days": 180, "source": SOURCE,
        "sheet_date": SHEET_DATE,
    },
}  # fmt: skip


class Bare(NamedTuple):
    """A blank as its maker states it: outside diameters and walls at butt and tip, joints, loads in grams."""

    model: str
    length: str
    pieces: int
    grams: int
    ods: tuple[str, str]
    walls: tuple[str, str]
    test: tuple[int, str]
    most_load_g: int
    joints: tuple[tuple[str, str], ...] = ()


BLANKS = {
    "casting": Bare(
        "Heron 70 MH", "7'", 1, 58, ("0.590 in", "0.084 in"), ("0.040 in", "0.020 in"), (312, "28 in"), 2500,
    ),
    "spinning": Bare(
        "Wader 66 M", "6' 6\"", 2, 49, ("0.520 in", "0.078 in"), ("0.036 in", "0.018 in"), (235, "26 in"),
        1800, (("40 in", "2 1/2 in"),),
    ),
    "fly": Bare(
        "Mayfly 904", "9'", 4, 41, ("0.395 in", "0.062 in"), ("0.032 in", "0.014 in"), (120, "36 in"), 900,
        (("27 in", "2 1/4 in"), ("54 in", "1 3/4 in"), ("81 in", "1 1/2 in")),
    ),
    "surf": Bare(
        "Breaker 116", "11' 6\"", 2, 240, ("0.880 in", "0.110 in"), ("0.062 in", "0.026 in"),
        (640, "46 in"), 4500, (("70 in", "4 in"),),
    ),
    "boat": Bare(
        "Keelson 60 H", "6'", 1, 190, ("0.760 in", "0.140 in"), ("0.085 in", "0.040 in"), (1450, "24 in"),
        9000,
    ),
}  # fmt: skip


def fill_shelf(session: Session, *, now: datetime) -> Shelf:
    """Fill the shelf; gives the ids of what the builds need."""
    zones = _zones(session, now)
    adhesives = {
        key: add_adhesive(session, now=now, by="Maren", **sheet).id for key, sheet in ADHESIVES.items()
    }
    blanks = {key: _blank(session, bare, now) for key, bare in BLANKS.items()}
    put_parts_on_file(session, now=now)
    lots = put_lots_on_shelf(session, adhesives, now=now)
    return Shelf(zones, adhesives, blanks, lots)


def _blank(session: Session, bare: Bare, now: datetime) -> int:
    length_nm = parse_length(bare.length)
    (test_load_g, sag), (wall_butt, wall_tip) = bare.test, bare.walls
    return add_blank(
        session, now=now, maker="Tern Hollow", model=bare.model, length_nm=length_nm, pieces=bare.pieces,
        mass_mg=bare.grams * 1000, stations=_stations(length_nm, *bare.ods),
        joints=[(parse_length(at), parse_length(insertion)) for at, insertion in bare.joints],
        wall_butt_nm=parse_length(wall_butt), wall_tip_nm=parse_length(wall_tip),
        test_load_mg=test_load_g * 1000, test_sag_nm=parse_length(sag),
        most_load_mg=bare.most_load_g * 1000,
    ).id  # fmt: skip


def _stations(length_nm: int, butt: str, tip: str) -> list[tuple[int, int]]:
    """A straight taper measured every twelve inches and at the tip."""
    foot = parse_length("12 in")
    butt_nm, tip_nm = parse_length(butt), parse_length(tip)
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
        sensor = add_sensor(session, now=now, zone_id=zone.id, name=f"{name} thermometer").name
        add_readings(session, zone.id, now=now, readings=readings, sensor=sensor)
        ids[name] = zone.id
    return ids
