"""The bench calculators for the spine: which side the guides go on, repeated readings, spiral layouts."""

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

from shop.craft.saying import plain
from shop.craft.spine import (
    LEAST_READINGS,
    USUAL_RULES,
    GuidesGo,
    Hand,
    Side,
    SpineRule,
    SpiralGuide,
    check_spine,
    even_angles,
    mean_direction,
    question,
    rule_for,
    spiral_angles,
)
from shop.craft.sums.base import Column, Figure, Input, Kind, Outcome, Sum, Table, Values

_SIDES = tuple(Side)
_HANDS = tuple(Hand)
# A step this wide lets the line cross close to the blank, whatever the rings; narrower depends on them.
_WIDEST_STEP_DEG = 90


def _spine(values: Values) -> Outcome:
    guides, reel, mark = values["rule"], values["reel_side"], values["side_of_mark"]
    rule = rule_for(values["rod_kind"], guides and GuidesGo(guides), reel and Side(reel))
    check = check_spine(rule, mark and Side(mark), Side(values["side_of_guides"]))
    figures = (
        Figure("passes", "Right", Kind.YES, check.passes),
        Figure("says", "What to do", Kind.TEXT, check.says),
        Figure("question", "Ask at the bench", Kind.TEXT, question(rule)),
        Figure("rule", "Guides go", Kind.TEXT, str(rule.guides)),
        Figure("reel_side", "The reel is", Kind.TEXT, str(rule.reel_side)),
        Figure("mark_side", "The mark belongs", Kind.TEXT, _words(rule.mark_side)),
        Figure("trigger_side", "A trigger belongs", Kind.TEXT, _words(rule.trigger_side)),
        Figure("handle_side", "Reel handle, seen from the butt", Kind.TEXT, values["wind"]),
    )
    warnings = [rule.note] if rule.note else []
    if not check.passes:
        warnings.append(check.says)
    return Outcome(figures, _spine_working(rule), (*warnings,))


def _words(side: Side | None) -> str | None:
    return None if side is None else str(side)


def _spine_working(rule: SpineRule) -> tuple[str, ...]:
    side = _at(rule.reel_side)
    reel = f"The reel of this {rule.rod_kind} rod is {side}, so the guides belong {side}."
    if rule.mark_side is None:
        return (reel, "The spine is ignored, so the mark may be on either side.")
    return (reel, f"The guides go {rule.guides}, so the mark belongs {_at(rule.mark_side)}.")


def _at(side: Side) -> str:
    return "on top" if side is Side.TOP else "underneath"


SPINE = Sum(
    name="spine",
    title="Spine and guides",
    group="Spine",
    about="Two plain facts, told with the rod held to fish: which side the mark is on and which the "
    "guides. The mark is made on the outside of the relaxed bend.",
    inputs=(
        Input("rod_kind", "Kind of rod", Kind.CHOICE, options=tuple(USUAL_RULES)),
        Input(
            "side_of_mark",
            "The mark is",
            Kind.CHOICE,
            hint="Not needed where the spine is ignored.",
            optional=True,
            options=_SIDES,
        ),
        Input(
            "side_of_guides",
            "The guides are",
            Kind.CHOICE,
            hint="On a spiral layout, the butt guide.",
            options=_SIDES,
        ),
        Input(
            "rule",
            "The guides go",
            Kind.CHOICE,
            hint="The shop's own rule; without it the usual one for the kind of rod.",
            optional=True,
            options=tuple(GuidesGo),
        ),
        Input(
            "reel_side",
            "The reel is",
            Kind.CHOICE,
            hint="Where it is not as usual for the kind of rod.",
            optional=True,
            options=_SIDES,
        ),
        Input(
            "wind",
            "The customer winds with the hand",
            Kind.CHOICE,
            hint="The side of the reel's handle, seen from the butt.",
            optional=True,
            options=_HANDS,
        ),
    ),
    formula="casting, boat: guides on the mark; spinning, fly, surf: guides opposite the mark",
    source="Common practice, no source; for fly rods it is disputed.",
    work=_spine,
)


def _readings(values: Values) -> Outcome:
    angles = [row["angle"] for row in values["readings"]]
    within = values["agree_within"]
    spread = mean_direction(angles, within)
    figures = (
        Figure("mean", "Mean direction", Kind.ANGLE, spread.mean_deg),
        Figure("spread", "Arc with every reading in it", Kind.ANGLE, spread.spread_deg),
        Figure("agree", "The readings agree", Kind.YES, spread.agree),
    )
    arc, wanted = f"{plain(spread.spread_deg)}°", f"{plain(within)}°"
    working = (
        f"direction of the summed unit vectors of {_degrees(angles)} = {plain(spread.mean_deg)}°",
        f"360° − widest gap between neighbours = {arc}, at most {wanted} is wanted",
    )
    again = f"The readings lie {arc} apart, more than {wanted}; find the spine again."
    return Outcome(figures, working, () if spread.agree else (again,))


def _degrees(angles_deg: Sequence[float]) -> str:
    return ", ".join(f"{plain(angle)}°" for angle in angles_deg)


SPINE_READINGS = Sum(
    name="spine-readings",
    title="Spine readings",
    group="Spine",
    about="The direction of the spine from repeated readings round the blank, and whether they agree.",
    inputs=(
        Input(
            "readings",
            "Readings",
            Kind.TABLE,
            hint=f"At least {LEAST_READINGS}, from one mark and all the same way round.",
            columns=(Input("angle", "Angle", Kind.ANGLE, signed=True),),
        ),
        Input("agree_within", "Readings agree within", Kind.ANGLE, default="10°"),
    ),
    formula="mean = direction of the sum of unit vectors; spread = 360° − widest gap between neighbours",
    source="Mean direction: Fisher, Statistical Analysis of Circular Data, 1993. The 10° is common practice.",
    work=_readings,
)


def _spiral(values: Values) -> Outcome:
    hand, tolerance = Hand(values["side"]), values["tolerance"]
    stated = [Fraction(str(row["angle"])) for row in values["angles"]]
    angles = stated or even_angles(values["transition_count"])
    laid = spiral_angles(values["count"], angles, hand)
    columns = (
        Column("guide", "Guide, counted from the butt", Kind.TEXT),
        Column("angle", "Angle from the top", Kind.ANGLE),
        Column("side", "To the side, seen from the butt", Kind.TEXT),
        Column("clockwise", "Clockwise from the top, seen from the butt", Kind.ANGLE),
        Column("tolerance", "Give or take", Kind.ANGLE),
    )
    rows = [(str(guide.guide), *_angles(guide), tolerance) for guide in laid]
    rows.append(("tip-top", *_angles(laid[-1]), tolerance))
    turns = [float(angle) for angle in angles]
    how = f"on the way round, {_degrees(turns)}" if turns else "none on the way round"
    if turns and not stated:
        how += f", in even steps of 180° ÷ {len(angles) + 1} = {plain(180 / (len(angles) + 1))}°"
    working = (f"butt guide on top, 0°; {how}; all others and the tip-top underneath, 180°",)
    return Outcome(
        (Table("guides", f"Guides from the butt, round to the {hand}", columns, tuple(rows)),),
        working,
        _wide_steps([0.0, *turns, 180.0]),
    )


def _angles(guide: SpiralGuide) -> tuple[float, str, float]:
    return float(guide.angle_deg), guide.side, float(guide.clockwise_deg)


def _wide_steps(angles_deg: list[float]) -> tuple[str, ...]:
    return tuple(
        f"From {plain(before)}° to {plain(after)}° is a step of {plain(after - before)}°: look along the "
        "line there, it may lie on the blank."
        for before, after in pairwise(angles_deg)
        if after - before > _WIDEST_STEP_DEG
    )


SPIRAL = Sum(
    name="spiral",
    title="Spiral layout",
    group="Spine",
    about="The angle of each guide round the blank, from the butt guide on top to the rest underneath. "
    "Left and right are seen from the butt; the reel is on top.",
    inputs=(
        Input("count", "Number of guides", Kind.COUNT, hint="The tip-top is not counted.", most=60.0),
        Input("side", "The line goes round to the", Kind.CHOICE, options=_HANDS),
        Input(
            "transition_count",
            "Guides on the way round",
            Kind.COUNT,
            hint="In even steps; 2 gives 60° and 120°.",
            default="2",
            zero=True,
            most=58.0,
        ),
        Input(
            "angles",
            "Or their angles, from the butt",
            Kind.TABLE,
            hint="These go before the even steps.",
            optional=True,
            columns=(Input("angle", "Angle from the top", Kind.ANGLE),),
        ),
        Input("tolerance", "Give or take", Kind.ANGLE, default="5°"),
    ),
    formula="butt guide 0°; guide k of t on the way round: k × 180° ÷ (t + 1); the rest 180°",
    source="Common practice, no source.",
    work=_spiral,
)

SUMS: tuple[Sum, ...] = (SPINE, SPINE_READINGS, SPIRAL)
