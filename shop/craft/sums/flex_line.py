"""The bench calculators for the line through the guides of a bent blank: turns, room, evening out."""

from itertools import pairwise

from shop.craft.faults import SumFault
from shop.craft.flex.layout import Layout, even_out
from shop.craft.flex.line import MOST_TURN_DEG, Guide, LinePath, Rig, line_path
from shop.craft.flex.section import Section
from shop.craft.saying import plain, say_fine, say_length
from shop.craft.sums.base import Column, Figure, Input, Kind, Outcome, Sum, Table, Values
from shop.craft.sums.flex import BEAM, CARE, GROUP, LOADED, SOURCE, bent, mm, nm

_TOP, _BELOW = "top", "below"
GUIDES = (
    Input(
        "guides",
        "Guides",
        Kind.TABLE,
        hint="From the tip to the butt, without the tip-top.",
        columns=(
            Input("from_tip", "From tip", Kind.LENGTH),
            Input("height", "Centre height over the blank", Kind.FINE),
        ),
    ),
    Input("side", "Guides on", Kind.CHOICE, default=_TOP, options=(_TOP, _BELOW)),
    Input("tip_top_height", "Centre height of the tip-top", Kind.FINE, default="1/8 in", zero=True),
    Input(
        "reel_from_butt", "Line leaves the reel at, from the butt", Kind.LENGTH, default="10 in", zero=True
    ),
    Input("reel_height", "Its height over the blank there", Kind.FINE, default="1 in", zero=True),
)
_WAY = (
    "The line runs straight from ring centre to ring centre: turn = way of the outer piece − way of the inner"
)


def _rigged(values: Values, blank: Section) -> tuple[list[Guide], Rig]:
    """The guides from the tip to the butt, and the rest that the line runs through. Raises `SumFault`."""
    length_mm = blank.breaks_mm[-1]
    guides = [Guide(length_mm - mm(row["from_tip"]), mm(row["height"])) for row in values["guides"]]
    reel = Guide(mm(values["reel_from_butt"]), mm(values["reel_height"]))
    if reel.from_butt_mm >= length_mm:
        raise SumFault({"reel_from_butt": f"The blank is only {say_length(nm(length_mm))} long."})
    return guides, Rig(values["side"] == _TOP, mm(values["tip_top_height"]), reel)


def _path(values: Values) -> Outcome:
    blank, shape, working = bent(values, values["load"])
    guides, rig = _rigged(values, blank)
    path = line_path(shape, blank.od_at, guides, rig)
    tip_mm = blank.breaks_mm[-1]
    from_tip = [nm(tip_mm - guide.from_butt_mm) for guide in guides]
    figures = (
        Figure("tip_top_turn", "Turn at the tip-top", Kind.ANGLE, path.tip_top_turn_deg),
        Figure("most_turn", "Most turn at a guide", Kind.ANGLE, max(path.turns_deg)),
        Figure("least_gap", "Least room between line and blank", Kind.FINE, nm(min(path.gaps_mm))),
        _turns_table(from_tip, path),
        _gaps_table(_span_ends(values, from_tip, blank), path),
    )
    working += [
        f"guide {number}, {say_length(at)} from the tip: turn {plain(round(turn, 2))}°"
        for number, (at, turn) in enumerate(zip(from_tip, path.turns_deg, strict=True), 1)
    ]
    return Outcome(figures, (*working,), (*_path_warnings(values, from_tip, blank, path), *CARE))


def _span_ends(values: Values, from_tip: list[int], blank: Section) -> list[tuple[int, int]]:
    reel = nm(blank.breaks_mm[-1]) - values["reel_from_butt"]
    return list(pairwise([0, *from_tip, reel]))


def _turns_table(from_tip: list[int], path: LinePath) -> Table:
    columns = (
        Column("guide", "Guide", Kind.COUNT),
        Column("from_tip", "From tip", Kind.LENGTH),
        Column("turn", "Turns the line by", Kind.ANGLE),
    )
    rows = zip(range(1, len(from_tip) + 1), from_tip, path.turns_deg, strict=True)
    return Table("turns", "How far each guide turns the line", columns, tuple(rows))


def _gaps_table(spans: list[tuple[int, int]], path: LinePath) -> Table:
    columns = (
        Column("from_tip", "Span from, from tip", Kind.LENGTH),
        Column("to", "to, from tip", Kind.LENGTH),
        Column("gap", "Least room", Kind.FINE),
    )
    rows = tuple((*span, nm(gap)) for span, gap in zip(spans, path.gaps_mm, strict=True))
    return Table("gaps", "Room between line and blank, span by span, the last to the reel", columns, rows)


def _path_warnings(values: Values, from_tip: list[int], blank: Section, path: LinePath) -> list[str]:
    warnings = [
        f"The line touches the blank between {say_length(outer)} and {say_length(inner)} from the tip: "
        f"{say_fine(nm(gap))} of room. Put the guides there closer, or use taller ones."
        for (outer, inner), gap in zip(_span_ends(values, from_tip, blank), path.gaps_mm, strict=True)
        if gap <= 0.0
    ]
    return warnings + _turn_warnings(from_tip, path.turns_deg)


def _turn_warnings(from_tip: list[int], turns_deg: tuple[float, ...]) -> list[str]:
    return [
        f"The guide {say_length(at)} from the tip turns the line by {plain(round(turn, 1))}°; more than "
        f"{MOST_TURN_DEG:g}° wants another guide near it (common practice)."
        for at, turn in zip(from_tip, turns_deg, strict=True)
        if abs(turn) > MOST_TURN_DEG
    ]


LINE_PATH = Sum(
    name="line-path",
    title="Line through the guides of a bent blank",
    group=GROUP,
    about="How far each guide turns the line under a load, and whether the line touches the blank.",
    inputs=(*LOADED, *GUIDES),
    formula=f"{_WAY}; {BEAM}",
    source=f"Plane geometry; turns over {MOST_TURN_DEG:g}° flagged by common practice, no source. {SOURCE}",
    work=_path,
)


def _even(values: Values) -> Outcome:
    blank, shape, working = bent(values, values["load"])
    guides, rig = _rigged(values, blank)
    before, after = even_out(shape, blank.od_at, guides, rig, values["gaps_grow"])
    tip_mm = blank.breaks_mm[-1]
    from_tip = [nm(tip_mm - guide.from_butt_mm) for guide in after.guides]
    figures = (
        Figure("spread_before", "Largest turn less smallest, as given", Kind.ANGLE, before.spread_deg),
        Figure("spread_after", "The same, evened out", Kind.ANGLE, after.spread_deg),
        _positions_table(from_tip, before, after),
    )
    working += [
        f"turns as given: {_listed(before)}, spread {plain(round(before.spread_deg, 2))}°",
        f"turns evened out: {_listed(after)}, spread {plain(round(after.spread_deg, 2))}°",
    ]
    warnings = _turn_warnings(from_tip, after.turns_deg)
    if after is before:
        warnings.append("No more even layout was found; the guides are left as given.")
    warnings.append(
        "Evened out for this one load; look at a lighter and a heavier one too, and keep the guides clear of "
        "ferrules."
    )
    return Outcome(figures, (*working,), (*warnings, *CARE))


def _listed(layout: Layout) -> str:
    return ", ".join(f"{turn:.1f}°" for turn in layout.turns_deg)


def _positions_table(from_tip: list[int], before: Layout, after: Layout) -> Table:
    columns = (
        Column("guide", "Guide", Kind.COUNT),
        Column("from_tip", "From tip", Kind.LENGTH),
        Column("from_butt", "From butt", Kind.LENGTH),
        Column("before", "Turn as given", Kind.ANGLE),
        Column("after", "Turn evened out", Kind.ANGLE),
    )
    rows = tuple(
        (number, at, nm(guide.from_butt_mm), was, now)
        for number, (at, guide, was, now) in enumerate(
            zip(from_tip, after.guides, before.turns_deg, after.turns_deg, strict=True), 1
        )
    )
    return Table("positions", "Where the guides go, the first and the last as given", columns, rows)


EVEN_LAYOUT = Sum(
    name="even-layout",
    title="Guides moved until they turn the line alike",
    group=GROUP,
    about="Shares the bend under a load out between the guides. The first and the last stay; nothing is "
    "known of ferrules here.",
    inputs=(
        *LOADED,
        *GUIDES,
        Input(
            "gaps_grow",
            "Gaps never shrink towards the butt",
            Kind.YES,
            default="yes",
        ),
    ),
    formula=f"{_WAY}; the bend between the outermost guides is shared out until the turns are alike",
    source=f"Common practice of the static test, no source. {SOURCE}",
    work=_even,
)

SUMS: tuple[Sum, ...] = (LINE_PATH, EVEN_LAYOUT)
