"""Turners must not cost: a fixed number of statements however many rods turn, and no walk of the history."""

import re
from typing import Any

import pytest
from fastapi.testclient import TestClient

from shop.rules.people import Role
from shop.services.turners import change_turner, put_on
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.queries.test_plans import HISTORY, asked, take_on
from tests.turner_shop import RODS, TURNER, bench_at, fill_with_turner, lay_coat

PLACES = 40
OWN = ("turner_stays", "turner_checks", "turner_stops", "stopped_rods")
PATHS = ["/", "/turner", "/builds/26-001", "/setting"]


@pytest.fixture
def bench(hub: Hub, hands: Hands, signed_in: Any) -> TestClient:
    with hub.database.writing(hands.wall_at) as session:
        fill_with_turner(session, hands.wall_at)
        change_turner(session, bench_at(session, hands.wall_at), TURNER, places=PLACES)
    client: TestClient = signed_in(Role.OWNER)
    return client


def put_coated_on(hub: Hub, hands: Hands, numbers: list[str], first_place: int) -> None:
    with hub.database.writing(hands.wall_at) as session:
        at_bench = bench_at(session, hands.wall_at)
        for place, number in enumerate(numbers, first_place):
            lay_coat(session, at_bench, number)
            put_on(session, at_bench, TURNER, build=number, place_number=place)


def statements_of(bench: TestClient, hub: Hub, hands: Hands, path: str) -> list[tuple[str, Any]]:
    bench.get(path)
    with hub.database.writing(hands.forward(minutes=2)):
        pass
    with asked(hub) as statements:
        assert bench.get(path).status_code == 200
    return statements


@pytest.mark.parametrize("is_full", [False, True])
@pytest.mark.parametrize("path", PATHS)
def test_more_rods_on_the_turner_ask_for_no_more_statements(
    bench: TestClient, hub: Hub, hands: Hands, path: str, is_full: bool
) -> None:
    counts = []
    put_coated_on(hub, hands, list(RODS[:2]), 1)
    take_on(hub, hands, 8)
    for numbers, place in (([], 3), ([f"26-{number:03d}" for number in range(5, 13)], 3)):
        put_coated_on(hub, hands, numbers, place)
        if is_full:
            with hub.database.writing(hands.wall_at) as session:
                change_turner(session, bench_at(session, hands.wall_at), TURNER, places=2 + len(numbers))
        counts.append(len(statements_of(bench, hub, hands, path)))
        if is_full:
            with hub.database.writing(hands.wall_at) as session:
                change_turner(session, bench_at(session, hands.wall_at), TURNER, places=PLACES)
    assert counts[0] == counts[1] > 0


@pytest.mark.parametrize("path", PATHS)
def test_no_page_walks_what_was_on_turners(bench: TestClient, hub: Hub, hands: Hands, path: str) -> None:
    put_coated_on(hub, hands, list(RODS[:2]), 1)
    bench.post("/turner/1/stop", data={"ago": "0"})
    statements = statements_of(bench, hub, hands, path)
    assert any("turner_stays" in text for text, _ in statements)
    walked = []
    with hub.database.engine.connect() as connection:
        for text, values in statements:
            if not text.startswith("SELECT"):
                continue
            steps = [str(row[3]) for row in connection.exec_driver_sql("EXPLAIN QUERY PLAN " + text, values)]
            tables = "|".join((*HISTORY, *OWN))
            walked += [(step, text) for step in steps if re.fullmatch(rf"SCAN ({tables})", step)]
    assert walked == []
