"""The geometry of a rod's picture: butt at the left, tip at the right, with what is on it so far.

A pure function hands the templates finished outlines, so that a template does no arithmetic. What the parts
look like (ink, cork, thread) is the style sheet's business; the ruler of time is in `ruler`.
"""

import re
from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import NamedTuple

PARTS = ("rear grip", "reel seat", "fore grip", "tip-top", "guides", "wraps", "gloss", "butt cap")
"""What can be on a rod, in the order in which a description names it."""

_COLOUR = re.compile(r"#[0-9a-fA-F]{6}")
_TIP = 0.985


class RodPath(NamedTuple):
    """One path of a rod: `part` is its style class, `d` its outline, `fill` a `#rrggbb` or empty."""

    part: str
    d: str
    fill: str


class RodDrawing(NamedTuple):
    """A rod in a box of `width` by `height` user units, butt at the left; `description` says it in words."""

    kind: str
    width: int
    height: int
    title: str
    description: str
    paths: tuple[RodPath, ...]


class _Shape(NamedTuple):
    """Proportions of one kind of rod: spans as fractions of its length, `side` is -1 with guides on top."""

    name: str
    rear: tuple[float, float] | None
    seat: tuple[float, float]
    fore: tuple[float, float]
    side: int
    guides: int
    first_guide: float
    first_ring: float
    swell: float


_SHAPES = {
    "casting": _Shape("Casting rod", (0.018, 0.118), (0.118, 0.198), (0.198, 0.24), -1, 8, 0.335, 4.6, 1.0),
    "spinning": _Shape("Spinning rod", (0.018, 0.125), (0.125, 0.2), (0.2, 0.262), 1, 6, 0.4, 9.0, 1.0),
    "fly": _Shape("Fly rod", None, (0.018, 0.078), (0.078, 0.172), 1, 9, 0.33, 4.2, 1.25),
    "surf": _Shape("Surf rod", (0.018, 0.235), (0.235, 0.305), (0.305, 0.365), 1, 6, 0.5, 10.0, 0.8),
    "boat": _Shape("Boat rod", (0.03, 0.19), (0.19, 0.285), (0.285, 0.395), -1, 6, 0.46, 5.6, 1.2),
    "repair": _Shape("Rod in for repair", (0.018, 0.12), (0.12, 0.198), (0.198, 0.25), 1, 7, 0.36, 6.5, 1.0),
}


class _Canvas(NamedTuple):
    """Turns a shape into outlines; `axis` is the height of the blank's middle, `digits` the decimals kept."""

    width: int
    height: int
    axis: float
    digits: int

    def path(self, *tokens: str | float) -> str:
        """Write commands (text) and numbers as an SVG outline, as short as it allows."""
        out: list[str] = []
        for token in tokens:
            if isinstance(token, str):
                out.append(token)
                continue
            text = f"{token:.{self.digits}f}"
            text = text.rstrip("0").rstrip(".") if "." in text else text
            text = (
                "0" if text == "-0" else text.replace("0.", ".") if text.startswith(("0.", "-0.")) else text
            )
            # A space is needed only between two numbers, and a minus sign separates by itself.
            glued = not out or out[-1][-1].isalpha() or text.startswith("-")
            out.append(text if glued else f" {text}")
        return "".join(out)

    def x(self, fraction: float) -> float:
        """The place of a fraction of the rod's length."""
        return fraction * self.width

    def size(self, units: float) -> float:
        """Units of a drawing 40 high, as units of this one."""
        return units * self.height / 40

    def half(self, fraction: float) -> float:
        """Half the blank's thickness there: it tapers in a straight line from butt to tip."""
        return self.size(2.6 - 1.9 * fraction)


@lru_cache(maxsize=1024)
def draw_rod(
    kind: str,
    pieces: int,
    on_it: frozenset[str],
    thread_colour: str,
    width: int = 720,
    height: int = 56,
    compact: bool = False,
) -> RodDrawing:
    """Draw a rod of `kind` with only those of PARTS that are `on_it`; `compact` leaves fine detail out.

    Raises ValueError for an unknown kind or part, fewer than one piece, or a colour that is not `#rrggbb`.
    """
    shape = _SHAPES.get(kind)
    if shape is None:
        raise ValueError(f"No drawing for a rod of kind {kind!r}.")
    unknown = on_it.difference(PARTS)
    if unknown:
        raise ValueError(f"A rod cannot show {', '.join(sorted(unknown))}.")
    if pieces < 1:
        raise ValueError("A rod has at least one piece.")
    if not _COLOUR.fullmatch(thread_colour):
        raise ValueError("A thread colour is written #rrggbb.")
    # Guides take the larger share of the height, on whichever side of the blank they stand.
    axis = height * (0.62 if shape.side < 0 else 0.3)
    canvas = _Canvas(width, height, round(axis), 0 if compact else 1)
    fitted = _fitted(kind, on_it)
    paths = tuple(_paths(kind, shape, pieces, fitted, thread_colour, canvas, compact))
    description = _describe(kind, pieces, fitted, compact)
    return RodDrawing(kind, width, height, shape.name, description, paths)


def _fitted(kind: str, on_it: frozenset[str]) -> frozenset[str]:
    """A fly rod has one grip, ahead of the seat, whichever of the two names the sequence gave it."""
    if kind == "fly" and "rear grip" in on_it:
        return (on_it - {"rear grip"}) | {"fore grip"}
    return on_it


def _describe(kind: str, pieces: int, on_it: frozenset[str], compact: bool) -> str:
    """Say in words what the drawing shows; the compact one stands in a list and says only what is there."""
    wanted = [part for part in PARTS if part != "rear grip" or kind != "fly"]
    words = {"fore grip": "grip"} if kind == "fly" else {}
    so_far = [words.get(part, part) for part in wanted if part in on_it]
    missing = [words.get(part, part) for part in wanted if part not in on_it]
    name = _SHAPES[kind].name + (f" in {pieces} pieces" if pieces > 1 else "")
    text = f"{name}, so far: {', '.join(so_far) if so_far else 'the bare blank'}."
    if compact:
        return text
    return f"{text} Not yet: {', '.join(missing)}." if missing else f"{text} Nothing is missing."


def _paths(
    kind: str,
    shape: _Shape,
    pieces: int,
    on_it: frozenset[str],
    thread_colour: str,
    canvas: _Canvas,
    compact: bool,
) -> Iterator[RodPath]:
    """The paths from back to front: later ones cover earlier ones."""
    places = _guide_places(shape)
    yield RodPath("blank", _blank(canvas), "")
    marks = "".join(_ferrule(canvas, piece / pieces) for piece in range(1, pieces))
    marks += _break_mark(canvas) if kind == "repair" else ""
    if marks:
        yield RodPath("mark", marks, "")
    if on_it & {"guides", "tip-top"}:
        rings = "".join(_ring(canvas, kind, shape, index, at, compact) for index, at in enumerate(places))
        tip_top = _tip_top(canvas, shape.side) if "tip-top" in on_it else ""
        yield RodPath("ring", (rings if "guides" in on_it else "") + tip_top, "")
    yield from _thread(kind, places, on_it, thread_colour, canvas, compact)
    grips = [span for part, span in (("rear grip", shape.rear), ("fore grip", shape.fore)) if part in on_it]
    if grips:
        yield RodPath("grip", "".join(_grip(canvas, span, shape.swell) for span in grips if span), "")
        if not compact:
            yield RodPath("grain", "".join(_grain(canvas, span) for span in grips if span), "")
    if "reel seat" in on_it:
        yield RodPath(
            "seat",
            _seat(canvas, shape.seat) + (_trigger(canvas, shape.seat) if kind == "casting" else ""),
            "",
        )
        if not compact:
            yield RodPath("screw", _screw(canvas, shape.seat), "")
    if "butt cap" in on_it:
        yield RodPath("cap", _gimbal(canvas) if kind == "boat" else _cap(canvas), "")


def _thread(
    kind: str,
    places: Sequence[float],
    on_it: frozenset[str],
    thread_colour: str,
    canvas: _Canvas,
    compact: bool,
) -> Iterator[RodPath]:
    """Wraps and the finish on them; a compact drawing says gloss by the wraps' edge, for brevity."""
    long = canvas.size(8 if kind == "fly" else 11)
    glossy = "gloss" in on_it
    if "wraps" in on_it:
        part = "wrap glossy" if glossy and compact else "wrap"
        yield RodPath(part, "".join(_wrap(canvas, place, long) for place in places), thread_colour)
    if glossy and not compact:
        yield RodPath("gloss", "".join(_shine(canvas, place, long * 0.7) for place in places), "")


def _guide_places(shape: _Shape) -> tuple[float, ...]:
    """Guides from butt to tip without the tip-top, each gap a tenth shorter than the one before it."""
    gaps = [0.9**index for index in range(shape.guides)]
    unit = (_TIP - shape.first_guide) / sum(gaps)
    return tuple(shape.first_guide + unit * sum(gaps[:index]) for index in range(shape.guides))


def _blank(canvas: _Canvas) -> str:
    # Two decimals even in a compact drawing: rounded to whole units the taper would be gone.
    fine = canvas._replace(digits=2)
    butt, tip = canvas.x(0.012), canvas.x(_TIP)
    thick, thin = canvas.half(0), canvas.half(1)
    top, low = canvas.axis - thick, canvas.axis + thick
    return fine.path("M", butt, top, "L", tip, canvas.axis - thin, "v", 2 * thin, "L", butt, low, "z")


def _ferrule(canvas: _Canvas, fraction: float) -> str:
    """Two strokes across the blank where two pieces meet."""
    tall = canvas.size(9)
    top = canvas.axis - tall / 2
    return canvas.path("M", canvas.x(fraction), top, "v", tall, "m", canvas.size(4), -tall, "v", tall)


def _break_mark(canvas: _Canvas) -> str:
    """A jagged stroke across the blank: something is to be mended."""
    tall = canvas.size(16)
    step = tall / 4
    top = canvas.axis - tall / 2
    return canvas.path("M", canvas.x(0.3), top, "l", step, 2 * step, "h", -step, "l", step, 2 * step)


def _ring_size(shape: _Shape, kind: str, index: int) -> float:
    """Rings shrink towards the tip; a fly rod's are all small after two stripping guides."""
    if kind == "fly":
        return shape.first_ring if index < 2 else 2.2
    return 2.0 + (shape.first_ring - 2.0) * float(0.62**index)


def _ring(canvas: _Canvas, kind: str, shape: _Shape, index: int, place: float, compact: bool) -> str:
    """One guide from the side: a ring on two legs (one in a compact drawing); a roller is round."""
    radius, x = canvas.size(_ring_size(shape, kind, index)), canvas.x(place)
    leg, foot = shape.side * canvas.size(4.5), canvas.size(3.5)
    across = radius if kind == "boat" else radius * 0.6
    sweep = " 0 1 1 .1 0" if shape.side < 0 else " 0 1 0 .1 0"
    if compact:
        return canvas.path("M", x, canvas.axis, "v", leg, "a", across, radius, sweep)
    legs = ("M", x - foot, canvas.axis, "l", foot, leg, foot, -leg, "m", -foot, leg)
    return canvas.path(*legs, "a", across, radius, sweep)


def _tip_top(canvas: _Canvas, side: int) -> str:
    radius = canvas.size(2.2)
    start, lift = canvas.x(_TIP) - canvas.size(7), side * canvas.size(2)
    return canvas.path("M", start, canvas.axis, "l", canvas.size(8), lift, "a", radius, radius, " 0 1 1 .1 0")


def _wrap(canvas: _Canvas, place: float, long: float) -> str:
    """The thread over one guide's feet, a little proud of the blank."""
    tall = 2 * canvas.half(place) + canvas.size(2.2)
    x, top = canvas.x(place) - long / 2, canvas.axis - tall / 2
    return canvas.path("M", x, top, "h", long, "v", tall, "h", -long, "z")


def _shine(canvas: _Canvas, place: float, long: float) -> str:
    """The light that finish catches along the top of one wrap."""
    top = canvas.axis - canvas.half(place) / 2 - canvas.size(0.5)
    return canvas.path("M", canvas.x(place) - long / 2, top, "h", long)


def _grip(canvas: _Canvas, span: tuple[float, float], swell: float) -> str:
    """A turned grip: full at the butt end, swollen behind its middle, drawn in towards the tip."""
    start, long = canvas.x(span[0]), canvas.x(span[1] - span[0])
    butt, tip, belly = canvas.size(5), canvas.size(3.8), canvas.size(2.6 * swell)
    drawn_in = butt - tip
    out = (long * 0.35, -belly, long * 0.6, drawn_in, long, drawn_in)
    back = (-long * 0.4, 0.0, -long * 0.65, drawn_in + belly, -long, drawn_in)
    return canvas.path("M", start, canvas.axis - butt, "c", *out, "v", 2 * tip, "c", *back, "z")


def _grain(canvas: _Canvas, span: tuple[float, float]) -> str:
    """The glue lines between the rings of a grip."""
    start, long, tall = canvas.x(span[0]), canvas.x(span[1] - span[0]), canvas.size(8)
    count = max(2, round(long / canvas.size(7)))
    top = canvas.axis - tall / 2
    places = (start + long * step / count for step in range(1, count))
    return "".join(canvas.path("M", place, top, "v", tall) for place in places)


def _seat(canvas: _Canvas, span: tuple[float, float]) -> str:
    """A reel seat: a hood at each end of a slimmer barrel."""
    start, hood, tall, drop = canvas.x(span[0]), canvas.size(7), canvas.size(5.6), canvas.size(1.8)
    long = canvas.x(span[1] - span[0]) - 2 * hood
    there = ("h", hood, "v", drop, "h", long, "v", -drop, "h", hood)
    back = ("h", -hood, "v", -drop, "h", -long, "v", drop, "h", -hood, "z")
    return canvas.path("M", start, canvas.axis - tall, *there, "v", 2 * tall, *back)


def _trigger(canvas: _Canvas, span: tuple[float, float]) -> str:
    """The finger hook below a casting rod's seat."""
    unit = canvas.size(6)
    x, y = canvas.x(span[0] + (span[1] - span[0]) * 0.55), canvas.axis + canvas.size(3.6)
    hook = (0.0, unit, -unit / 2, unit, -unit, unit * 1.1)
    back = (unit, unit * 0.3, unit * 1.9, -unit / 4, unit * 2, -unit * 1.1)
    return canvas.path("M", x, y, "c", *hook, "c", *back, "z")


def _screw(canvas: _Canvas, span: tuple[float, float]) -> str:
    """The thread of the seat's locking end."""
    end, tall = canvas.x(span[1]) - canvas.size(9), canvas.size(6)
    top = canvas.axis - tall / 2
    return "".join(canvas.path("M", end - canvas.size(2.4) * step, top, "v", tall) for step in range(4))


def _cap(canvas: _Canvas) -> str:
    """A rounded rubber cap over the butt."""
    x, tall, round_ = canvas.x(0.018), canvas.size(5), canvas.size(8)
    return canvas.path("M", x, canvas.axis - tall, "c", -round_, 0.0, -round_, 2 * tall, 0.0, 2 * tall, "z")


def _gimbal(canvas: _Canvas) -> str:
    """A slotted butt that stands on the pin of a fighting belt."""
    x, long, slot, wide = canvas.x(0.03), canvas.size(14), canvas.size(5), canvas.size(3)
    jaw = canvas.size(5) - wide / 2
    mouth = ("h", -long, "v", jaw, "h", slot, "v", wide, "h", -slot, "v", jaw, "h", long, "z")
    return canvas.path("M", x, canvas.axis - canvas.size(5), *mouth)
