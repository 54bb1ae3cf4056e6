"""The outlines of a rod drawn to scale: blank, handle and guides, as finished SVG paths.

Along the rod everything is true to scale; what stands across it (thickness, rings) is drawn `times` as large.
A size that is not on file is drawn by eye. Labels and dimension lines are `shop.web.scale`'s.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from shop.craft.lengths import NM_PER_INCH, NM_PER_MM
from shop.craft.taper import od_at
from shop.rules.make_up import Bare, GuideSpot, MakeUp, Part

# Sizes drawn by eye, in nanometres.
BUTT_OD, TIP_OD = 14 * NM_PER_MM, 2 * NM_PER_MM
GRIP_WALL, SEAT_WALL, CHECK_WALL = 7 * NM_PER_MM, 4 * NM_PER_MM, 2 * NM_PER_MM
RING, HEIGHT, FOOT, TUBE = 8 * NM_PER_MM, 9 * NM_PER_MM, 12 * NM_PER_MM, 10 * NM_PER_MM
HOOD, TRIGGER = 14 * NM_PER_MM, 14 * NM_PER_MM
# Rings of cork come half an inch long.
CORK_RING = NM_PER_INCH // 2
ON_TOP = ("casting", "boat")
CAPS = ("butt cap", "gimbal")


class Shape(NamedTuple):
    """One outline: `part` is its style class."""

    part: str
    d: str


@dataclass(frozen=True, slots=True)
class Scale:
    """Places nanometres in a box: `per_nm` units along the rod, `times` as many across it."""

    per_nm: float
    left: float
    axis: float
    times: int

    def x(self, from_butt_nm: float) -> float:
        """Where a place along the rod lies."""
        return self.left + from_butt_nm * self.per_nm

    def across(self, nm: float) -> float:
        """A size across the rod, in units."""
        return nm * self.per_nm * self.times


def path(*tokens: str | float) -> str:
    """Commands and numbers as an outline, a tenth of a unit fine."""
    return " ".join(token if isinstance(token, str) else f"{token:.1f}" for token in tokens)


def side_of(rod_kind: str) -> int:
    """-1 where reel and guides stand on top, 1 where they hang below."""
    return -1 if rod_kind in ON_TOP else 1


def blank_od(blank: Bare, from_butt_nm: int) -> int:
    """The outside diameter of a blank at a place, in nm; beyond the stations that of the nearest."""
    if len(blank.stations) < 2:
        there = blank.stations[0][1] if blank.stations else BUTT_OD
        return there - (there - min(TIP_OD, there)) * from_butt_nm // blank.length_nm
    first, last = blank.stations[0][0], blank.stations[-1][0]
    return od_at(blank.stations, min(max(from_butt_nm, first), last))


def part_od(blank: Bare, part: Part) -> int:
    """How thick a part of the handle is drawn, in nm: as on file, else by eye around the blank."""
    on_file = part.sizes.get("od")
    if on_file:
        return on_file
    inside = part.sizes.get("bore") or blank_od(blank, part.from_butt_nm)
    walls = {"grip": GRIP_WALL, "reel seat": SEAT_WALL, "butt cap": GRIP_WALL, "gimbal": GRIP_WALL}
    return inside + 2 * walls.get(part.kind, CHECK_WALL)


def ring_od(guide: GuideSpot) -> int:
    """The outside of a guide's ring, in nm."""
    return guide.sizes.get("ring_od") or RING


def ring_height(guide: GuideSpot) -> int:
    """How high the middle of a ring stands above the blank, in nm; never so low that the ring sinks in."""
    stated = guide.sizes.get("centre_height") or guide.sizes.get("height") or HEIGHT
    return max(stated, ring_od(guide) // 2)


def is_by_eye(make_up: MakeUp) -> bool:
    """Whether any size across the rod is not on file."""
    if make_up.blank is None or len(make_up.blank.stations) < 2:
        return True
    parts = any("od" not in part.sizes for part in make_up.parts)
    return parts or any("ring_od" not in guide.sizes for guide in make_up.guides)


def blank_shape(blank: Bare, scale: Scale, until_nm: int) -> Shape:
    """The blank from the butt to a place, through every station between."""
    places = [0, *(at for at, _ in blank.stations if 0 < at < until_nm), until_nm]
    top = [(scale.x(at), scale.across(blank_od(blank, at) / 2)) for at in places]
    upper = "L".join(path(x, scale.axis - half) for x, half in top)
    lower = "L".join(path(x, scale.axis + half) for x, half in reversed(top))
    return Shape("blank", f"M{upper}L{lower}z")


def joint_shapes(blank: Bare, scale: Scale, until_nm: int) -> Iterator[Shape]:
    """Two strokes across the blank where pieces meet, and the stretch where one lies in the other."""
    for at, insertion in blank.joints:
        if at <= until_nm:
            half = scale.across(blank_od(blank, at) / 2) + 5
            top, x = scale.axis - half, scale.x(at)
            yield Shape("joint", path("M", x - 1.5, top, "v", 2 * half, "m", 3.0, -2 * half, "v", 2 * half))
            if insertion:
                yield Shape("inserted", path("M", scale.x(at - insertion), scale.axis, "H", x))


def handle_shapes(make_up: MakeUp, blank: Bare, scale: Scale) -> Iterator[Shape]:
    """Every part of the handle: those that go over others later, an arbor last, as a line seen through."""
    order = {"arbor": 2, **dict.fromkeys(CAPS, 1)}
    for part in sorted(make_up.parts, key=lambda part: order.get(part.kind, 0)):
        yield from _part_shapes(make_up.rod_kind, blank, part, scale)


def _part_shapes(rod_kind: str, blank: Bare, part: Part, scale: Scale) -> Iterator[Shape]:
    x, end = scale.x(part.from_butt_nm), scale.x(part.to_butt_nm)
    half = scale.across(part_od(blank, part) / 2)
    if part.kind == "reel seat":
        yield Shape("seat", _seat(part, scale, half))
        if rod_kind == "casting":
            yield Shape("seat", _trigger(scale, x + (end - x) * 0.6, half))
    elif part.kind == "butt cap":
        round_ = min(half, end - x)
        yield Shape(
            "cap",
            path("M", end, scale.axis - half, "H", x + round_)
            + path("Q", x, scale.axis - half, x, scale.axis)
            + path("Q", x, scale.axis + half, x + round_, scale.axis + half, "H", end, "z"),
        )
    else:
        kind = {"grip": "grip", "arbor": "arbor", "gimbal": "cap"}.get(part.kind, "check")
        yield Shape(kind, _box(scale, x, end, half))
        if part.kind == "grip" and "cork" in f"{part.material} {part.name}".lower():
            yield Shape("grain", _grain(part, scale, half))


def _box(scale: Scale, x: float, end: float, half: float) -> str:
    """A part with slightly rounded edges, so that two that meet are seen as two."""
    edge = min(3.0, (end - x) / 2, half)
    long, tall = end - x - 2 * edge, 2 * (half - edge)
    corners = (("h", long, edge, edge), ("v", tall, -edge, edge), ("h", -long, -edge, -edge))
    turns = " ".join(path(go, by, "l", dx, dy) for go, by, dx, dy in corners)
    return f"{path('M', x + edge, scale.axis - half)} {turns} {path('v', -tall, 'z')}"


def _grain(part: Part, scale: Scale, half: float) -> str:
    """The glue lines between the rings of a cork grip."""
    places = range(part.from_butt_nm + CORK_RING, part.to_butt_nm - CORK_RING // 4, CORK_RING)
    inside = max(half - 3, 0)
    return " ".join(path("M", scale.x(at), scale.axis - inside, "v", 2 * inside) for at in places)


def _seat(part: Part, scale: Scale, half: float) -> str:
    """A reel seat: a hood at each end of a slimmer barrel."""
    x, end = scale.x(part.from_butt_nm), scale.x(part.to_butt_nm)
    hood = min((part.sizes.get("hood_depth") or HOOD) * scale.per_nm, (end - x) / 3)
    drop, long = half * 0.28, end - x - 2 * hood
    there = path("h", hood, "v", drop, "h", long, "v", -drop, "h", hood)
    back = path("h", -hood, "v", -drop, "h", -long, "v", drop, "h", -hood, "z")
    return f"{path('M', x, scale.axis - half)} {there} {path('v', 2 * half)} {back}"


def _trigger(scale: Scale, x: float, half: float) -> str:
    """The finger hook under a casting seat, opposite the reel."""
    long, deep = TRIGGER * scale.per_nm, scale.across(TRIGGER * 0.7)
    top = scale.axis + half * 0.7
    return path("M", x, top, "c", 0.0, deep * 0.7, -long * 0.3, deep, -long * 0.8, deep) + path(
        "c", long * 0.9, deep * 0.2, long * 1.3, -deep * 0.3, long * 1.4, -deep, "z"
    )


def guide_shapes(make_up: MakeUp, blank: Bare, scale: Scale) -> Iterator[Shape]:
    """Every guide at its place, on the side where the guides of this kind of rod stand."""
    side = side_of(make_up.rod_kind)
    for guide in make_up.guides:
        at = blank.length_nm - guide.from_tip_nm
        surface = scale.axis + side * scale.across(blank_od(blank, at) / 2)
        yield Shape("ring", _guide(guide, scale, scale.x(at), surface, side))


def _guide(guide: GuideSpot, scale: Scale, x: float, surface: float, side: int) -> str:
    """A ring seen from the side, on its legs; a tip-top on its tube."""
    radius = scale.across(ring_od(guide) / 2)
    high = scale.across(ring_height(guide))
    near, foot = surface + side * max(high - radius, 0), max(FOOT * scale.per_nm, 3.0)
    if guide.from_tip_nm == 0:
        legs = path("M", x - max(TUBE * scale.per_nm, 4.0), surface, "L", x, near)
    elif guide.feet == 2:
        legs = path("M", x - foot, surface, "L", x, near, "L", x + foot, surface)
    else:
        legs = path("M", x, near, "L", x + foot, surface)
    thick = max(radius * 0.22, 1.4)
    # Two half ellipses, from the near edge of the ring to the far one and back.
    to, back = side * 2 * radius, -side * 2 * radius
    ring = path("M", x, near, "a", thick, radius, "0 0 1", 0.0, to, "a", thick, radius, "0 0 1", 0.0, back)
    return f"{legs} {ring}"


def reach(make_up: MakeUp, blank: Bare, with_guides: bool) -> tuple[int, int]:
    """How far the rod stands out above and below its axis, in nm."""
    thick = [blank_od(blank, 0), *(part_od(blank, part) for part in make_up.parts)]
    body = max(thick) // 2
    below = body
    if make_up.rod_kind == "casting":
        seats = [part_od(blank, part) * 7 // 20 for part in make_up.parts if part.kind == "reel seat"]
        below = max([body, *(seat + TRIGGER * 7 // 10 for seat in seats)])
    tops = [
        blank_od(blank, blank.length_nm - guide.from_tip_nm) // 2 + ring_height(guide) + ring_od(guide) // 2
        for guide in make_up.guides
        if with_guides
    ]
    out = max(tops, default=0)
    return (max(body, out), below) if side_of(make_up.rod_kind) < 0 else (body, max(below, out))
