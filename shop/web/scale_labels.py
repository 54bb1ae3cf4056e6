"""Where the labels of a drawing go: near their places, moved apart so that none covers another."""

from collections.abc import Sequence
from typing import NamedTuple

# The height of a line of text, and the most that a letter takes of a line, in user units.
LINE = 18
LETTER = 9
GAP = 10


class Words(NamedTuple):
    """A text in a drawing; `anchor` is its style class: `start`, `middle` or `end`."""

    x: float
    y: float
    text: str
    anchor: str


class Label(NamedTuple):
    """A label of one or two lines for the place `x`."""

    x: float
    lines: tuple[str, ...]

    @property
    def wide(self) -> float:
        """How much room it takes, with some air beside it."""
        return max(map(len, self.lines)) * LETTER + GAP


class Placed(NamedTuple):
    """A label with the middle it was given; `row` counts lines of text from the top."""

    label: Label
    x: float
    row: int


class _Group(NamedTuple):
    """Labels that stand side by side; `left` is where they would best begin, for the mean of them."""

    labels: tuple[Label, ...]
    left: float
    wide: float


def spread(labels: Sequence[Label], width: float) -> list[Placed]:
    """Labels, given from left to right, each as near its place as the others let it; in rows where too many.

    In each row no two overlap and all lie between 0 and `width`, as far as they fit at all.
    """
    if not labels:
        return []
    rows = 1 + int(sum(label.wide for label in labels) / width)
    tall = max(len(label.lines) for label in labels)
    placed: dict[int, Placed] = {}
    for row in range(rows):
        numbers = range(row, len(labels), rows)
        for number, (label, x) in zip(numbers, _in_a_row(labels[row::rows], width), strict=True):
            placed[number] = Placed(label, x, row * tall)
    return [placed[number] for number in range(len(labels))]


def rows_of(placed: Sequence[Placed]) -> int:
    """How many lines of text they take."""
    return max((item.row + len(item.label.lines) for item in placed), default=0)


def _in_a_row(labels: Sequence[Label], width: float) -> list[tuple[Label, float]]:
    groups: list[_Group] = []
    for label in labels:
        group = _Group((label,), _within(label.x - label.wide / 2, label.wide, width), label.wide)
        while groups and groups[-1].left + groups[-1].wide > group.left:
            group = _joined(groups.pop(), group, width)
        groups.append(group)
    found = []
    for group in groups:
        left = group.left
        for label in group.labels:
            found.append((label, left + label.wide / 2))
            left += label.wide
    return found


def _joined(before: _Group, after: _Group, width: float) -> _Group:
    labels = (*before.labels, *after.labels)
    wide = before.wide + after.wide
    wanted, offset = 0.0, 0.0
    for label in labels:
        wanted += label.x - label.wide / 2 - offset
        offset += label.wide
    return _Group(labels, _within(wanted / len(labels), wide, width), wide)


def _within(left: float, wide: float, width: float) -> float:
    return max(0.0, min(left, width - wide))
