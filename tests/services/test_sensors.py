"""Sensors: a name and a topic of their own; moved or ended, what they read stays where it was read."""

from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy.orm import Session

from shop.queries.sensors import LOOKED_THROUGH, lone_arrivals, sensor_topics, sensor_view, sensors_in
from shop.queries.zones import latest_readings
from shop.rules.refusals import BadInput, NotOnFile, Overtaken
from shop.services.sensors import add_sensor, change_sensor, end_sensor, move_sensor
from shop.services.zones import add_readings, add_zone, hear_sensor
from tests.conftest import START

MINUTE = timedelta(minutes=1)
BENCH, LOFT = 1, 2


@pytest.fixture(autouse=True)
def zones(session: Session) -> None:
    for name in ("bench", "loft"):
        add_zone(session, now=START, name=name, assumed_c=16.0)


@pytest.fixture
def probe(session: Session) -> int:
    return add_sensor(session, now=START, zone_id=BENCH, name=" probe ", topic=" shop/t ").id


def test_a_sensor_is_kept(session: Session, probe: int) -> None:
    view = sensor_view(session, probe)
    assert (view.name, view.zone, view.topic, view.last_read_at) == ("probe", "bench", "shop/t", None)
    add_readings(session, BENCH, now=START, readings=[(START, 20.0)], sensor="probe")
    add_readings(session, BENCH, now=START, readings=[(START - MINUTE, 19.0)], sensor="probe")
    add_readings(session, BENCH, now=START, readings=[(START, 5.0)])
    view = sensor_view(session, probe)
    assert (view.last_read_at, view.last_celsius) == (START, 20.0)


@pytest.mark.parametrize(
    ("facts", "field"),
    [
        ({"name": ""}, "name"),
        ({"name": "probe"}, "name"),
        ({"name": " probe "}, "name"),
        ({"topic": "shop/t"}, "topic"),
        ({"topic": "shop/#"}, "topic"),
    ],
)
def test_a_sensor_that_cannot_be_is_refused(
    session: Session, probe: int, facts: dict[str, Any], field: str
) -> None:
    told: dict[str, Any] = {"name": "other", "topic": "shop/other", **facts}
    with pytest.raises(BadInput) as refused:
        add_sensor(session, now=START, zone_id=LOFT, **told)
    assert list(refused.value.errors) == [field]
    other = add_sensor(session, now=START, zone_id=LOFT, name="other", topic="shop/other")
    with pytest.raises(BadInput) as refused:
        change_sensor(session, other.id, **facts)
    assert list(refused.value.errors) == [field]
    assert sensor_view(session, probe).name == "probe"


def test_a_sensor_is_changed_by_what_is_told(session: Session, probe: int) -> None:
    change_sensor(session, probe, name="left probe")
    assert sensor_view(session, probe)[1:5] == ("left probe", BENCH, "bench", "shop/t")
    change_sensor(session, probe, topic=None)
    assert sensor_view(session, probe)[1:5] == ("left probe", BENCH, "bench", None)
    version = sensor_view(session, probe).version
    change_sensor(session, probe, version=version, topic="shop/u")
    with pytest.raises(Overtaken):
        change_sensor(session, probe, version=version, topic="shop/v")


def test_a_moved_sensor_leaves_what_it_read_behind(session: Session, probe: int) -> None:
    hear_sensor(session, probe, now=START, at=START, celsius=20.0)
    moved = move_sensor(session, probe, now=START, zone_id=LOFT)
    assert (moved.name, moved.topic, moved.zone_id) == ("probe", "shop/t", LOFT)
    assert latest_readings(session, LOFT, 9) == []
    assert [sensor.name for sensor in sensors_in(session, BENCH)] == ["probe (ended 2026-03-02)"]
    assert [read.celsius for read in latest_readings(session, BENCH, 9)] == [20.0]
    assert sensor_topics(session) == [("shop/t", moved.id)]
    back = move_sensor(session, moved.id, now=START, zone_id=BENCH)
    assert [sensor.name for sensor in sensors_in(session, LOFT)] == ["probe (ended 2026-03-02, 2)"]
    with pytest.raises(BadInput):
        move_sensor(session, back.id, now=START, zone_id=BENCH)


def test_an_ended_sensor_is_not_touched_again(session: Session, probe: int) -> None:
    end_sensor(session, probe, now=START)
    assert (sensor_view(session, probe).ended_at, sensor_topics(session)) == (START, [])
    with pytest.raises(Overtaken):
        end_sensor(session, probe, now=START)
    with pytest.raises(Overtaken):
        change_sensor(session, probe, name="left")
    with pytest.raises(Overtaken):
        move_sensor(session, probe, now=START, zone_id=LOFT)
    assert add_sensor(session, now=START, zone_id=BENCH, name="probe", topic="shop/t").id != probe


def test_what_is_not_on_file(session: Session, probe: int) -> None:
    with pytest.raises(NotOnFile):
        add_sensor(session, now=START, zone_id=9, name="other")
    with pytest.raises(NotOnFile):
        move_sensor(session, probe, now=START, zone_id=9)
    with pytest.raises(NotOnFile):
        end_sensor(session, 9, now=START)
    assert sensor_view(session, probe).ended_at is None


def test_only_what_came_alone_tells_of_a_clock(session: Session, probe: int) -> None:
    def come(minutes: int, *late: int, source: Any = "api") -> None:
        now = START + minutes * MINUTE
        told = [(now - minute * MINUTE, 20.0) for minute in late]
        add_readings(session, BENCH, now=now, readings=told, sensor="probe", source=source)

    assert lone_arrivals(session, BENCH) == {}
    come(0, 60)
    come(5, 60, 61, 62)
    come(10, 60)
    come(15, 60, source="file")
    come(20, 60)
    came = lone_arrivals(session, BENCH)[probe]
    assert [(arrival.entered_at - START) // MINUTE for arrival in came] == [0, 10, 20]
    assert {arrival.entered_at - arrival.at for arrival in came} == {60 * MINUTE}
    for minutes in range(100, 100 + LOOKED_THROUGH):
        come(minutes, 0)
    assert len(lone_arrivals(session, BENCH)[probe]) == LOOKED_THROUGH
    end_sensor(session, probe, now=START)
    assert lone_arrivals(session, BENCH) == {}
