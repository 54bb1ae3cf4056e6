"""The temperature line under the ruler of Setting: what was read, what is assumed, and the words."""

import re
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from shop.craft.warmth import TemperatureLine
from shop.web.stretches import stretches_at
from shop.web.zone_lines import Wanted, ZoneLine, draw_zone, where_from

ZONE = ZoneInfo("Europe/Berlin")
# Thursday 26 November 2026, 14:20 in Berlin.
NOW = datetime(2026, 11, 26, 13, 20, tzinfo=UTC)
SCALE = stretches_at(NOW, None, ZONE)
HOUR = timedelta(hours=1)


def line(*readings: tuple[float, float], assumed_c: float = 12.0) -> TemperatureLine:
    """A line through readings so many hours from now, each of which speaks for an hour."""
    at = [((NOW + hours * HOUR).timestamp(), celsius) for hours, celsius in readings]
    return TemperatureLine(assumed_c, 3600.0, at)


def drawn(found: TemperatureLine, *coldest_c: float) -> ZoneLine:
    return draw_zone(Wanted(3, "bench", coldest_c or (13.0,)), found, SCALE, NOW, ZONE)


def strokes(outline: str) -> list[list[tuple[float, float]]]:
    """The points of each stroke of an outline."""
    return [
        [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", stroke)]
        for stroke in outline.split("M")[1:]
    ]


def test_what_was_read_and_what_is_assumed_are_drawn_apart() -> None:
    zone = drawn(line((-6, 20.0), (-5.5, 21.0), (-5, 20.0)))
    (read,), assumed = strokes(zone.read), strokes(zone.assumed)
    # Past is 12 h on 12 per cent: six hours ago lies at 6 per cent, and the last reading speaks until four.
    assert [x for x, _ in read] == [6.0, 6.5, 7.0, 8.0]
    assert [(stroke[0][0], stroke[-1][0]) for stroke in assumed] == [(0.0, 6.0), (8.0, 100.0)]
    assert len({y for stroke in assumed for _, y in stroke}) == 1
    assert min(y for _, y in read) < max(y for _, y in read) < assumed[0][0][1]


def test_a_straight_piece_bends_where_another_stretch_begins() -> None:
    """From an hour ago to an hour from now the line falls evenly, but the next hour is the longer stretch."""
    zone = drawn(TemperatureLine(12.0, 7200.0, [((NOW + h * HOUR).timestamp(), 20.0 - h) for h in (-1, 1)]))
    read = strokes(zone.read)[0]
    assert [x for x, _ in read][:3] == [11.0, 12.0, 33.0]
    assert read[1][1] == pytest.approx((read[0][1] + read[2][1]) / 2, abs=0.1)


@pytest.mark.parametrize(
    ("readings", "words", "temperature"),
    [
        ([], "never read, assumed 12 °C", "12.0 °C"),
        ([(-1 / 6, 18.4)], "last read 10 min ago", "18.4 °C"),
        ([(0, 18.4)], "read just now", "18.4 °C"),
        ([(-59 / 60, 18.4)], "last read 59 min ago", "18.4 °C"),
        ([(-1, 18.4)], "silent since 13:20, assumed 12 °C", "12.0 °C"),
        ([(-14, 18.4)], "silent since 00:20, assumed 12 °C", "12.0 °C"),
        ([(-15, 18.4)], "silent since Wed 25 Nov 23:20, assumed 12 °C", "12.0 °C"),
    ],
)
def test_the_words_say_where_the_temperature_comes_from(
    readings: list[tuple[float, float]], words: str, temperature: str
) -> None:
    zone = drawn(line(*readings))
    assert (zone.says, zone.temperature) == (words, temperature)
    assert where_from(line(*readings), NOW, ZONE) == words


def test_the_coldest_of_the_past_is_named_with_its_hour() -> None:
    assert drawn(line((-3, 15.0), (-2.5, 9.8), (-2, 15.0), (0, 20.0))).coldest == "9.8 °C at 11:50"


@pytest.mark.parametrize(
    ("celsius", "coldest_c", "warning"),
    [
        (15.0, (13.0, 15.0), ""),
        (14.9, (13.0, 15.0), "below 15 °C: what needs more does not harden"),
        (12.9, (13.0, 15.0), "below 13 °C and 15 °C: what needs more does not harden"),
    ],
)
def test_a_zone_too_cold_for_what_lies_in_it_says_so(
    celsius: float, coldest_c: tuple[float, ...], warning: str
) -> None:
    zone = drawn(line((0, celsius)), *coldest_c)
    assert zone.warning == warning
    assert [mark.label for mark in zone.marks] == [f"{mark:g} °C" for mark in coldest_c]
    assert zone.marks[0].y > zone.marks[1].y
    assert zone.marks[0].x > zone.marks[1].x


@pytest.mark.parametrize("coldest_c", [(20.0,), (13.0, 24.0), (-5.0, 40.0), (20.0, 20.5)])
def test_the_highest_label_has_room_above_its_line(coldest_c: tuple[float, ...]) -> None:
    zone = drawn(line((0, 12.0)), *coldest_c)
    assert min(mark.y for mark in zone.marks) >= 22.0


def test_a_crowd_of_readings_keeps_its_highest_and_its_lowest() -> None:
    crowd = [(-12 + n / 60, 20.0 + n % 3 / 10) for n in range(720)]
    crowd[300] = (crowd[300][0], 3.0)
    crowd[400] = (crowd[400][0], 33.0)
    points = strokes(drawn(line(*crowd)).read)[0]
    assert len(points) < 250
    heights = [y for _, y in points]
    # A degree is left free above and below.
    assert min(heights) == pytest.approx(100 / 32, abs=0.1)
    assert max(heights) == pytest.approx(3100 / 32, abs=0.1)
