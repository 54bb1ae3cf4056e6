"""What a million readings on file cost In hand beside ten thousand: its first answer, and the next ones.

Both shops have the same sixty rods, and a sensor that has spoken once a minute up to now. A next answer is
one after a further reading, at another address each time, so that no kept page answers.
"""

import statistics
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import NamedTuple

from fastapi.testclient import TestClient
from sqlalchemy import delete, insert

from shop.app import create_app, open_hub
from shop.clock import Clock
from shop.db.zones import Reading
from shop.services.zones import add_reading
from shop.web.deps import Hub
from tests.benchmarks.data import TOKEN, write
from tests.conftest import quick_settings

FEW, MANY = 10_000, 1_000_000
AT_ONCE = 50_000
TURNS = 40
STARTS = 5
ZONE = 1


class Beside(NamedTuple):
    """Milliseconds for the first answer of a process and for a next one, with few readings and with many."""

    first_few_ms: float
    first_many_ms: float
    next_few_ms: float
    next_many_ms: float


def measure(folder: Path) -> Beside:
    """Write both shops and measure them in turns."""
    few, many = _written(folder / "few", FEW), _written(folder / "many", MANY)
    firsts = [(_first_ms(few), _first_ms(many)) for _ in range(STARTS)]
    nexts = _next_ms(few, many)
    first = [statistics.median(side) for side in zip(*firsts, strict=True)]
    return Beside(first[0], first[1], nexts[0], nexts[1])


def _written(folder: Path, count: int) -> Path:
    write(folder, finished=100)
    hub, now = _opened(folder), datetime.now(UTC)
    for start in range(0, count, AT_ONCE):
        rows = [
            {
                "zone_id": ZONE, "at": now - timedelta(minutes=n), "celsius": 18.0 + n % 50 / 10,
                "entered_at": now, "source": "api",
            }
            for n in range(start, min(start + AT_ONCE, count))
        ]  # fmt: skip
        with hub.database.writing(now) as session:
            if start == 0:
                session.execute(delete(Reading))
            session.connection().execute(insert(Reading), rows)
    hub.database.close()
    return folder


def _opened(folder: Path) -> Hub:
    return open_hub(quick_settings(folder), Clock(lambda: datetime.now(UTC), time.monotonic))


def _client(hub: Hub) -> TestClient:
    client = TestClient(create_app(hub), base_url="https://testserver")
    client.cookies.set("tackfree", TOKEN)
    return client


def _ms(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    return (time.perf_counter() - began) * 1000


def _ask(client: TestClient, address: str) -> None:
    answer = client.get(address)
    assert answer.status_code == 200
    assert "26-001" in answer.text


def _first_ms(folder: Path) -> float:
    hub = _opened(folder)
    with _client(hub) as client:
        client.get("/sums")  # so that what every page shares is read
        taken = _ms(lambda: _ask(client, "/"))
    hub.database.close()
    return taken


def _next_ms(*folders: Path) -> list[float]:
    hubs = [_opened(folder) for folder in folders]
    clients = [_client(hub) for hub in hubs]
    times: list[list[float]] = [[] for _ in hubs]
    for turn in range(TURNS + 1):
        for hub, client, taken in zip(hubs, clients, times, strict=True):
            now = datetime.now(UTC)
            with hub.database.writing(now) as session:
                add_reading(session, ZONE, now=now, at=now, celsius=18.0 + turn % 5)
            took = _ms(lambda asking=client, n=turn: _ask(asking, f"/?n={n}"))  # type: ignore[misc]
            if turn:  # the first warms both up
                taken.append(took)
    for hub in hubs:
        hub.database.close()
    return [statistics.median(taken) for taken in times]
