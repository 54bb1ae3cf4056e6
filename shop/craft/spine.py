"""Which side the guides go on, the direction of a spine from repeated readings, and spiral layouts.

The mark is made on the outside of the blank's relaxed bend. Sides are told with the rod held to fish, the
reel as it fishes: a side is the top or underneath. Left and right are seen from the butt.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise
from math import atan2, cos, degrees, hypot, isfinite, radians, sin

from shop.craft.faults import SumFault

LEAST_READINGS = 3
AGREE_WITHIN_DEG = 10.0
_MICRO = 1_000_000
_TURN = 360 * _MICRO


class GuidesGo(StrEnum):
    """Where a rule puts the guides about the mark."""

    ON_MARK = "on the mark"
    OPPOSITE = "opposite the mark"
    IGNORED = "ignored"


class Side(StrEnum):
    """A side of the rod as it is held to fish."""

    TOP = "top"
    UNDERNEATH = "underneath"

    @property
    def other(self) -> "Side":
        """The side across."""
        return Side.UNDERNEATH if self is Side.TOP else Side.TOP


class Hand(StrEnum):
    """A side of the rod seen from the butt, toward the tip."""

    LEFT = "left"
    RIGHT = "right"


@dataclass(frozen=True, slots=True)
class SpineRule:
    """What a shop does with the spine of one kind of rod; `note` is what a builder should know of it."""

    rod_kind: str
    guides: GuidesGo
    reel_side: Side
    note: str = ""

    @property
    def mark_side(self) -> Side | None:
        """Where the mark must be, the guides being on the reel's side; none where the spine is ignored."""
        if self.guides is GuidesGo.IGNORED:
            return None
        return self.reel_side if self.guides is GuidesGo.ON_MARK else self.reel_side.other

    @property
    def trigger_side(self) -> Side | None:
        """The side of a trigger, across from the guides; none on a rod whose reel hangs below."""
        return self.reel_side.other if self.reel_side is Side.TOP else None


_FLY_NOTE = "Builders disagree on fly rods: some put the guides on the mark. Keep the reason with the rod."
# Common practice, no source. Every rule here ends with the mark on top, the outside of the bend under load.
USUAL_RULES = {
    rule.rod_kind: rule
    for rule in (
        SpineRule("casting", GuidesGo.ON_MARK, Side.TOP),
        SpineRule("boat", GuidesGo.ON_MARK, Side.TOP),
        SpineRule("spinning", GuidesGo.OPPOSITE, Side.UNDERNEATH),
        SpineRule("fly", GuidesGo.OPPOSITE, Side.UNDERNEATH, _FLY_NOTE),
        SpineRule("surf", GuidesGo.OPPOSITE, Side.UNDERNEATH),
    )
}


def rule_for(rod_kind: str, guides: GuidesGo | None = None, reel_side: Side | None = None) -> SpineRule:
    """The usual rule for a kind of rod, or what the shop does instead.

    A reel on the other side than is usual, such as a casting reel on a surf rod, brings the rule of that
    side with it unless `guides` says otherwise. Raises `SumFault` on `rod_kind`.
    """
    usual = USUAL_RULES.get(rod_kind)
    if usual is None:
        known = ", ".join(USUAL_RULES)
        raise SumFault({"rod_kind": f"There is no rule for “{rod_kind}” rods; there is for {known}."})
    side = reel_side or usual.reel_side
    by_side = GuidesGo.ON_MARK if side is Side.TOP else GuidesGo.OPPOSITE
    chosen = guides or (usual.guides if side is usual.reel_side else by_side)
    note = usual.note if (chosen, side) == (usual.guides, usual.reel_side) else ""
    return SpineRule(rod_kind, chosen, side, note)


@dataclass(frozen=True, slots=True)
class SpineCheck:
    """Whether mark and guides are where the rule wants them, and what to do, in a sentence."""

    passes: bool
    says: str


def question(rule: SpineRule) -> str:
    """The plain question to ask at the bench, before any glue."""
    reel = "The reel sits on top" if rule.reel_side is Side.TOP else "The reel hangs below"
    if rule.guides is GuidesGo.IGNORED:
        return f"{reel}: are the guides on top or underneath?"
    return f"{reel}: is the mark on top or underneath, and are the guides on top or underneath?"


def check_spine(rule: SpineRule, side_of_mark: Side | None, side_of_guides: Side) -> SpineCheck:
    """Whether the guides are on the reel's side and the mark where the rule wants it.

    On a spiral layout the guides' side is that of the butt guide. Raises `SumFault` on `side_of_mark` where
    the rule needs it and it is none. Common practice, no source.
    """
    if rule.guides is not GuidesGo.IGNORED and side_of_mark is None:
        raise SumFault({"side_of_mark": f"{question(rule)} The mark's side is missing."})
    guides_right = side_of_guides is rule.reel_side
    mark_right = rule.mark_side is None or side_of_mark is rule.mark_side
    if guides_right and mark_right:
        return SpineCheck(True, _right(rule))
    found = f"The guides are {_at(side_of_guides)}"
    if rule.mark_side is not None and side_of_mark is not None:
        found = f"The mark is {_at(side_of_mark)} and the guides are {_at(side_of_guides)}"
    wanted = f"on this rod the guides belong {_at(rule.reel_side)}, on the reel's side"
    if rule.mark_side is not None:
        wanted += f", and the mark {_at(rule.mark_side)}"
    return SpineCheck(False, f"{found}; {wanted}. {_remedy(guides_right, mark_right)}")


def _right(rule: SpineRule) -> str:
    if rule.guides is GuidesGo.IGNORED:
        return "Right: the guides are on the reel's side. The spine is ignored; keep the reason with the rod."
    return f"Right: the guides are {rule.guides}, and on the reel's side."


def _remedy(guides_right: bool, mark_right: bool) -> str:
    if guides_right:
        return "Turn the blank half way round under seat and guides, before any glue."
    if mark_right:
        return "Move the guides half way round the blank, to the reel's side."
    return "Turn the blank half way round in the seat, the guides with it, before any glue."


def _at(side: Side) -> str:
    return "on top" if side is Side.TOP else "underneath"


@dataclass(frozen=True, slots=True)
class Spread:
    """Repeated readings of one direction: their mean, the arc that holds them all, and whether they agree."""

    mean_deg: float
    spread_deg: float
    agree: bool


def mean_direction(angles_deg: Sequence[float], agree_within_deg: float = AGREE_WITHIN_DEG) -> Spread:
    """The mean direction of readings round the blank, and whether they lie within so many degrees.

    The mean is the direction of the summed unit vectors, so 355° and 5° give 0°, not 180° (Fisher,
    Statistical Analysis of Circular Data, 1993, section 2.3). The spread is the shortest arc with every
    reading in it. Raises `SumFault` on `readings` or `agree_within`: fewer than three readings say nothing
    of how well they agree, and readings all round the blank have no mean.
    """
    errors = {}
    if len(angles_deg) < LEAST_READINGS:
        errors["readings"] = f"Read the spine at least {LEAST_READINGS} times; there are {len(angles_deg)}."
    for number, angle in enumerate(angles_deg, 1):
        if not isfinite(angle):
            errors[f"readings.{number}.angle"] = f"Reading {number} is not an angle."
    if not 0 < agree_within_deg < 180:
        errors["agree_within"] = "Readings agree within some degrees, more than 0° and less than 180°."
    if errors:
        raise SumFault(errors)
    x = sum(cos(radians(angle)) for angle in angles_deg)
    y = sum(sin(radians(angle)) for angle in angles_deg)
    if hypot(x, y) < 1e-6 * len(angles_deg):
        raise SumFault({"readings": "The readings point all round the blank; they have no common direction."})
    spread = _arc_of_all([round(angle * _MICRO) % _TURN for angle in angles_deg])
    mean = round(degrees(atan2(y, x)) * _MICRO) % _TURN
    return Spread(mean / _MICRO, spread / _MICRO, spread <= round(agree_within_deg * _MICRO))


def _arc_of_all(micro_degrees: Sequence[int]) -> int:
    """The shortest arc with every direction in it: the whole turn less the widest gap between two."""
    ordered = sorted(micro_degrees)
    gaps = [after - before for before, after in pairwise([*ordered, ordered[0] + _TURN])]
    return _TURN - max(gaps)


@dataclass(frozen=True, slots=True)
class SpiralGuide:
    """A guide of a spiral layout: its angle away from the top, and to which side, seen from the butt."""

    guide: int
    angle_deg: Fraction
    side: str

    @property
    def clockwise_deg(self) -> Fraction:
        """The angle from the top, clockwise seen from the butt: 60° to the left is 300°."""
        return 360 - self.angle_deg if self.side == Hand.LEFT else self.angle_deg


def even_angles(transition_count: int) -> tuple[Fraction, ...]:
    """The angles of so many guides spread evenly between the top and underneath: 2 gives 60° and 120°.

    Raises `SumFault` on `transition_count`.
    """
    if transition_count < 0:
        raise SumFault(
            {"transition_count": "There cannot be fewer than no guides between top and underneath."}
        )
    return tuple(Fraction(180 * k, transition_count + 1) for k in range(1, transition_count + 1))


def spiral_angles(count: int, angles_deg: Sequence[Fraction], hand: Hand) -> tuple[SpiralGuide, ...]:
    """The angles of `count` guides from the butt: 0°, then `angles_deg`, then all the rest at 180°.

    Common practice, no source. Raises `SumFault` on `count` (at least one guide must be underneath) or
    `angles.1.angle` (each between 0° and 180° and beyond the one before).
    """
    errors = {}
    for number, (before, here) in enumerate(pairwise([Fraction(0), *angles_deg]), 1):
        if not before < here < 180:
            errors[f"angles.{number}.angle"] = (
                f"Angle {number}, {float(here):g}°, must be more than the one before, {float(before):g}°, "
                "and less than 180°."
            )
    if count < len(angles_deg) + 2:
        errors["count"] = (
            f"{count} guides are too few: one is on top, {len(angles_deg)} on the way round, and at least "
            f"one underneath, which makes {len(angles_deg) + 2}."
        )
    if errors:
        raise SumFault(errors)
    below = [Fraction(180)] * (count - 1 - len(angles_deg))
    return tuple(
        SpiralGuide(number, Fraction(angle), _side(Fraction(angle), hand))
        for number, angle in enumerate([Fraction(0), *angles_deg, *below], 1)
    )


def _side(angle_deg: Fraction, hand: Hand) -> str:
    return str({Fraction(0): Side.TOP, Fraction(180): Side.UNDERNEATH}.get(angle_deg, hand))
