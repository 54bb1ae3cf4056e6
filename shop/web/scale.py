"""A rod to scale from its make-up: the whole of it, and its handle enlarged, with dimension lines.

Butt at the left. Parts of the handle are measured from the butt, guides from the tip; each datum is named.
The outlines are `scale_shapes`', where labels go is `scale_labels`'; a rod without a make-up is drawn by
`shop.web.drawing`.
"""

from collections.abc import Iterator
from itertools import chain
from typing import NamedTuple

from shop.craft.lengths import NM_PER_MM, format_inches
from shop.craft.lengths import format_mm as exact_mm
from shop.rules.make_up import Bare, MakeUp
from shop.web.scale_labels import LINE, Label, Placed, Words, rows_of, spread
from shop.web.scale_shapes import (
    Scale,
    Shape,
    blank_od,
    blank_shape,
    guide_shapes,
    handle_shapes,
    is_by_eye,
    joint_shapes,
    path,
    reach,
)
from shop.web.wording import both_units

WIDTH, MARGIN = 1000, 16
# How far a rod may stand out from its axis, in units, and how much larger it may be drawn across.
MOST_REACH, MOST_REACH_HANDLE, MOST_TIMES = 66, 54, 4
ELBOW = 16
# In the picture of the whole rod, an end so near the one before it is left to the enlarged handle.
TOO_NEAR = 0.008
# The enlarged blank goes on past the handle for a little.
PAST_THE_HANDLE = 1.06
BY_EYE = " Sizes that are not on file are drawn by eye."


class ScaleDrawing(NamedTuple):
    """A rod in a box of `width` by `height` user units; `description` says in words what is drawn."""

    width: int
    height: int
    title: str
    description: str
    caption: str
    shapes: tuple[Shape, ...]
    words: tuple[Words, ...]


class _Plan(NamedTuple):
    """What one picture shows: the blank up to a place, what is named above it, what is measured below."""

    make_up: MakeUp
    blank: Bare
    until_nm: int
    names: tuple[tuple[int, str], ...]
    from_butt: tuple[int, ...]
    from_tip: tuple[int, ...]
    in_both_units: bool


def draw_to_scale(make_up: MakeUp) -> ScaleDrawing | None:
    """The whole rod: its joints, handle and guides; none without a blank."""
    blank = make_up.blank
    if blank is None:
        return None
    joints = tuple((at, f"joint {format_inches(at)}") for at, _ in blank.joints)
    from_tip = tuple(guide.from_tip_nm for guide in make_up.guides)
    ends = _thinned(_handle_ends(make_up), round(blank.length_nm * TOO_NEAR))
    plan = _Plan(make_up, blank, blank.length_nm, joints, tuple(ends), from_tip, False)
    return _draw(plan, "The rod to scale", _whole_in_words(make_up, blank))


def draw_handle(make_up: MakeUp) -> ScaleDrawing | None:
    """The handle enlarged, every part named and measured from the butt; none without a handle."""
    blank, ends = make_up.blank, _handle_ends(make_up)
    if blank is None or not ends:
        return None
    until = min(round(ends[-1] * PAST_THE_HANDLE), blank.length_nm)
    names = tuple(
        ((part.from_butt_nm + part.to_butt_nm) // 2, part.place)
        for part in sorted(make_up.parts, key=lambda part: part.from_butt_nm + part.to_butt_nm)
    )
    plan = _Plan(make_up, blank, until, names, tuple(ends), (), True)
    return _draw(plan, "The handle enlarged", _handle_in_words(make_up))


def _draw(plan: _Plan, title: str, description: str) -> ScaleDrawing:
    per_nm = (WIDTH - 2 * MARGIN) / plan.until_nm
    with_guides = not plan.in_both_units
    up, down = reach(plan.make_up, plan.blank, with_guides)
    most = MOST_REACH if with_guides else MOST_REACH_HANDLE
    times = max(1, min(MOST_TIMES, int(most / (max(up, down) * per_nm))))
    # The axis is known only once the rows of names above it are.
    flat = Scale(per_nm, MARGIN, 0, times)
    names = spread([Label(flat.x(at), (name,)) for at, name in plan.names], WIDTH)
    scale = Scale(per_nm, MARGIN, rows_of(names) * LINE + ELBOW + flat.across(up), times)
    foot = scale.axis + scale.across(down) + ELBOW
    below = spread(_measures(plan, scale), WIDTH)
    height = foot + ELBOW + rows_of(below) * LINE if below else foot - LINE
    lines, words = _datums(plan, scale, foot, height)
    return ScaleDrawing(
        WIDTH, round(height + LINE * 1.4), title, description, _caption(plan, times),
        (*_leaders_up(plan, scale, names), *_leaders_down(scale, below, foot), *lines, *_rod(plan, scale)),
        (*_names(names), *_figures(below, foot), *words),
    )  # fmt: skip


def _rod(plan: _Plan, scale: Scale) -> Iterator[Shape]:
    """The rod from back to front: guides behind the blank, the handle over it."""
    if plan.from_tip:
        yield from guide_shapes(plan.make_up, plan.blank, scale)
    yield blank_shape(plan.blank, scale, plan.until_nm)
    yield from joint_shapes(plan.blank, scale, plan.until_nm)
    yield from handle_shapes(plan.make_up, plan.blank, scale)


def _measures(plan: _Plan, scale: Scale) -> list[Label]:
    """What is written below the rod, from left to right."""
    length = plan.blank.length_nm
    places = [(at, at) for at in plan.from_butt] + [(length - at, at) for at in reversed(plan.from_tip)]
    return [Label(scale.x(place), _in_figures(at, plan.in_both_units)) for place, at in places]


def _in_figures(nm: int, in_both_units: bool) -> tuple[str, ...]:
    return (format_inches(nm), tenth_mm(nm)) if in_both_units else (format_inches(nm),)


def tenth_mm(nm: int) -> str:
    """Millimetres to the tenth: `208`, `207.9`."""
    tenth = NM_PER_MM // 10
    return exact_mm((nm + tenth // 2) // tenth * tenth)


def _leaders_up(plan: _Plan, scale: Scale, names: list[Placed]) -> Iterator[Shape]:
    lane = rows_of(names) * LINE
    for placed, (at, _) in zip(names, plan.names, strict=True):
        near = scale.axis - scale.across(blank_od(plan.blank, min(at, plan.blank.length_nm)) / 2)
        start = path("M", placed.x, placed.row * LINE + LINE + 3, "V", lane + 4)
        yield Shape("leader", start + path("L", placed.label.x, lane + ELBOW - 2, "V", near))


def _leaders_down(scale: Scale, below: list[Placed], foot: float) -> Iterator[Shape]:
    for placed in below:
        bend = path("V", foot, "L", placed.x, foot + ELBOW - 2)
        yield Shape("leader", path("M", placed.label.x, scale.axis) + bend)


def _names(names: list[Placed]) -> Iterator[Words]:
    for placed in names:
        yield Words(placed.x, placed.row * LINE + LINE - 2, placed.label.lines[0], "middle")


def _figures(below: list[Placed], foot: float) -> Iterator[Words]:
    for placed in below:
        for line, text in enumerate(placed.label.lines):
            yield Words(placed.x, foot + ELBOW + (placed.row + line) * LINE + LINE - 5, text, "middle")


def _datums(plan: _Plan, scale: Scale, foot: float, height: float) -> tuple[list[Shape], list[Words]]:
    """The dimension lines, each from the datum that is named below it."""
    unit = "inches, below millimetres" if plan.in_both_units else "inches"
    butt, tip = scale.x(0), scale.x(plan.blank.length_nm)
    y = height + LINE
    lines, words = [], []
    if plan.from_butt:
        lines += [
            Shape("datum", _arrow(butt, foot, 1)),
            Shape("dimension", path("M", butt, foot, "H", scale.x(plan.from_butt[-1]))),
        ]
        words.append(Words(butt, y, f"▸ from the butt, {unit}", "start"))
    if plan.from_tip:
        first = scale.x(plan.blank.length_nm - plan.from_tip[-1])
        lines += [
            Shape("datum", _arrow(tip, foot, -1)),
            Shape("dimension", path("M", tip, foot, "H", first)),
        ]
        words.append(Words(tip, y, f"from the tip, {unit} ◂", "end"))
    return lines, words


def _arrow(x: float, y: float, way: int) -> str:
    return path("M", x, y - 5, "L", x + way * 10, y, "L", x, y + 5, "z")


def _handle_ends(make_up: MakeUp) -> list[int]:
    """Where parts of the handle begin and end, from the butt in nm, each place once."""
    return sorted(set(chain.from_iterable((part.from_butt_nm, part.to_butt_nm) for part in make_up.parts)))


def _thinned(places: list[int], least_nm: int) -> list[int]:
    kept: list[int] = []
    for at in places:
        if not kept or at - kept[-1] >= least_nm:
            kept.append(at)
    return kept


def _caption(plan: _Plan, times: int) -> str:
    across = "thickness" if plan.in_both_units else "thickness and rings"
    scale = (
        f"Along the rod to scale, {across} drawn {times} times as large."
        if times > 1
        else f"To scale, {across} too."
    )
    return scale + (BY_EYE if is_by_eye(plan.make_up) else "")


def _whole_in_words(make_up: MakeUp, blank: Bare) -> str:
    parts = [f"The rod to scale, {both_units(blank.length_nm)} long, butt at the left."]
    if blank.joints:
        places = ", ".join(f"{format_inches(at)} in" for at, _ in blank.joints)
        parts.append(f"In {blank.pieces} pieces; joints from the butt: {places}.")
    parts.append(_handle_in_words(make_up) if make_up.parts else "No handle is laid down.")
    places = ", ".join(format_inches(guide.from_tip_nm) for guide in make_up.guides)
    parts.append(f"Guides from the tip, in inches: {places}." if places else "No guides are laid down.")
    return " ".join(parts)


def _handle_in_words(make_up: MakeUp) -> str:
    parts = "; ".join(
        f"{part.place} {format_inches(part.from_butt_nm)} to {format_inches(part.to_butt_nm)}"
        for part in make_up.parts
    )
    return f"The handle from the butt, in inches: {parts}."
