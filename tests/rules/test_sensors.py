"""What is said of sensors: tables of cases, each with the case just beside it."""

from datetime import UTC, date, datetime, timedelta

import pytest

from shop.rules.sensors import (
    MOST_NAME,
    MOST_TOPIC,
    Arrival,
    LastReading,
    disagreement,
    fault_of_clock,
    faults_of_sensor,
    is_silent,
    retired_name,
)

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
MINUTE, SECOND = timedelta(minutes=1), timedelta(seconds=1)


@pytest.mark.parametrize(
    ("name", "topic", "field"),
    [
        ("", None, "name"),
        ("x" * (MOST_NAME + 1), None, "name"),
        ("probe", "", "topic"),
        ("probe", "t" * (MOST_TOPIC + 1), "topic"),
        ("probe", "shop/+/t", "topic"),
        ("probe", "shop/#", "topic"),
        ("probe", "$SYS/uptime", "topic"),
        ("probe", "shop/\n", "topic"),
    ],
)
def test_a_sensor_that_cannot_be(name: str, topic: str | None, field: str) -> None:
    assert list(faults_of_sensor(name, topic)) == [field]


@pytest.mark.parametrize("topic", [None, "t", "t" * MOST_TOPIC, "shop/bench $1/°C"])
def test_a_sensor_that_can_be(topic: str | None) -> None:
    assert faults_of_sensor("x" * MOST_NAME, topic) == {}


def test_an_ended_sensor_leaves_its_name_to_another_however_often_on_one_day() -> None:
    day, taken = date(2026, 3, 2), ["probe"]
    for expected in (
        "probe (ended 2026-03-02)",
        "probe (ended 2026-03-02, 2)",
        "probe (ended 2026-03-02, 3)",
    ):
        assert retired_name("probe", day, taken) == expected
        taken.append(expected)
    assert len(retired_name("x" * MOST_NAME, day, [])) <= 60


@pytest.mark.parametrize(
    ("last_at", "silent"),
    [(None, True), (NOW - 60 * MINUTE + SECOND, False), (NOW - 60 * MINUTE, True), (NOW, False)],
)
def test_silence_begins_with_the_gap(last_at: datetime | None, silent: bool) -> None:
    assert is_silent(last_at, NOW, 60 * MINUTE) is silent


def arrivals(*late_minutes: float) -> list[Arrival]:
    """Readings that came every five minutes, each so late."""
    came = [NOW + 5 * number * MINUTE for number in range(len(late_minutes))]
    return [
        Arrival(entered - minutes * MINUTE, entered)
        for entered, minutes in zip(came, late_minutes, strict=True)
    ]


@pytest.mark.parametrize(
    ("late", "slow"),
    [
        ((), None),
        ((60, 60), None),
        ((60, 60, 60), 60),
        ((0, 60, 60.2, 60.1), 60),
        ((60, 60, 60, 0), None),
        ((60.5, 61, 62), 60),
        ((56, 57, 58), 60),
        ((120, 121, 124), 120),
        ((15, 15, 15), None),
        ((15.1, 15.1, 15.1), 15),
        ((23, 24, 27), 23),
        ((23, 24, 28.1), None),
        ((90, 90, 91), 90),
        ((14, 60, 60), None),
        # A backlog that is sent one by one: each comes less late than the one before.
        ((60, 55, 50), None),
        ((-60, -60, -60), None),
    ],
)
def test_a_clock_is_doubted_when_three_in_a_row_say_the_same(
    late: tuple[float, ...], slow: int | None
) -> None:
    said = fault_of_clock(arrivals(*late))
    if slow is None:
        assert said == ""
    else:
        assert said == (
            f"its clock seems {slow} min slow: set it; until then its readings count for the wrong time"
        )


@pytest.mark.parametrize(
    ("ages", "celsius", "apart"),
    [
        ((0, 0), (20.0, 17.0), False),
        ((0, 0), (20.1, 17.0), True),
        ((0, 60), (25.0, 17.0), True),
        ((0, 61), (25.0, 17.0), False),
        ((0,), (25.0,), False),
        ((), (), False),
        ((0, 5, 10), (20.0, 19.0, 16.9), True),
    ],
)
def test_two_that_contradict_each_other(
    ages: tuple[int, ...], celsius: tuple[float, ...], apart: bool
) -> None:
    latest = [
        LastReading(f"probe {number}", NOW - age * MINUTE, read)
        for number, (age, read) in enumerate(zip(ages, celsius, strict=True))
    ]
    assert bool(disagreement(latest, NOW)) is apart


def test_a_contradiction_is_said_with_both_figures() -> None:
    latest = [LastReading("left", NOW, 21.04), LastReading("right", NOW, 16.5)]
    assert disagreement(latest, NOW) == (
        "“right” says 16.5 °C and “left” says 21.0 °C: "
        "the colder one counts for every cure, the warmer one for a pot life."
    )
