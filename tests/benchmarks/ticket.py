"""What the figures of a bench ticket cost beside the page that shows them.

The page is asked for with its figures kept, at another address each time, so that no kept page answers; so
its time is that of reading, of drawing and of rendering. The figures are worked out anew each time.
"""

import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from fastapi.testclient import TestClient

from seed_demo import PASSWORD, fill
from shop.app import create_app, open_hub
from shop.clock import Clock
from shop.craft.flex.fitting import fitted_to
from shop.queries.builds import open_builds
from shop.queries.make_ups import MakeUpView, latest_make_up
from shop.rules.bench_figures.sheet import bench_sheet
from shop.rules.make_up import MakeUp
from shop.web.deps import Hub
from tests.conftest import quick_settings

TURNS = 40
KIND = "casting"


class Ticket(NamedTuple):
    """Milliseconds: the figures of a whole rod worked out, and the page without working them out."""

    figures_ms: float
    page_ms: float
    figures: int


def measure() -> Ticket:
    """Measure both on a casting rod of the demo."""
    with tempfile.TemporaryDirectory() as folder:
        hub = open_hub(quick_settings(Path(folder)), Clock(lambda: datetime.now(UTC), time.monotonic))
        owner, _password, _path = fill(hub, hub.clock.now())
        number, view = _rod(hub)
        figures_ms = _median_ms(lambda _turn: _worked_out(view.value))
        with TestClient(create_app(hub), base_url="https://testserver") as client:
            client.post("/sign-in", data={"name": owner, "password": PASSWORD})
            page_ms = _median_ms(lambda turn: _page(client, f"/builds/{number}/ticket?n={turn}"))
        hub.database.close()
    return Ticket(figures_ms, page_ms, len(bench_sheet(view.value).figures))


def _rod(hub: Hub) -> tuple[str, MakeUpView]:
    with hub.database.reading() as session:
        for build in open_builds(session):
            view = latest_make_up(session, build.id)
            if build.rod_kind == KIND and view is not None:
                return build.number, view
    raise LookupError("The demo has no casting rod that is laid down.")


def _worked_out(value: MakeUp) -> None:
    # What is remembered of the blank's stiffness is part of the work.
    fitted_to.cache_clear()
    bench_sheet(value)


def _page(client: TestClient, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 200
    assert "rear grip length" in answer.text


def _median_ms(work: Callable[[int], None]) -> float:
    work(-1)
    times = []
    for turn in range(TURNS):
        began = time.perf_counter()
        work(turn)
        times.append((time.perf_counter() - began) * 1000)
    return statistics.median(times)
