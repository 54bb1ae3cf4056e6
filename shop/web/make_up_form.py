"""The form of a make-up: rows as typed, what they say as values, and the rows of a make-up on file.

A fault is named as `shop.rules.make_up_faults` names it (`parts.2.from_butt`), so that it stands beside its
cell; rows left empty do not count.
"""

from dataclasses import replace
from typing import Any, NamedTuple

from shop.craft.lengths import LengthError, parse_length, typable
from shop.rules.make_up import MakeUp, Ways
from shop.services.make_ups import GuideSaid, MakeUpSaid, PartSaid
from shop.web.deps import Posted
from shop.web.forms import Fields

SPARE_PARTS, SPARE_GUIDES = 3, 3
# The places that a handle commonly has, to begin with; a fly rod's seat comes below its grip.
USUAL_PLACES = ("butt cap", "rear grip", "reel seat", "fore grip", "winding check")
USUAL_ON_FLY = ("reel seat", "fore grip", "winding check", "butt cap")
MOST_LOAD_G = 20_000


class PartRow(NamedTuple):
    """A row of the handle as typed."""

    place: str = ""
    component: str = ""
    from_butt: str = ""
    to_butt: str = ""


class GuideRow(NamedTuple):
    """A row of the guides as typed."""

    from_tip: str = ""
    component: str = ""


class WayField(NamedTuple):
    """One of the shop's own measures: `kind` is `length`, `load` (grams) or `number`."""

    name: str
    of: str
    label: str
    kind: str
    hint: str = ""


WAY_FIELDS = (
    WayField("clearance", "clearance_nm", "Room for glue at a grip, each side", "length"),
    WayField("facing", "facing_nm", "Facing allowance at each end of a grip", "length"),
    WayField("hood_gap", "hood_gap_nm", "Gap between a shoulder and its hood, each side", "length"),
    WayField("recess_relief", "recess_relief_nm", "A shoulder is shorter than its recess by", "length"),
    WayField("ream_limit", "ream_limit_nm", "Reaming by halves ends when it stops short by", "length"),
    WayField("tape", "tape_nm", "Thickness of the tape", "length", "wind ten turns, measure, divide"),
    WayField("allowance", "allowance_percent", "More epoxy for soaking in and waste, percent", "number"),
    WayField("thread", "thread_nm", "Diameter of the thread", "length", "measure twenty turns"),
    WayField("wrap", "wrap_nm", "Length of the wrap on each foot", "length"),
    WayField("minutes_a_wrap", "minutes_a_wrap", "Minutes to coat one wrap", "number"),
    WayField("light_load", "light_load_mg", "Static test, light load", "load", "grams hung from the tip"),
    WayField("middle_load", "middle_load_mg", "Static test, middle load", "load"),
    WayField("heavy_load", "heavy_load_mg", "Static test, heavy load", "load"),
    WayField("reel", "reel_mg", "Mass of the reel, in grams", "load", "for the balance, if known"),
    WayField("reel_from_butt", "reel_from_butt_nm", "The reel hangs from the butt at", "length"),
)


def typed_parts(posted: Posted) -> list[PartRow]:
    """The rows of the handle as typed; those with nothing but a place do not count."""
    columns = (posted.all(f"part_{name}") for name in PartRow._fields)
    rows = [PartRow(*cells) for cells in zip(*columns, strict=False)]
    return [row for row in rows if any(row[1:])]


def typed_guides(posted: Posted) -> list[GuideRow]:
    """The rows of the guides as typed, empty ones left out."""
    columns = (posted.all(f"guide_{name}") for name in GuideRow._fields)
    rows = [GuideRow(*cells) for cells in zip(*columns, strict=False)]
    return [row for row in rows if any(row)]


def said_of(posted: Posted, fields: Fields) -> MakeUpSaid:
    """The make-up as typed. Raises `BadInput` with every fault by field."""
    parts = [_part(row, number, fields) for number, row in enumerate(typed_parts(posted), 1)]
    guides = [_guide(row, number, fields) for number, row in enumerate(typed_guides(posted), 1)]
    bond_id = fields.whole("bond_id", "The epoxy", 1, 2**31 - 1)
    finish_id = fields.whole("finish_id", "The finish", 1, 2**31 - 1)
    ways = _ways(fields)
    fields.done()
    return MakeUpSaid(parts, guides, bond_id, finish_id, ways)


def _part(row: PartRow, number: int, fields: Fields) -> PartSaid:
    name = f"parts.{number}"
    if not row.place:
        fields.errors[f"{name}.place"] = f"Row {number}: say which place on the rod it is."
    component = _chosen(row.component, f"{name}.component", f"Row {number}: choose the part.", fields)
    from_butt = _length(row.from_butt, f"{name}.from_butt", f"the {row.place or 'part'} begins", fields)
    to_butt = _length(row.to_butt, f"{name}.to_butt", f"the {row.place or 'part'} ends", fields)
    return PartSaid(row.place, component or 0, from_butt, to_butt)


def _guide(row: GuideRow, number: int, fields: Fields) -> GuideSaid:
    from_tip = _length(row.from_tip, f"guides.{number}.from_tip", f"guide {number} stands", fields)
    if not row.component:
        return GuideSaid(from_tip)
    return GuideSaid(from_tip, _chosen(row.component, f"guides.{number}.component", "", fields))


def _chosen(typed: str, field: str, missing: str, fields: Fields) -> int | None:
    if typed.isascii() and typed.isdigit() and 0 < int(typed) < 2**31:
        return int(typed)
    fields.errors[field] = missing if not typed else "That is not one of the list; please choose one."
    return None


def _length(typed: str, field: str, what: str, fields: Fields) -> int:
    if not typed:
        fields.errors[field] = f"Say where {what}, with its unit: 8 3/16 in or 208 mm."
        return 0
    try:
        return parse_length(typed)
    except LengthError as fault:
        fields.errors[field] = str(fault)
        return 0


def _ways(fields: Fields) -> Ways:
    """The shop's measures as typed; those left empty are the ones to begin with."""
    said: dict[str, Any] = {}
    for way in WAY_FIELDS:
        value: float | None
        if way.kind == "length":
            value = fields.length_nm(way.name)
        elif way.kind == "load":
            grams = fields.number(way.name, way.label, 1, MOST_LOAD_G)
            value = None if grams is None else round(grams * 1000)
        else:
            value = fields.number(way.name, way.label, 0, 1000)
        if value is not None:
            said[way.of] = value
    return replace(Ways(), **said)


def first_rows(rod_kind: str) -> list[PartRow]:
    """The rows of the handle before anything is laid down: a place each."""
    return [PartRow(place) for place in (USUAL_ON_FLY if rod_kind == "fly" else USUAL_PLACES)]


def part_rows(make_up: MakeUp) -> list[PartRow]:
    """The rows of the handle of a make-up on file."""
    return [
        PartRow(part.place, f"{part.component_id}", typable(part.from_butt_nm), typable(part.to_butt_nm))
        for part in make_up.parts
    ]


def guide_rows(make_up: MakeUp) -> list[GuideRow]:
    """The rows of the guides of a make-up on file."""
    return [
        GuideRow(typable(guide.from_tip_nm), "" if guide.component_id is None else f"{guide.component_id}")
        for guide in make_up.guides
    ]


def way_values(ways: Ways) -> dict[str, str]:
    """The shop's measures as the form shows them."""
    values = {}
    for way in WAY_FIELDS:
        value = getattr(ways, way.of)
        if value is None:
            values[way.name] = ""
        elif way.kind == "length":
            values[way.name] = typable(value)
        elif way.kind == "load":
            values[way.name] = f"{value / 1000:g}"
        else:
            values[way.name] = f"{value:g}"
    return values
