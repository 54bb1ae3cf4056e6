"""A small picture of how a rod faces, seen from the butt: the mark, the reel and guides, the trigger.

Which side is whose is `shop.craft.spine`'s and the shop's own rule; here it becomes a drawing with words.
"""

from typing import NamedTuple

from shop.craft.spine import USUAL_RULES, GuidesGo, Side, SpineRule

WIDTH, HEIGHT = 260, 170
X, Y, RADIUS = 66, 85, 30
UP = {Side.TOP: -1, Side.UNDERNEATH: 1}


class FacingShape(NamedTuple):
    """One outline: `part` is its style class."""

    part: str
    d: str


class FacingWords(NamedTuple):
    """A text beside what it names."""

    x: int
    y: int
    text: str


class FacingDrawing(NamedTuple):
    """How a rod faces, in a box of `width` by `height`; `description` says the same in words."""

    width: int
    height: int
    description: str
    shapes: tuple[FacingShape, ...]
    words: tuple[FacingWords, ...]


def draw_facing(rod_kind: str, rule: str) -> FacingDrawing | None:
    """The rod seen from the butt, by the rule for its spine; none for a repair, which faces as it came."""
    usual = USUAL_RULES.get(rod_kind)
    if usual is None:
        return None
    spine = SpineRule(rod_kind, GuidesGo(rule), usual.reel_side)
    reel = UP[spine.reel_side]
    shapes = [
        FacingShape("ring", _guide(reel)),
        FacingShape("blank", _circle(X, Y, RADIUS)),
        FacingShape("bore", _circle(X, Y, RADIUS * 3 // 5)),
    ]
    said: dict[Side, list[str]] = {Side.TOP: [], Side.UNDERNEATH: []}
    if spine.mark_side is not None:
        shapes.append(FacingShape("spine-mark", _mark(UP[spine.mark_side])))
        said[spine.mark_side].append("mark")
    said[spine.reel_side] += ["reel", "guides"]
    if rod_kind == "casting" and spine.trigger_side is not None:
        shapes.append(FacingShape("trigger", _trigger(UP[spine.trigger_side])))
        said[spine.trigger_side].append("trigger")
    words = [*_words(said), *([] if spine.mark_side else [FacingWords(X + 46, Y + 6, "mark: ignored")])]
    return FacingDrawing(WIDTH, HEIGHT, _in_words(said, spine), tuple(shapes), tuple(words))


def _words(said: dict[Side, list[str]]) -> list[FacingWords]:
    """What stands on each side, one line each: from the top down above, from the bottom up below."""
    top, under = said[Side.TOP], said[Side.UNDERNEATH]
    lines = [FacingWords(X + 46, 24 + 22 * line, text) for line, text in enumerate(top)]
    first = HEIGHT - 12 - 22 * (len(under) - 1)
    return lines + [FacingWords(X + 46, first + 22 * line, text) for line, text in enumerate(under)]


def _in_words(said: dict[Side, list[str]], spine: SpineRule) -> str:
    sides = [f"{_listed(names)} {side.value}" for side, names in said.items() if names]
    ignored = "" if spine.mark_side else " The mark is ignored: the straightest axis counts."
    return f"Seen from the butt: {', '.join(sides)}.{ignored}"


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _circle(x: int, y: int, radius: int) -> str:
    return (
        f"M{x - radius} {y}a{radius} {radius} 0 1 1 {2 * radius} 0a{radius} {radius} 0 1 1 {-2 * radius} 0z"
    )


def _guide(way: int) -> str:
    """The ring of a guide on its two legs."""
    edge, middle = Y + way * (RADIUS - 2), Y + way * 58
    return (
        f"M{X - 9} {edge}L{X - 7} {middle - way * 14}M{X + 9} {edge}L{X + 7} {middle - way * 14}"
        + _circle(X, middle, 16)
    )


def _mark(way: int) -> str:
    """A wedge that points at the marked side from within the wall."""
    point, base = Y + way * (RADIUS + 1), Y + way * (RADIUS - 15)
    return f"M{X} {point}L{X - 9} {base}L{X + 9} {base}z"


def _trigger(way: int) -> str:
    start = Y + way * (RADIUS - 2)
    return f"M{X - 7} {start}v{way * 22}q7 {way * 12} 14 0v{-way * 22}z"
