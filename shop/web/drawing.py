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
    """A rod in a box of `width` by `height` (user units), butt at the left; `description` says it in words."""

    kind: str
    width: int
    height: int
    title: str
    description: str
    paths: tuple[RodPath, ...]


class _Shape(NamedTuple):
    """Proportions of one kind of rod: spans as fractions of its length, `side` -1 for guides on top."""

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
    """Turns fractions of a rod into rounded units; `axis` is the height of the blank's middle."""

    width: int
    height: int
    axis: float
    digits: int

    def num(self, value: float) -> str:
        """A number as short as SVG allows."""
        text = f"{value:.{self.digits}f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
        return "0" if text in ("-0", "") else text

    def x(self, fraction: float) -> float:
        return fraction * self.width

    def size(self, units: float) -> float:
        """Units of a drawing 56 high, as units of this one."""
        return units * self.height / 56

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
    axis = height * (0.64 if shape.side < 0 else 0.34)
    canvas = _Canvas(width, height, axis, 0 if compact else 1)
    fitted = _fitted(kind, on_it)
    paths = tuple(_paths(kind, shape, pieces, fitted, thread_colour, canvas, compact))
    return RodDrawing(kind, width, height, shape.name, _describe(kind, pieces, fitted), paths)


def _fitted(kind: str, on_it: frozenset[str]) -> frozenset[str]:
    """A fly rod has one grip, ahead of the seat, whichever of the two names the sequence gave it."""
    if kind == "fly" and "rear grip" in on_it:
        return (on_it - {"rear grip"}) | {"fore grip"}
    return on_it


def _describe(kind: str, pieces: int, on_it: frozenset[str]) -> str:
    wanted = [part for part in PARTS if part != "rear grip" or kind != "fly"]
    words = {"fore grip": "grip"} if kind == "fly" else {}
    so_far = [words.get(part, part) for part in wanted if part in on_it]
    missing = [words.get(part, part) for part in wanted if part not in on_it]
    name = _SHAPES[kind].name + (f" in {pieces} pieces" if pieces > 1 else "")
    text = f"{name}, so far: {', '.join(so_far) if so_far else 'the bare blank'}."
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
    if "guides" in on_it or "tip-top" in on_it:
        yield RodPath("ring", _rings(kind, shape, places, on_it, canvas), "")
    if "wraps" in on_it:
        yield RodPath("wrap", "".join(_wrap(canvas, place, kind) for place in places), thread_colour)
    if "gloss" in on_it:
        yield RodPath("gloss", "".join(_shine(canvas, place, kind) for place in places), "")
    grips = [
        span
        for part, span in (("rear grip", shape.rear), ("fore grip", shape.fore))
        if part in on_it and span
    ]
    if grips:
        yield RodPath("grip", "".join(_grip(canvas, span, shape.swell) for span in grips), "")
        if not compact:
            yield RodPath("grain", "".join(_grain(canvas, span) for span in grips), "")
    if "reel seat" in on_it:
        yield RodPath("seat", _seat(canvas, shape.seat, kind == "casting"), "")
        if not compact:
            yield RodPath("screw", _screw(canvas, shape.seat), "")
    if "butt cap" in on_it:
        yield RodPath("cap", _gimbal(canvas) if kind == "boat" else _cap(canvas), "")


def _guide_places(shape: _Shape) -> tuple[float, ...]:
    """Guides from butt to tip, each gap a tenth shorter than the one before it, the tip-top not among them."""
    gaps = [0.9**index for index in range(shape.guides)]
    unit = (_TIP - shape.first_guide) / sum(gaps)
    return tuple(shape.first_guide + unit * sum(gaps[:index]) for index in range(shape.guides))


def _blank(canvas: _Canvas) -> str:
    n, butt, tip = canvas.num, canvas.x(0.012), canvas.x(_TIP)
    thick, thin = canvas.half(0), canvas.half(1)
    # Two decimals even when compact: rounded to whole units the taper would be gone.
    return (
        f"M{n(butt)} {canvas.axis - thick:.1f}L{n(tip)} {canvas.axis - thin:.1f}"
        f"v{2 * thin:.1f}L{n(butt)} {canvas.axis + thick:.1f}z"
    )


def _ferrule(canvas: _Canvas, fraction: float) -> str:
    """Two strokes across the blank where two pieces meet."""
    n, tall = canvas.num, canvas.size(9)
    x, top = canvas.x(fraction), canvas.axis - tall / 2
    return f"M{n(x)} {n(top)}v{n(tall)}m{n(canvas.size(5))} 0v{n(-tall)}"


def _break_mark(canvas: _Canvas) -> str:
    """A jagged stroke across the blank: something is to be mended."""
    n, tall = canvas.num, canvas.size(14)
    step = tall / 4
    return f"M{n(canvas.x(0.3))} {n(canvas.axis - tall / 2)}l{n(step)} {n(2 * step)}h{n(-step)}l{n(step)} {n(2 * step)}"


def _ring_size(shape: _Shape, kind: str, index: int) -> float:
    """Rings shrink towards the tip; a fly rod's are all small after two stripping guides."""
    if kind == "fly":
        return shape.first_ring if index < 2 else 2.4
    return 2.2 + (shape.first_ring - 2.2) * float(0.62**index)


def _rings(kind: str, shape: _Shape, places: Sequence[float], on_it: frozenset[str], canvas: _Canvas) -> str:
    n, out = canvas.num, []
    if "guides" in on_it:
        for index, place in enumerate(places):
            radius, x = canvas.size(_ring_size(shape, kind, index)), canvas.x(place)
            stem = shape.side * canvas.size(3.6)
            foot = canvas.size(5)
            if kind == "boat":
                frame = f"h{n(2 * foot)}m{n(-foot)} {n(stem)}"
                across, along = radius, radius
            else:
                frame = f"h{n(2 * foot)}l{n(-foot)} {n(stem)}z m{n(foot)} {n(stem)}"
                across, along = radius * 0.55, radius
            sweep = 1 if shape.side < 0 else 0
            out.append(f"M{n(x - foot)} {n(canvas.axis)}{frame}a{across:.1f} {along:.1f} 0 1 {sweep} .1 0z")
    if "tip-top" in on_it:
        radius, lift = canvas.size(2.4), shape.side * canvas.size(3)
        out.append(
            f"M{n(canvas.x(_TIP) - canvas.size(9))} {n(canvas.axis)}l{n(canvas.size(11))} {n(lift)}"
            f"a{radius:.1f} {radius:.1f} 0 1 1 .1 0"
        )
    return "".join(out)


def _wrap(canvas: _Canvas, place: float, kind: str) -> str:
    """The thread over one guide's feet, a little proud of the blank."""
    n = canvas.num
    long, thick = canvas.size(9 if kind == "fly" else 13), canvas.half(place) + canvas.size(1.5)
    return f"M{n(canvas.x(place) - long / 2)} {canvas.axis - thick:.1f}h{n(long)}v{2 * thick:.1f}h{n(-long)}z"


def _shine(canvas: _Canvas, place: float, kind: str) -> str:
    """The light that finish catches along the top of one wrap."""
    n, long = canvas.num, canvas.size(6 if kind == "fly" else 9)
    high = canvas.half(place) / 2 + canvas.size(0.5)
    return f"M{n(canvas.x(place) - long / 2)} {canvas.axis - high:.1f}h{n(long)}"


def _grip(canvas: _Canvas, span: tuple[float, float], swell: float) -> str:
    """A turned grip: fuller behind its middle, drawn in at the tip end."""
    n, start, end = canvas.num, canvas.x(span[0]), canvas.x(span[1])
    long, butt, tip = end - start, canvas.size(5.4), canvas.size(4.2)
    belly = canvas.size(3 * swell)
    top, low = canvas.axis - butt, canvas.axis + butt
    curve = f"{n(long * 0.4)} {n(-belly)} {n(long * 0.55)} {n(butt - tip + 1)} {n(long)} {n(butt - tip)}"
    back = f"{n(-long * 0.45)} {n(1 - belly / 4)} {n(-long * 0.6)} {n(belly + butt - tip)} {n(-long)} {n(low - canvas.axis - tip)}"
    return f"M{n(start)} {n(top)}c{curve}v{n(2 * tip)}c{back}z"


def _grain(canvas: _Canvas, span: tuple[float, float]) -> str:
    """The glue lines between the rings of a grip."""
    n, start, long = canvas.num, canvas.x(span[0]), canvas.x(span[1] - span[0])
    count = max(2, round(long / canvas.size(9)))
    tall = canvas.size(9)
    return "".join(
        f"M{n(start + long * step / count)} {n(canvas.axis - tall / 2)}v{n(tall)}" for step in range(1, count)
    )


def _seat(canvas: _Canvas, span: tuple[float, float], trigger: bool) -> str:
    """A reel seat: a hood at each end of a slimmer barrel, and the finger hook of a casting rod below."""
    n, start, end = canvas.num, canvas.x(span[0]), canvas.x(span[1])
    hood, tall, slim = canvas.size(9), canvas.size(6), canvas.size(4)
    long, drop = end - start - 2 * hood, tall - slim
    outline = (
        f"M{n(start)} {n(canvas.axis - tall)}h{n(hood)}v{n(drop)}h{n(long)}v{n(-drop)}h{n(hood)}v{n(2 * tall)}"
        f"h{n(-hood)}v{n(-drop)}h{n(-long)}v{n(drop)}h{n(-hood)}z"
    )
    if not trigger:
        return outline
    hook = canvas.size(8)
    x, y = start + hood + long * 0.45, canvas.axis + slim
    return f"{outline}M{n(x)} {n(y)}c0 {n(hook)} {n(-hook / 2)} {n(hook)} {n(-hook)} {n(hook * 1.2)}c{n(hook * 1.5)} 0 {n(hook * 1.6)} {n(-hook / 3)} {n(hook * 1.7)} {n(-hook * 1.2)}z"


def _screw(canvas: _Canvas, span: tuple[float, float]) -> str:
    """The thread of the seat's locking end."""
    n, end = canvas.num, canvas.x(span[1]) - canvas.size(11)
    tall = canvas.size(7)
    return "".join(
        f"M{n(end - canvas.size(3) * step)} {n(canvas.axis - tall / 2)}v{n(tall)}" for step in range(4)
    )


def _cap(canvas: _Canvas) -> str:
    n, x, tall = canvas.num, canvas.x(0.018), canvas.size(5.6)
    round_ = canvas.size(8)
    return f"M{n(x)} {n(canvas.axis - tall)}c{n(-round_)} 0 {n(-round_)} {n(2 * tall)} 0 {n(2 * tall)}z"


def _gimbal(canvas: _Canvas) -> str:
    """A slotted butt that stands in a fighting belt's pin."""
    n, x, tall, long = canvas.num, canvas.x(0.03), canvas.size(6), canvas.size(18)
    slot = canvas.size(6)
    return f"M{n(x)} {n(canvas.axis - tall)}h{n(-long)}v{n(tall - 2)}h{n(slot)}v4h{n(-slot)}v{n(tall - 2)}h{n(long)}z"
