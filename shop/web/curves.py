"""The drawing of bent rods: butt clamped at the left, tip bending down, one line for each load.

Both axes have one scale, so that the shape is the rod's own. Finished outlines and words are handed to the
template; the points themselves are `shop.craft`'s, and stand beside the drawing as figures.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from shop.craft.saying import say_length
from shop.craft.sums.base import Column, Kind, Outcome, Table
from shop.craft.sums.saying import say

WIDTH = 720
MOST_HEIGHT = 460
# Room for the clamp at the left, for labels at the right, and for half a stroke above and below.
LEFT, RIGHT, TOP, BOTTOM = 40, 90, 30, 34
LABEL_HEIGHT = 30
# What fits beside a tip on a phone; a longer name gives way to a letter, which the key explains.
MOST_MARK = 7
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
PATTERNS = 5
LENGTHS = (Kind.LENGTH, Kind.FINE)
NAMES = (Kind.TEXT, Kind.CHOICE)
Points = Sequence[tuple[float, float]]


class Curve(NamedTuple):
    """One bent shape: `points` in nanometres from the clamp, y downward, from butt to tip.

    `name` is a word for it, such as heavy; `label` says what it is.
    """

    name: str
    label: str
    points: Points


class CurvePath(NamedTuple):
    """One shape drawn: `pattern` is its style class, `mark` stands by its tip at (x, y)."""

    pattern: str
    d: str
    mark: str
    x: float
    y: float
    label: str
    says: str


class CurvesDrawing(NamedTuple):
    """Bent rods in a box of `width` by `height`; `clamp` and `level` are outlines."""

    width: int
    height: int
    description: str
    clamp: str
    level: str
    paths: tuple[CurvePath, ...]


class _Scale(NamedTuple):
    """Places nanometres in the box, with the same scale for both axes."""

    per_nm: float
    left_nm: float
    top_nm: float

    def place(self, point: tuple[float, float]) -> tuple[float, float]:
        """Where a point lies in the box."""
        x, y = point
        return LEFT + (x - self.left_nm) * self.per_nm, TOP + (y - self.top_nm) * self.per_nm


def draw_curves(outcome: Outcome) -> CurvesDrawing | None:
    """Draw every table of an outcome that has columns x and y; none where there is nothing to draw."""
    curves = [curve for table in outcome.figures if isinstance(table, Table) for curve in _of(table)]
    return _draw(curves) if curves else None


def _of(table: Table) -> Iterator[Curve]:
    """The shapes in one table: one for each word of a column of words, or the table as one."""
    places = {column.name: place for place, column in enumerate(table.columns)}
    if not {"x", "y"} <= places.keys() or table.columns[places["x"]].kind not in LENGTHS:
        return
    names = [place for place, column in enumerate(table.columns) if _names_a_load(column)]
    shapes: dict[str, list[tuple[float, float]]] = {}
    for row in table.rows:
        said = [say(table.columns[place].kind, row[place], table.columns[place].unit) for place in names]
        shapes.setdefault(", ".join(said), []).append((row[places["x"]], row[places["y"]]))
    # A table of one shape is headed by what it is: `Heavy load: the bent blank`.
    heading = table.label.partition(":")[0]
    for word, points in shapes.items():
        if len(points) > 1:
            yield Curve(word or table.name, word or heading, points)


def _names_a_load(column: Column) -> bool:
    return column.kind in NAMES or column.name == "load"


def _draw(curves: Sequence[Curve]) -> CurvesDrawing:
    xs = [0.0, *(x for curve in curves for x, _ in curve.points)]
    ys = [0.0, *(y for curve in curves for _, y in curve.points)]
    wide, tall = max(xs) - min(xs) or 1, max(ys) - min(ys) or 1
    per_nm = min((WIDTH - LEFT - RIGHT) / wide, (MOST_HEIGHT - TOP - BOTTOM) / tall)
    scale = _Scale(per_nm, min(xs), min(ys))
    x, y = scale.place((0, 0))
    tips = _labels([scale.place(curve.points[-1]) for curve in curves])
    paths = tuple(
        _path(curve, mark, tip, scale)
        for curve, mark, tip in zip(enumerate(curves), _marks(curves), tips, strict=True)
    )
    height = round(max(TOP + tall * per_nm, *(tip[1] for tip in tips)) + BOTTOM)
    words = " ".join(f"{path.label}: {path.says}." for path in paths)
    return CurvesDrawing(
        WIDTH, height, f"The bent rod, clamped at the left, its tip bending down. {words}",
        clamp=f"M{_short(x - 34)} {_short(y - 20)}h34v40h-34z",
        level=f"M{_short(x)} {_short(y)}H{WIDTH - RIGHT}",
        paths=paths,
    )  # fmt: skip


def _marks(curves: Sequence[Curve]) -> list[str]:
    """What stands by each tip: the shape's name or, where that is long, a letter; nothing by one alone."""
    if len(curves) == 1:
        return [""]
    return [
        curve.name if len(curve.name) <= MOST_MARK else LETTERS[number % len(LETTERS)]
        for number, curve in enumerate(curves)
    ]


def _path(numbered: tuple[int, Curve], mark: str, tip: tuple[float, float], scale: _Scale) -> CurvePath:
    number, curve = numbered
    outline = "L".join(" ".join(map(_short, scale.place(point))) for point in curve.points)
    out, down = curve.points[-1]
    return CurvePath(
        f"curve-{number % PATTERNS + 1}",
        f"M{outline}",
        mark,
        round(tip[0], 1),
        round(tip[1], 1),
        curve.label,
        f"the tip {say_length(round(abs(down)))} {'above' if down < 0 else 'below'} the clamp and "
        f"{say_length(round(abs(out)))} {'behind' if out < 0 else 'out from'} it",
    )


def _labels(tips: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    """Where each label stands: right of its tip, and lower where another stands there already."""
    placed: list[tuple[float, float]] = []
    for x, y in tips:
        x, y = x + 8, y + 8
        while any(abs(x - other) < RIGHT and abs(y - high) < LABEL_HEIGHT for other, high in placed):
            y += LABEL_HEIGHT / 2
        placed.append((x, y))
    return placed


def _short(number: float) -> str:
    return f"{number:.1f}".rstrip("0").rstrip(".")
