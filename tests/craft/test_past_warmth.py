"""The last days of a line: its figures against those of its pieces, and few points however many readings."""

from itertools import pairwise
from random import Random

import pytest

from shop.craft.past_warmth import drawn, figures, unread_spans
from shop.craft.warmth import TemperatureLine

HOUR = 3600.0
GAP = HOUR
ASSUMED_C = 7.0


def line_of(*readings: tuple[float, float]) -> TemperatureLine:
    return TemperatureLine(ASSUMED_C, GAP, readings)


def test_a_line_that_was_never_read_has_no_figures() -> None:
    assert figures(line_of(), line_of(), 0, HOUR) == (None, None, None, HOUR)
    assert unread_spans(line_of(), 0, HOUR) == [(0, HOUR)]
    assert drawn(line_of(), 0, HOUR, 400) == []


def test_the_figures_of_one_slope() -> None:
    line = line_of((0, 10.0), (HOUR, 20.0))
    assert figures(line, line, 0, HOUR) == (10.0, 15.0, 20.0, 0)
    assert figures(line, line, HOUR / 2, HOUR) == (15.0, 17.5, 20.0, 0)
    assert drawn(line, 0, HOUR, 400) == [[(0, 10.0), (HOUR, 20.0)]]


def test_a_gap_is_seen_and_is_in_no_figure() -> None:
    line = line_of((0, 20.0), (3 * HOUR, 10.0))
    assert unread_spans(line, -HOUR, 5 * HOUR) == [(-HOUR, 0), (HOUR, 3 * HOUR), (4 * HOUR, 5 * HOUR)]
    assert figures(line, line, 0, 4 * HOUR) == (10.0, 15.0, 20.0, 2 * HOUR)
    assert drawn(line, 0, 4 * HOUR, 400) == [
        [(0, 20.0), (HOUR, 20.0)],
        [(3 * HOUR, 10.0), (4 * HOUR, 10.0)],
    ]


def test_the_warmest_is_that_of_the_warmest_thermometer() -> None:
    cold, warm = line_of((0, 10.0), (HOUR, 12.0)), line_of((0, 19.0), (HOUR, 21.0))
    assert figures(cold, warm, 0, HOUR) == (10.0, 11.0, 21.0, 0)


def test_figures_are_those_of_the_pieces_whatever_was_read() -> None:
    random = Random(7)
    for _ in range(300):
        readings = {
            60.0 * random.randrange(0, 2000): random.randrange(-50, 300) / 10
            for _ in range(random.randrange(0, 40))
        }
        line = TemperatureLine(ASSUMED_C, GAP, sorted(readings.items()))
        start = 60.0 * random.randrange(-100, 2000) + random.random()
        end = start + 60.0 * random.randrange(1, 900)
        pieces = list(line.pieces_between(start, end))
        read = [piece for piece in pieces if not piece.is_assumed]
        found = figures(line, line, start, end)
        unread = sum(piece.end - piece.start for piece in pieces if piece.is_assumed)
        assert found.unread_seconds == pytest.approx(unread)
        if not read:
            assert found.coldest is None
            continue
        ends = [celsius for piece in read for celsius in (piece.first_c, piece.last_c)]
        area = sum((piece.first_c + piece.last_c) / 2 * (piece.end - piece.start) for piece in read)
        mean = area / sum(piece.end - piece.start for piece in read)
        assert found[:3] == pytest.approx((min(ends), mean, max(ends)))


def test_a_drawing_has_few_points_and_keeps_the_coldest_and_the_warmest() -> None:
    random = Random(3)
    readings = [(10.0 * number, 15 + random.random()) for number in range(40_000)]
    readings[12_345], readings[30_001] = (123_450.0, -5.0), (300_010.0, 40.0)
    (points,) = drawn(line_of(*readings), 0, 400_000, 400)
    assert 200 <= len(points) <= 404
    assert {(123_450.0, -5.0), (300_010.0, 40.0)} <= set(points)
    assert all(before < after for (before, _), (after, _) in pairwise(points))
    assert (points[0][0], points[-1][0]) == (0, 399_990.0 + 10)


def test_few_points_are_all_drawn() -> None:
    line = line_of(*[(600.0 * number, 15 + number % 3) for number in range(144)])
    (points,) = drawn(line, 0, 86_400, 400)
    assert len(points) == 145


def test_a_line_is_not_drawn_by_three_points() -> None:
    with pytest.raises(ValueError, match="fewer than four"):
        drawn(line_of(), 0, HOUR, 3)
