"""Zones and readings: what no thermometer of a shop says is refused, and the cure clock hears of the rest."""

from datetime import datetime, timedelta
from math import inf, nan
from typing import Any

import pytest
from sqlalchemy.orm import Session

from shop.queries.cure_clock import CureClock
from shop.queries.zones import ASKED_AT_ONCE, latest_readings, zone_record, zone_view, zones_after
from shop.rules.refusals import BadInput, NotOnFile
from shop.services.sensors import add_sensor, end_sensor
from shop.services.zones import (
    MOST_READINGS,
    add_reading,
    add_readings,
    add_zone,
    change_zone,
    hear_sensor,
)
from tests.conftest import START

SECOND, MINUTE = timedelta(seconds=1), timedelta(minutes=1)
TWO_YEARS = timedelta(days=730)


@pytest.fixture
def bench(session: Session) -> int:
    """The id of a zone that is taken to be at 16 °C."""
    return add_zone(session, now=START, name="bench", assumed_c=16.0).id


def temperature(session: Session, clock: CureClock, zone_id: int, at: datetime = START) -> float:
    return clock.warmth(session).zones[zone_id].clock.temperature_at(at.timestamp())


@pytest.mark.usefixtures("bench")
@pytest.mark.parametrize(
    ("facts", "field"),
    [
        ({"name": ""}, "name"),
        ({"name": "   "}, "name"),
        ({"name": "x" * 61}, "name"),
        ({"name": "bench"}, "name"),
        ({"name": " bench "}, "name"),
        ({"assumed_c": -40.1}, "assumed_c"),
        ({"assumed_c": 80.1}, "assumed_c"),
        ({"assumed_c": nan}, "assumed_c"),
        ({"assumed_c": inf}, "assumed_c"),
    ],
)
def test_a_zone_that_cannot_be_is_refused_beside_its_field(
    session: Session, facts: dict[str, Any], field: str
) -> None:
    told: dict[str, Any] = {"name": "loft", "assumed_c": 9.0, **facts}
    with pytest.raises(BadInput) as refused:
        add_zone(session, now=START, **told)
    assert list(refused.value.errors) == [field]
    assert [zone.name for zone in zones_after(session, 0, 9)] == ["bench"]


@pytest.mark.parametrize("assumed_c", [-40.0, 80.0])
def test_the_last_temperature_that_can_be_is_assumed(session: Session, assumed_c: float) -> None:
    zone = add_zone(session, now=START, name=" loft ", assumed_c=assumed_c)
    assert zone_view(session, zone.id) == (zone.id, "loft", assumed_c, None)


@pytest.mark.parametrize(
    ("at", "celsius", "field"),
    [
        (START + 60 * SECOND + timedelta(microseconds=1), 20.0, "at"),
        (START - TWO_YEARS - SECOND, 20.0, "at"),
        (START, -40.1, "celsius"),
        (START, 80.1, "celsius"),
        (START, nan, "celsius"),
    ],
)
def test_a_reading_that_cannot_be_is_refused_with_all_that_came_with_it(
    session: Session, bench: int, at: datetime, celsius: float, field: str
) -> None:
    with pytest.raises(BadInput) as refused:
        add_readings(session, bench, now=START, readings=[(START, 20.0), (at, celsius)])
    assert list(refused.value.errors) == [f"readings.1.{field}"]
    with pytest.raises(BadInput) as refused:
        add_reading(session, bench, now=START, at=at, celsius=celsius)
    assert list(refused.value.errors) == [field]
    assert latest_readings(session, bench, 9) == []
    assert zone_record(session, bench).readings_version == 1


@pytest.mark.parametrize(
    ("at", "celsius"),
    [(START + 60 * SECOND, 20.0), (START - TWO_YEARS, 20.0), (START, -40.0), (START, 80.0)],
)
def test_the_last_reading_that_can_be_is_taken_in(
    session: Session, bench: int, at: datetime, celsius: float
) -> None:
    assert add_readings(session, bench, now=START, readings=[(at, celsius)]) == (1, 0)
    assert latest_readings(session, bench, 9) == [(at, celsius, None)]


@pytest.mark.parametrize(
    ("many", "taken"), [(0, False), (1, True), (MOST_READINGS, True), (MOST_READINGS + 1, False)]
)
def test_readings_come_in_batches_of_bounded_size(
    session: Session, bench: int, many: int, taken: bool
) -> None:
    readings = [(START - number * SECOND, 20.0) for number in range(many)]
    if taken:
        assert add_readings(session, bench, now=START, readings=readings) == (many, 0)
        return
    with pytest.raises(BadInput) as refused:
        add_readings(session, bench, now=START, readings=readings)
    assert list(refused.value.errors) == ["readings"]


def test_each_batch_and_each_change_tells_kept_sums_that_they_are_stale(session: Session, bench: int) -> None:
    versions = [zone_record(session, bench).readings_version]
    add_readings(session, bench, now=START, readings=[(START, 20.0), (START - MINUTE, 19.0)])
    versions.append(zone_record(session, bench).readings_version)
    add_reading(session, bench, now=START, at=START, celsius=21.0)
    versions.append(zone_record(session, bench).readings_version)
    change_zone(session, bench, assumed_c=12.0)
    versions.append(zone_record(session, bench).readings_version)
    assert versions == sorted(set(versions))


def test_the_clock_goes_by_the_readings_and_else_by_what_is_assumed(session: Session, bench: int) -> None:
    clock = CureClock()
    assert temperature(session, clock, bench) == 16.0
    add_readings(session, bench, now=START, readings=[(START, 20.0), (START - 30 * MINUTE, 18.0)])
    assert temperature(session, clock, bench, START - 15 * MINUTE) == 19.0
    assert temperature(session, clock, bench, START + 59 * MINUTE) == 20.0
    assert temperature(session, clock, bench, START + 61 * MINUTE) == 16.0
    change_zone(session, bench, assumed_c=11.0)
    assert temperature(session, clock, bench, START + 61 * MINUTE) == 11.0
    assert temperature(session, clock, bench, START - 15 * MINUTE) == 19.0


def test_of_two_readings_at_one_instant_the_later_entry_counts(session: Session, bench: int) -> None:
    clock = CureClock()
    add_readings(session, bench, now=START, readings=[(START, 20.0)])
    assert temperature(session, clock, bench) == 20.0
    add_reading(session, bench, now=START, at=START, celsius=14.0)
    assert temperature(session, clock, bench) == 14.0
    assert temperature(session, CureClock(), bench) == 14.0


def test_a_reading_found_late_is_newest_by_its_own_time(session: Session, bench: int) -> None:
    add_readings(session, bench, now=START, readings=[(START, 20.0)])
    add_readings(session, bench, now=START, readings=[(START - MINUTE, 18.0)])
    assert zone_view(session, bench).last_read_at == START
    assert latest_readings(session, bench, 1) == [(START, 20.0, None)]


def test_a_zone_keeps_what_is_not_changed(session: Session, bench: int) -> None:
    add_zone(session, now=START, name="loft", assumed_c=9.0)
    change_zone(session, bench, name="long bench")
    assert zone_view(session, bench)[:3] == (bench, "long bench", 16.0)
    change_zone(session, bench, assumed_c=0.0)
    assert zone_view(session, bench)[:3] == (bench, "long bench", 0.0)
    with pytest.raises(BadInput) as refused:
        change_zone(session, bench, name="loft")
    assert list(refused.value.errors) == ["name"]


def test_a_zone_that_is_not_on_file(session: Session) -> None:
    with pytest.raises(NotOnFile):
        change_zone(session, 7, name="loft")
    with pytest.raises(NotOnFile):
        add_readings(session, 7, now=START, readings=[(START, 20.0)])


def test_what_is_on_file_already_is_not_stored_again(session: Session, bench: int) -> None:
    told = [(START, 20.0), (START - MINUTE, 19.0)]
    assert add_readings(session, bench, now=START, readings=told) == (2, 0)
    before = zone_record(session, bench).readings_version
    assert add_readings(session, bench, now=START, readings=[*told, told[0]]) == (0, 3)
    assert zone_record(session, bench).readings_version == before
    assert add_reading(session, bench, now=START, at=START, celsius=20.0) == (0, 1)
    assert len(latest_readings(session, bench, 9)) == 2


def test_what_was_put_right_since_is_news_again(session: Session, bench: int) -> None:
    clock = CureClock()
    for celsius in (20.0, 14.0, 20.0):
        assert add_reading(session, bench, now=START, at=START, celsius=celsius) == (1, 0)
    assert temperature(session, clock, bench) == 20.0
    told = [(START, 18.0), (START, 19.0), (START, 18.0)]
    assert add_readings(session, bench, now=START, readings=told) == (3, 0)
    assert temperature(session, clock, bench) == 18.0


def test_what_another_sensor_read_is_no_repetition(session: Session, bench: int) -> None:
    for name in ("left", "right"):
        add_sensor(session, now=START, zone_id=bench, name=name)
    for sensor in ("", "left", "right"):
        assert add_readings(session, bench, now=START, readings=[(START, 20.0)], sensor=sensor) == (1, 0)
    assert {reading.sensor for reading in latest_readings(session, bench, 9)} == {None, "left", "right"}
    assert add_readings(session, bench, now=START, readings=[(START, 20.0)], sensor="left") == (0, 1)


def test_more_repetitions_than_are_asked_for_at_once_are_all_known(session: Session, bench: int) -> None:
    told = [(START - number * SECOND, 20.0) for number in range(2 * ASKED_AT_ONCE + 1)]
    add_readings(session, bench, now=START, readings=told)
    assert add_readings(session, bench, now=START, readings=told) == (0, len(told))


def test_a_sensor_that_does_not_hang_in_the_zone_reads_nothing_there(session: Session, bench: int) -> None:
    loft = add_zone(session, now=START, name="loft", assumed_c=9.0).id
    probe = add_sensor(session, now=START, zone_id=loft, name="probe")
    for name, zone_id in (("probe", bench), ("nobody", bench), ("Probe", loft)):
        with pytest.raises(BadInput) as refused:
            add_readings(session, zone_id, now=START, readings=[(START, 20.0)], sensor=name)
        assert list(refused.value.errors) == ["sensor"]
    assert hear_sensor(session, probe.id, now=START, at=START, celsius=9.5) == (1, 0)
    assert latest_readings(session, loft, 9) == [(START, 9.5, "probe")]
    with pytest.raises(BadInput):
        hear_sensor(session, probe.id, now=START, at=START, celsius=95.0)
    end_sensor(session, probe.id, now=START)
    with pytest.raises(NotOnFile):
        hear_sensor(session, probe.id, now=START, at=START, celsius=9.0)


def test_a_file_may_bring_more_than_a_post(session: Session, bench: int) -> None:
    told = [(START - number * SECOND, 20.0) for number in range(MOST_READINGS + 1)]
    taken = add_readings(session, bench, now=START, readings=told, source="file")
    assert taken == (MOST_READINGS + 1, 0)
