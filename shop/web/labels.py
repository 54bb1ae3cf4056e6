"""Sheets of sticky labels: which label goes where, page by page. How large a label is, is the style sheet's.

Two plain sizes that are sold everywhere (common practice, no source): A4 with 3 by 8 labels of 70 × 37 mm,
and Letter with 3 by 10 of 2 5/8 × 1 in.
"""

from collections.abc import Sequence
from typing import NamedTuple

from shop.outside.codes import Code


class Paper(NamedTuple):
    """A sheet of labels: how many it has, and how a person tells it by looking at the box."""

    labels: int
    says: str


PAPERS = {
    "a4": Paper(24, "A4, 3 by 8 labels of 70 × 37 mm"),
    "letter": Paper(30, "Letter, 3 by 10 labels of 2 5/8 × 1 in"),
}
MOST_LABELS = 300


class Label(NamedTuple):
    """One label: the build's number, the customer's short name, the title, and the code of its page."""

    number: str
    customer: str
    title: str
    code: Code


def sheets_of(labels: Sequence[Label], paper: str, start: int) -> list[list[Label | None]]:
    """The labels page by page; `start` counts from 1 and leaves the places before it, used already, empty."""
    a_sheet = PAPERS[paper].labels
    places: list[Label | None] = [*[None] * (start - 1), *labels]
    return [places[first : first + a_sheet] for first in range(0, len(places), a_sheet)]
