"""The plot of a zone's last days, and the page that shows it: lines, gaps, midnights, the figures by day."""

import re
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from fastapi.testclient import TestClient

from shop.craft.cure import ZoneClock
from shop.craft.warmth import TemperatureLine
from shop.queries.zones import Coldest
from shop.rules.people import Role
from shop.services.zones import add_readings
from shop.web.deps import Hub
from shop.web.zone_plot import MOST_POINTS, Plot, days_asked, draw_plot
from tests.conftest import START, Hands
from tests.web.bench_shop import open_bench

NOW = datetime(2026, 3, 30, 9, 0, tzinfo=UTC)
BERLIN = ZoneInfo("Europe/Berlin")
HOUR = timedelta(hours=1)
NAMES: dict[int | None, str] = {None: "by hand", 1: "left", 2: "right"}


def clock_of(readings: dict[int | None, list[tuple[timedelta, float]]]) -> ZoneClock:
    """A clock with readings by sensor, each so long ago."""
    clock = ZoneClock(TemperatureLine(7.0, 3600))
    clock.take_in({
        sensor: [((NOW - ago).timestamp(), celsius) for ago, celsius in told]
        for sensor, told in readings.items()
    })  # fmt: skip
    return clock


def plot_of(
    readings: dict[int | None, list[tuple[timedelta, float]]],
    days: int = 3,
    coldest: tuple[Coldest, ...] = (),
) -> Plot:
    return draw_plot(clock_of(readings), NAMES, coldest, days, NOW, BERLIN)


def points(d: str) -> list[list[tuple[float, float]]]:
    """The parts of a path, each as its points."""
    return [
        [(float(x), float(y)) for x, y in re.findall(r"([\d.]+) ([\d.-]+)", part)]
        for part in d.split("M")[1:]
    ]


@pytest.mark.parametrize(
    ("text", "days"),
    [
        ("", 3),
        ("1", 1),
        ("7", 7),
        ("14", 14),
        ("15", 14),
        ("0", 1),
        ("-1", 3),
        ("x", 3),
        ("٣", 3),
        ("9" * 99, 3),
    ],
)
def test_how_many_days_an_address_asks_for(text: str, days: int) -> None:
    assert days_asked(text) == days


def test_what_was_never_read_is_assumed_all_along() -> None:
    plot = plot_of({})
    assert plot.series == ()
    (line,) = points(plot.assumed)
    assert [x for x, _ in line] == [0, 100]
    assert "Nothing was read." in plot.description
    assert {row[1:] for row in plot.rows[1:-1]} == {
        ("–", "–", "–", "23 h 00 min"),
        ("–", "–", "–", "1 d 0 h"),
    }


def test_a_gap_parts_the_line_and_is_assumed_meanwhile() -> None:
    plot = plot_of({1: [(3 * HOUR, 20.0), (HOUR / 2, 10.0)]}, days=1)
    (series,) = plot.series
    before, after = points(series.d)
    assert [x for x, _ in before] == pytest.approx([87.5, 87.5 + 100 / 24], abs=0.01)
    assert [x for x, _ in after] == pytest.approx([100 - 50 / 24, 100], abs=0.01)
    spans = [[x for x, _ in part] for part in points(plot.assumed)]
    assert spans[0] == pytest.approx([0, 87.5], abs=0.01)
    assert spans[1] == pytest.approx([87.5 + 100 / 24, 100 - 50 / 24], abs=0.01)
    assert plot.assumed_label == "assumed, 7 °C"


def test_each_sensor_has_a_line_of_its_own_and_letters_do_not_hide_each_other() -> None:
    told = [(minutes * timedelta(minutes=30), 15.0) for minutes in range(20)]
    plot = plot_of({2: told, 1: told, None: [(HOUR, 15.0)]})
    assert [(one.letter, one.name) for one in plot.series] == [
        ("A", "by hand"),
        ("B", "left"),
        ("C", "right"),
    ]
    assert len({one.pattern for one in plot.series}) == 3
    heights = sorted(one.y for one in plot.series)
    assert all(lower - upper >= 6.9 for upper, lower in pairwise(heights))


def test_however_many_readings_there_are_the_points_are_few() -> None:
    told = [(number * timedelta(seconds=10), 15 + number % 70 / 10) for number in range(14 * 8640)]
    plot = plot_of({1: told}, days=14)
    (line,) = points(plot.series[0].d)
    assert len(line) <= MOST_POINTS + 4


def test_midnights_are_the_shops_own_through_summer_time() -> None:
    plot = plot_of({1: [(HOUR, 15.0)]}, days=3)
    midnights = [datetime(2026, 3, day, hour, tzinfo=UTC) for day, hour in ((27, 23), (28, 23), (29, 22))]
    start = NOW - timedelta(days=3)
    wanted = [100 * (at - start) / timedelta(days=3) for at in midnights]
    assert [tick.at for tick in plot.ticks] == pytest.approx(wanted, abs=0.01)
    assert [tick.label for tick in plot.ticks] == ["Sat 28", "Sun 29", "Mon 30"]
    assert [row[0] for row in plot.rows] == ["Mon 30 Mar", "Sun 29 Mar", "Sat 28 Mar", "Fri 27 Mar"]
    # The day on which the clocks were put forward has an hour less.
    assert [row[4] for row in plot.rows[1:3]] == ["23 h 00 min", "1 d 0 h"]


def test_a_single_day_has_a_tick_every_six_hours_and_a_fortnight_few_labels_on_a_phone() -> None:
    assert [tick.label for tick in plot_of({}, days=1).ticks] == ["12:00", "18:00", "Mon 30", "06:00"]
    fortnight = plot_of({}, days=14).ticks
    assert len(fortnight) == 14
    assert len([tick for tick in fortnight if not tick.is_wide]) <= 4


def test_the_figures_of_a_day() -> None:
    plot = plot_of({1: [(5 * HOUR, 10.0), (4 * HOUR, 20.0)], 2: [(4 * HOUR, 21.0)]}, days=1)
    assert plot.rows[0] == ("Mon 30 Mar", "10.0", "17.5", "21.0", "9 h 00 min")


def test_the_coldest_of_adhesives_in_use_is_marked_once_for_each_figure() -> None:
    coldest = (Coldest("Riverbed", 13.0), Coldest("Slow", 13.0), Coldest("Stillwater", 15.5))
    plot = plot_of({1: [(HOUR, 20.0)]}, coldest=coldest)
    assert [mark.label for mark in plot.marks] == ["13 °C Riverbed and 1 more", "15.5 °C Stillwater"]
    assert plot.marks[0].y > plot.marks[1].y
    assert all(0 <= mark.y <= 100 for mark in plot.marks)


@pytest.fixture
def owner(hub: Hub, hands: Hands, signed_in: Callable[[Role], TestClient]) -> TestClient:
    open_bench(hub, hands)
    return signed_in(Role.OWNER)


def test_the_page_shows_the_days_that_were_asked_for(owner: TestClient, hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        told = [(START - timedelta(hours=hours), 15.0 + hours % 5) for hours in range(24 * 6)]
        add_readings(session, 1, now=hands.wall_at, readings=told)
    owner.post("/cup", data={"adhesive_id": "1", "zone_id": "1"})
    page = owner.get("/ways/zones/1").text
    assert page.count('class="midnight"') == 3
    assert '<th scope="row">Mon 2 Mar</th><td>15.0</td>' in page
    assert "13 °C Riverbed" in page
    assert owner.get("/ways/zones/1?days=7").text.count('class="midnight"') == 7
    assert owner.get("/ways/zones/1?days=many").text.count('class="midnight"') == 3
