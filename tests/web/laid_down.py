"""Whole rods for the tests of the ticket and its drawings: a blank and parts on file, and a make-up of them.

Plain figures of common practice; the builds follow the ready-made sequences.
"""

from datetime import date
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from shop.craft.lengths import parse_length
from shop.queries.sequences import sequence_for_kind
from shop.rules.people import ROLE_RIGHTS, Actor, Role
from shop.services.adhesives import add_adhesive
from shop.services.blanks import add_blank
from shop.services.builds import take_on_build
from shop.services.components import add_component
from shop.services.customers import add_customer
from shop.services.make_ups import GuideSaid, MakeUpSaid, PartSaid, save_make_up
from shop.services.sequences import add_ready_made
from shop.services.zones import add_zone
from shop.web.benches import BenchSide
from shop.web.deps import Hub
from tests.conftest import Hands

INCH = parse_length("1 in")
CASTING, SPINNING, FLY = "26-001", "26-002", "26-003"
Row = tuple[str, str, str, str]


class Rod(NamedTuple):
    """A rod: its blank, its handle as (place, part, begins, ends), its guides as (part, from the tip)."""

    kind: str
    title: str
    length: str
    stations: tuple[tuple[str, str], ...]
    joints: tuple[tuple[str, str], ...]
    handle: tuple[Row, ...]
    guides: tuple[tuple[str, str], ...]


PARTS = {
    "rear cork": ("grip", {"od": "1 in", "length": "10 in"}, "cork", None),
    "fore cork": ("grip", {"od": "0.95 in", "length": "4 in"}, "cork", None),
    "fly cork": ("grip", {"od": "1 in", "recess_od": "0.75 in", "recess_depth": "3/4 in"}, "cork", None),
    "seat 16": ("reel seat", {"bore": "0.65 in", "hood_bore": "0.875 in", "hood_depth": "7/16 in"}, "", None),
    "fly seat": (
        "reel seat",
        {"bore": "0.437 in", "hood_bore": "0.74 in", "hood_depth": "11/16 in"},
        "",
        None,
    ),
    "rubber cap": ("butt cap", {"bore": "1 in", "depth": "1/2 in", "od": "1 3/16 in"}, "", None),
    "check": ("winding check", {"bore": "12.5 mm", "od": "18 mm", "thickness": "3 mm"}, "aluminium", None),
    "ring 25": ("guide", {"ring_od": "25 mm", "centre_height": "31 mm", "length": "52 mm"}, "steel", 2),
    "ring 12": ("guide", {"ring_od": "12 mm", "centre_height": "13 mm", "length": "31 mm"}, "steel", 2),
    "ring 6": ("guide", {"ring_od": "6 mm", "centre_height": "7 mm", "length": "14 mm"}, "steel", 1),
    "tip-top 5": ("tip-top", {"ring_od": "6 mm", "height": "6.5 mm"}, "steel", None),
}
RODS = (
    Rod(
        "casting", "7 ft casting, jerkbaits", "84 in",
        (
            ("0 in", "0.59 in"), ("12 in", "0.52 in"), ("24 in", "0.44 in"), ("48 in", "0.28 in"),
            ("84 in", "0.084 in"),
        ),
        (),
        (
            ("butt cap", "rubber cap", "0 in", "1/2 in"), ("rear grip", "rear cork", "1/8 in", "9 3/4 in"),
            ("reel seat", "seat 16", "9 3/4 in", "14 1/4 in"),
            ("fore grip", "fore cork", "14 1/4 in", "17 in"),
            ("winding check", "check", "17 in", "17 1/8 in"),
        ),
        (
            ("tip-top 5", "0 in"), ("ring 6", "4 1/4 in"), ("ring 6", "8 7/8 in"), ("ring 6", "13 3/4 in"),
            ("ring 6", "19 1/4 in"), ("ring 6", "25 1/4 in"), ("ring 6", "32 1/2 in"), ("ring 12", "41 in"),
            ("ring 12", "51 1/8 in"),
        ),
    ),
    Rod(
        "spinning", "6 ft 6 in spinning, perch", "78 in",
        (("0 in", "0.52 in"), ("20 in", "0.4 in"), ("40 in", "0.27 in"), ("78 in", "0.078 in")),
        (("39 in", "2 1/2 in"),),
        (
            ("butt cap", "rubber cap", "0 in", "1/2 in"), ("rear grip", "rear cork", "1/8 in", "9 in"),
            ("reel seat", "seat 16", "9 in", "13 in"), ("fore grip", "fore cork", "13 in", "17 in"),
        ),
        (
            ("tip-top 5", "0 in"), ("ring 6", "4 in"), ("ring 6", "8 1/2 in"), ("ring 6", "14 in"),
            ("ring 12", "21 in"), ("ring 12", "30 in"), ("ring 25", "42 in"),
        ),
    ),
    Rod(
        "fly", "9 ft 4-piece fly, 5 line", "108 in",
        (("0 in", "0.395 in"), ("54 in", "0.22 in"), ("108 in", "0.062 in")),
        (("27 in", "2 1/4 in"), ("54 in", "1 3/4 in"), ("81 in", "1 1/2 in")),
        (
            ("reel seat", "fly seat", "1/4 in", "4 in"), ("fore grip", "fly cork", "4 in", "10 1/2 in"),
            ("winding check", "check", "10 1/2 in", "10 5/8 in"),
        ),
        (
            ("tip-top 5", "0 in"),
            *(("ring 6", f"{at} in") for at in ("4 1/2", "9 1/2", "15", "21", "30", "37", "44 1/2", "59")),
            ("ring 12", "67 1/2 in"), ("ring 12", "76 in"),
        ),
    ),
)  # fmt: skip


def open_bench(hub: Hub, hands: Hands, *, laid_down: bool = True) -> None:
    """A shop with a casting, a spinning and a fly rod on the bench, their make-ups laid down or not."""
    with hub.database.writing(hands.wall_at) as session:
        now = hands.wall_at
        add_ready_made(session, now=now)
        add_zone(session, now=now, name="bench", assumed_c=20.0)
        add_customer(session, now=now, name="Ada Thorn")
        sheet: dict[str, Any] = {
            "parts_a": 1.0, "parts_b": 1.0, "reference_c": 20.0, "pot_life_minutes": 30.0,
            "source": "its sheet", "sheet_date": date(2026, 1, 15),
        }  # fmt: skip
        add_adhesive(
            session, now=now, by="Nell", name="Riverbed", use="bond", set_minutes=600.0,
            full_cure_minutes=1440.0, **sheet,
        )  # fmt: skip
        add_adhesive(
            session, now=now, by="Nell", name="Stillwater", use="finish", set_minutes=300.0,
            full_cure_minutes=1440.0, recoat_from_minutes=360.0, recoat_until_minutes=1200.0, **sheet,
        )  # fmt: skip
        ids = {name: _part(session, hands, name) for name in PARTS}
        bench = BenchSide(hub, now).bench(session, Actor("Ottar", ROLE_RIGHTS[Role.OWNER]))
        for rod in RODS:
            _take_on(session, hands, rod)
        if laid_down:
            for rod, number in zip(RODS, (CASTING, SPINNING, FLY), strict=True):
                save_make_up(session, number, bench, _said(rod, ids), revision=0)


def lay_down_again(hub: Hub, hands: Hands, number: str) -> None:
    """A further revision of the casting rod's make-up: its last guide has moved."""
    rod = RODS[0]._replace(guides=(*RODS[0].guides[:-1], ("ring 12", "52 in")))
    with hub.database.writing(hands.wall_at) as session:
        ids = {name: place for place, name in enumerate(PARTS, 1)}
        bench = BenchSide(hub, hands.wall_at).bench(session, Actor("Ottar", ROLE_RIGHTS[Role.OWNER]))
        save_make_up(session, number, bench, _said(rod, ids), revision=1, reason="the last guide moved")


def _part(session: Session, hands: Hands, name: str) -> int:
    kind, sizes, material, feet = PARTS[name]
    lengths = {which: parse_length(size) for which, size in sizes.items()}
    component = add_component(
        session, now=hands.wall_at, kind=kind, name=name, dimensions=lengths, mass_mg=9000, material=material,
        feet=feet, currency="EUR",
    )  # fmt: skip
    return component.id


def _take_on(session: Session, hands: Hands, rod: Rod) -> None:
    blank = add_blank(
        session, now=hands.wall_at, model=f"{rod.kind} blank", length_nm=parse_length(rod.length),
        pieces=len(rod.joints) + 1, mass_mg=60_000,
        stations=[(parse_length(at), parse_length(od)) for at, od in rod.stations],
        joints=[(parse_length(at), parse_length(long)) for at, long in rod.joints],
    )  # fmt: skip
    sequence_id, rod_kind = sequence_for_kind(session, None, rod.kind)
    take_on_build(
        session, now=hands.wall_at, zone=ZoneInfo("UTC"), customer_id=1, title=rod.title, rod_kind=rod_kind,
        sequence_id=sequence_id, blank_id=blank.id,
    )  # fmt: skip


def _said(rod: Rod, ids: dict[str, int]) -> MakeUpSaid:
    parts = [
        PartSaid(place, ids[name], parse_length(begins), parse_length(ends))
        for place, name, begins, ends in rod.handle
    ]
    guides = [GuideSaid(parse_length(from_tip), ids[name]) for name, from_tip in rod.guides]
    return MakeUpSaid(parts, guides, bond_id=1, finish_id=2)
