"""The parts of a zone's line between two instants, and which of them nobody measured."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.warmth import Piece, TemperatureLine

HOUR = 3600.0
T0 = 1_700_000_000.0
LINE = TemperatureLine(16.0, HOUR, [(T0, 20.0), (T0 + HOUR, 24.0), (T0 + 4 * HOUR, 10.0)])


def at(hours: float) -> float:
    return T0 + hours * HOUR


def piece(first: float, last: float, first_c: float, last_c: float, is_assumed: bool) -> Piece:
    """A piece from so many hours after the first reading to so many."""
    return Piece(at(first), at(last), first_c, last_c, is_assumed)


def test_the_line_is_given_in_pieces_read_and_assumed() -> None:
    assert list(LINE.pieces_between(at(-1), at(7))) == [
        piece(-1, 0, 16.0, 16.0, True),
        piece(0, 1, 20.0, 24.0, False),
        piece(1, 2, 24.0, 24.0, False),
        piece(2, 4, 16.0, 16.0, True),
        piece(4, 5, 10.0, 10.0, False),
        piece(5, 7, 16.0, 16.0, True),
    ]


@pytest.mark.parametrize(
    ("first", "last", "expected"),
    [
        (0.5, 0.75, [piece(0.5, 0.75, 22.0, 23.0, False)]),
        (1.0, 1.5, [piece(1, 1.5, 24.0, 24.0, False)]),
        (6.0, 9.0, [piece(6, 9, 16.0, 16.0, True)]),
        (-9.0, -8.0, [piece(-9, -8, 16.0, 16.0, True)]),
        (1.0, 1.0, []),
        (2.0, 1.0, []),
    ],
)
def test_pieces_are_cut_where_they_are_asked_for(first: float, last: float, expected: list[Piece]) -> None:
    assert list(LINE.pieces_between(at(first), at(last))) == expected


def test_a_reading_that_says_what_is_assumed_is_read_all_the_same() -> None:
    line = TemperatureLine(16.0, HOUR, [(T0, 16.0)])
    assert [part.is_assumed for part in line.pieces_between(at(-1), at(3))] == [True, False, True]
    assert line.last_reading == (T0, 16.0)


def test_a_line_without_readings_is_assumed_throughout() -> None:
    line = TemperatureLine(16.0, HOUR)
    assert list(line.pieces_between(at(0), at(5))) == [piece(0, 5, 16.0, 16.0, True)]
    assert line.last_reading is None


@given(
    readings=st.lists(st.tuples(st.integers(0, 600), st.integers(-5, 35)), max_size=12),
    first=st.integers(-200, 900),
    length=st.integers(1, 900),
)
def test_pieces_follow_each_other_and_lie_on_the_line(
    readings: list[tuple[int, int]], first: int, length: int
) -> None:
    line = TemperatureLine(16.0, HOUR, [(T0 + minute * 60, float(celsius)) for minute, celsius in readings])
    start, end = T0 + first * 60, T0 + (first + length) * 60
    pieces = list(line.pieces_between(start, end))
    assert (pieces[0].start, pieces[-1].end) == (start, end)
    for one, following in pairwise(pieces):
        assert one.end == following.start
    for part in pieces:
        middle = (part.start + part.end) / 2
        assert line.temperature_at(part.start) == pytest.approx(part.first_c)
        assert line.temperature_at(middle) == pytest.approx((part.first_c + part.last_c) / 2)
