"""However many readings are on file, what a zone's page asks of them goes by an index."""

import re
from datetime import timedelta
from typing import Any

import pytest

from shop.queries.sensors import lone_arrivals, sensor_view, sensors_in
from shop.queries.zones import latest_readings, readings_at
from shop.services.sensors import add_sensor
from shop.services.zones import add_readings, add_zone
from shop.web.deps import Hub
from tests.conftest import START, Hands
from tests.queries.test_plans import asked

SENSORS = 3
READINGS = 2000
TWO = (START, START - timedelta(minutes=1))
BY_INDEX = re.compile(r"SEARCH readings USING (COVERING )?INDEX ix_readings_(zone|sensor)_id_at \(")


@pytest.fixture
def busy(hub: Hub, hands: Hands) -> Hub:
    """A zone with many readings by several sensors and by nobody, known to the planner as many."""
    with hub.database.writing(hands.wall_at) as session:
        add_zone(session, now=START, name="bench", assumed_c=16.0)
        told = [(START - timedelta(minutes=minutes), 20.0) for minutes in range(READINGS)]
        for number in range(SENSORS):
            add_sensor(session, now=START, zone_id=1, name=f"probe {number}")
            add_readings(session, 1, now=START, readings=told, sensor=f"probe {number}")
        add_readings(session, 1, now=START, readings=told)
    return hub


@pytest.mark.parametrize("analysed", [False, True])
@pytest.mark.parametrize(
    ("ask", "sorts"),
    [
        (lambda session: sensors_in(session, 1), True),
        (lambda session: sensor_view(session, 1), False),
        (lambda session: lone_arrivals(session, 1), True),
        (lambda session: latest_readings(session, 1, 12), False),
        (lambda session: readings_at(session, 1, 1, TWO), True),
        (lambda session: readings_at(session, 1, None, TWO), True),
    ],
    ids=["sensors", "one", "arrivals", "latest", "known", "known by hand"],
)
def test_readings_are_reached_by_an_index_and_in_its_order(
    busy: Hub, ask: Any, sorts: bool, analysed: bool
) -> None:
    with busy.database.engine.connect() as connection:
        if analysed:
            connection.exec_driver_sql("ANALYZE")
        with busy.database.reading() as session, asked(busy) as statements:
            assert ask(session)
        ((text, values),) = [sent for sent in statements if sent[0].startswith("SELECT")]
        plan = [str(row[3]) for row in connection.exec_driver_sql("EXPLAIN QUERY PLAN " + text, values)]
    steps = [step for step in plan if re.search(r"\breadings\b", step)]
    assert steps
    assert [step for step in steps if not BY_INDEX.match(step)] == []
    # Sorting is for the few that were found; the latest of many must come in the index's own order.
    assert sorts or "USE TEMP B-TREE FOR ORDER BY" not in plan
