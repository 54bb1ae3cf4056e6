"""The demo's make-ups: what goes on each kind of rod and where, so that every figure can be followed.

Invented, within the ranges of common practice. A kind of rod that is missing is laid down by whoever looks.
"""

from typing import NamedTuple

from sqlalchemy.orm import Session

from seed_demo.shelf import Shelf
from shop.craft.lengths import parse_length
from shop.queries.components import components_by_kind
from shop.rules.make_up import Ways
from shop.services.bench import Bench
from shop.services.make_ups import GuideSaid, MakeUpSaid, PartSaid, save_make_up

Places = tuple[tuple[str, str, str, str], ...]
Train = tuple[tuple[str, str], ...]


class Plan(NamedTuple):
    """What goes on a kind of rod, in inches: parts with both ends from the butt, guides from the tip."""

    parts: Places
    guides: Train
    reel_grams: int
    reel_from_butt: str


PLANS = {
    "casting": Plan(
        (
            ("butt cap", "Rubber butt cap 1 in", "0", "1/2"),
            ("rear grip", "Cork rear grip, full wells", "0", "9 1/2"),
            ("reel seat arbor", "Foam arbor, size 16, bored 0.540", "9 1/2", "14"),
            ("reel seat", "Casting seat, size 16", "9 1/2", "14"),
            ("fore grip", "Cork fore grip", "14", "16 1/2"),
            ("winding check", "Aluminium check 12.5 mm", "16 1/2", "16 5/8"),
        ),
        (
            ("0", "Tip-top 5 1/2"), ("4", "Ring guide 6 mm"), ("8 7/16", "Ring guide 6 mm"),
            ("13 5/16", "Ring guide 6 mm"), ("18 11/16", "Ring guide 8 mm"), ("24 7/16", "Ring guide 8 mm"),
            ("30 11/16", "Ring guide 8 mm"), ("37 5/16", "Ring guide 8 mm"), ("44 7/16", "Ring guide 12 mm"),
            ("52", "Ring guide 12 mm"),
        ),
        210, "11 1/2",
    ),
    "spinning": Plan(
        (
            ("butt cap", "Rubber butt cap 1 in", "0", "1/2"),
            ("rear grip", "Cork rear grip, straight", "0", "8 1/2"),
            ("reel seat arbor", "Foam arbor, size 16, bored 0.478", "8 1/2", "12 1/2"),
            ("reel seat", "Spinning seat, size 16", "8 1/2", "12 1/2"),
            ("fore grip", "Cork fore grip", "12 1/2", "15"),
            ("winding check", "Aluminium check 11.5 mm", "15", "15 1/8"),
        ),
        (
            ("0", "Tip-top 5"), ("4 1/4", "Ring guide 6 mm"), ("9 1/4", "Ring guide 6 mm"),
            ("15", "Ring guide 6 mm"), ("21 1/2", "Ring guide 8 mm"), ("28", "Ring guide 12 mm"),
            ("34 1/4", "Ring guide 16 mm"), ("43 1/2", "Ring guide 25 mm"),
        ),
        240, "10 1/2",
    ),
    "fly": Plan(
        (
            ("reel seat", "Fly seat, up-locking", "1/2", "4 1/4"),
            ("fore grip", "Cork fly grip, half wells", "4 1/4", "10 3/4"),
            ("winding check", "Aluminium check 9.5 mm", "10 3/4", "10 7/8"),
        ),
        (
            ("0", "Tip-top 4"), ("4 1/2", "Ring guide 6 mm"), ("9 11/16", "Ring guide 6 mm"),
            ("15 9/16", "Ring guide 6 mm"), ("22 3/32", "Ring guide 6 mm"), ("29 7/8", "Ring guide 6 mm"),
            ("37 3/4", "Ring guide 6 mm"), ("46 3/4", "Ring guide 6 mm"), ("57", "Ring guide 8 mm"),
            ("66 1/2", "Ring guide 8 mm"), ("78", "Ring guide 12 mm"),
        ),
        130, "2 1/2",
    ),
    "surf": Plan(
        (
            ("butt cap", "Rubber butt cap 1 3/8 in", "0", "3/4"),
            ("rear grip", "Foam rear grip, surf", "0", "14 3/4"),
            ("reel seat arbor", "Foam arbor, size 22, bored 0.742", "28", "34"),
            ("reel seat", "Surf seat, size 22", "28", "34"),
            ("fore grip", "Foam fore grip, surf", "34", "40"),
        ),
        (
            ("0", "Tip-top 7 1/2"), ("6", "Ring guide 8 mm"), ("13 1/2", "Ring guide 12 mm"),
            ("23", "Ring guide 12 mm"), ("35", "Ring guide 16 mm"), ("49", "Ring guide 16 mm"),
            ("63", "Ring guide 25 mm"), ("78", "Ring guide 25 mm"),
        ),
        560, "31",
    ),
}  # fmt: skip


def lay_down(session: Session, shelf: Shelf, bench: Bench, number: str, kind: str) -> None:
    """Keep the first revision of a rod's make-up, where its kind has one."""
    if kind not in PLANS:
        return
    plan = PLANS[kind]
    ids = {component.name: component.id for component in components_by_kind(session)}
    ways = Ways(reel_mg=plan.reel_grams * 1000, reel_from_butt_nm=_nm(plan.reel_from_butt))
    said = MakeUpSaid(
        parts=[PartSaid(place, ids[name], _nm(begin), _nm(end)) for place, name, begin, end in plan.parts],
        guides=[GuideSaid(_nm(at), ids[name]) for at, name in plan.guides],
        bond_id=shelf.adhesives["slow"],
        finish_id=shelf.adhesives["finish"],
        ways=ways,
    )
    save_make_up(session, number, bench, said, revision=0)


def _nm(inches: str) -> int:
    return parse_length(f"{inches} in")
