"""History must not cost: no page of the bench walks it, and no page asks more for more rods."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import event

from shop.rules.people import Role
from shop.services.builds import take_on_build
from shop.services.zones import add_reading
from shop.web.deps import Hub
from tests.api.filled import CUSTOMER, SEQUENCE, fill
from tests.conftest import Hands

Statement = tuple[str, Any]
# Tables that grow with every rod; the few open ones must be reached by an index.
HISTORY = (
    "builds", "events", "cures", "cure_moves", "mixes", "readings", "customers", "puddle_checks",
    "suspicions", "sheet_changes", "specs", "promises", "messages", "quotes", "quote_answers",
    "payments", "photos", "mails",
    "build_parts", "stock_moves", "intakes", "returns",
)  # fmt: skip


@contextmanager
def asked(hub: Hub) -> Iterator[list[Statement]]:
    """The statements that are sent to the database inside the block."""
    statements: list[Statement] = []

    def note(_c: Any, _cursor: Any, text: str, values: Any, _context: Any, _many: bool) -> None:
        statements.append((text, values))

    event.listen(hub.database.engine, "before_cursor_execute", note)
    yield statements
    event.remove(hub.database.engine, "before_cursor_execute", note)


@pytest.fixture
def bench(hub: Hub, hands: Hands, signed_in: Any) -> TestClient:
    with hub.database.writing(hands.wall_at) as session:
        fill(session, hands.wall_at)
    client: TestClient = signed_in(Role.OWNER)
    return client


def take_on(hub: Hub, hands: Hands, rods: int) -> None:
    with hub.database.writing(hands.wall_at) as session:
        for _ in range(rods):
            take_on_build(
                session, now=hands.wall_at, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="7 ft",
                rod_kind="casting", sequence_id=SEQUENCE,
            )  # fmt: skip


@pytest.mark.parametrize(
    "path",
    [
        "/",
        "/setting",
        "/cup",
        "/desk",
        "/desk/finished",
        "/desk/enquiries",
        "/desk/customers",
        "/desk/money",
        "/desk/promises",
        "/desk/messages",
        "/desk/outbox",
        "/desk/repairs",
        "/desk/returns",
        "/shelf/stock",
        "/shelf/purchases",
        "/ways/zones/1",
    ],
)
def test_more_rods_ask_for_no_more_statements(bench: TestClient, hub: Hub, hands: Hands, path: str) -> None:
    counts = []
    for rods in (2, 10):
        take_on(hub, hands, rods)
        bench.get(path)
        with hub.database.writing(hands.forward(minutes=2)):
            pass
        with asked(hub) as statements:
            assert bench.get(path).status_code == 200
        counts.append(len(statements))
    assert counts[0] == counts[1] > 0


@pytest.mark.parametrize(
    "path",
    [
        "/",
        "/builds/26-001",
        "/builds/26-001/photos",
        "/builds/26-001/news",
        "/builds/26-001/messages",
        "/setting",
        "/cup",
        "/mixes/1",
        "/desk",
        "/desk/enquiries",
        "/builds/26-001/spec",
        "/desk/promises",
        "/desk/messages",
        "/desk/outbox",
        "/desk/repairs",
        "/desk/returns",
        "/builds/26-001/as-built",
        "/builds/26-001/came-back",
        "/builds/26-001/parts",
        "/shelf/stock",
        "/shelf/purchases",
        "/shelf/deliveries",
        "/ways/zones/1",
        "/shelf/adhesives/1",
    ],
)
def test_no_page_of_the_bench_walks_the_history(bench: TestClient, hub: Hub, hands: Hands, path: str) -> None:
    take_on(hub, hands, 3)
    bench.post("/cup", data={"adhesive_id": "1", "zone_id": "1"})
    bench.post("/mixes/1/cures", data={"build": "26-001", "place": "rear grip"})
    bench.get(path)
    with hub.database.writing(hands.forward(seconds=1)):
        pass
    with asked(hub) as statements:
        assert bench.get(path, headers={"cache-control": "no-cache"}, params={"n": "1"}).status_code == 200
    walked = []
    with hub.database.engine.connect() as connection:
        for text, values in statements:
            if not text.startswith("SELECT"):
                continue
            plan = connection.exec_driver_sql("EXPLAIN QUERY PLAN " + text, values)
            steps = [str(row[3]) for row in plan]
            walked += [(step, text) for step in steps if re.fullmatch(rf"SCAN ({'|'.join(HISTORY)})", step)]
    assert walked == []
    assert [text for text, _ in statements if text.startswith("SELECT")], statements


def test_a_further_reading_is_found_without_walking_those_of_its_zone(
    bench: TestClient, hub: Hub, hands: Hands
) -> None:
    for _ in range(2):
        bench.get("/")
        with hub.database.writing(hands.forward(minutes=1)) as session:
            add_reading(session, 1, now=hands.wall_at, at=hands.wall_at, celsius=18.0)
    with asked(hub) as statements:
        bench.get("/")
    asking = [(text, values) for text, values in statements if "FROM readings" in text]
    plans = []
    with hub.database.engine.connect() as connection:
        for text, values in asking:
            plan = connection.exec_driver_sql("EXPLAIN QUERY PLAN " + text, values)
            plans += [str(row[3]) for row in plan if "readings" in str(row[3])]
    # The last reading of each zone, and, asked once, what is new.
    assert set(plans) == {
        "SEARCH readings USING COVERING INDEX ix_readings_zone_id_at (zone_id=?)",
        "SEARCH readings USING INTEGER PRIMARY KEY (rowid>?)",
    }
    assert sum("rowid>?" in plan for plan in plans) == 1
