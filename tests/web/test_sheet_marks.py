"""The mark of figures that are no data sheet's, wherever they are relied on; what was changed of a sheet."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from fastapi.testclient import TestClient

from shop.rules.adhesives import MARKS, SheetState
from shop.rules.people import Role
from shop.services.adhesives import change_adhesive
from shop.web.deps import Hub
from tests.api.filled import BOND
from tests.conftest import Hands
from tests.web.bench_shop import ROD, open_bench
from tests.web.forms_read import form_on

SignIn = Callable[[Role], TestClient]
ADHESIVE, CONFIRM = "/shelf/adhesives/1", "/shelf/adhesives/1/confirm"
CUP = {"adhesive_id": "1", "zone_id": "1"}
MARK = MARKS[SheetState.NOT_NAMED]
AT_BENCH = ("/mixes/1", "/mixes/1/closing", "/cures/1", ROD, "/setting", "/setting?as=table")
BEFORE_MIXING = (ADHESIVE, "/shelf/adhesives", CONFIRM, "/cup", "/cup?adhesive_id=1&zone_id=1&work=1")
SHEET = {"source": "revision 4", "sheet_date": "2026-01-15", "stands": "on"}


@pytest.fixture
def bench(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    """A rod, glued with an adhesive whose sheet nobody named."""
    open_bench(hub, hands)
    with hub.database.writing(hands.wall_at) as session:
        change_adhesive(session, BOND, now=hands.wall_at, by="Ott", source="", set_minutes=540.0)
    client = signed_in(Role.OWNER)
    mix(client, 1)
    return client


def mix(client: TestClient, number: int) -> None:
    assert client.post("/cup", data=CUP).headers["location"] == f"/mixes/{number}"
    closed = client.post(f"/mixes/{number}/cures", data={"build": "26-001", "place": "rear grip"})
    assert closed.status_code == 303


def confirm(client: TestClient) -> None:
    (version,) = form_on(client.get(CONFIRM).text, CONFIRM)["version"]
    assert client.post(CONFIRM, data={**SHEET, "version": version}).status_code == 303


def marked(client: TestClient, paths: tuple[str, ...]) -> list[str]:
    return [path for path in paths if MARK in client.get(path).text.partition('id="changes"')[0]]


def test_the_mark_stands_wherever_the_figures_are_relied_on(bench: TestClient) -> None:
    assert marked(bench, (*AT_BENCH, *BEFORE_MIXING)) == [*AT_BENCH, *BEFORE_MIXING]
    assert "when it was mixed" in bench.get("/mixes/1").text
    # Confirmed since: what was mixed before stays marked, what is mixed from now on is not.
    confirm(bench)
    assert marked(bench, AT_BENCH) == list(AT_BENCH)
    assert f"Riverbed, 09:00, {MARK}" in bench.get("/cup").text
    assert marked(bench, BEFORE_MIXING[:3]) == []
    mix(bench, 2)
    assert marked(bench, ("/mixes/2/closing",)) == []
    # Their forms offer the other mix and its mark, to put right which one it was.
    assert not any("that were marked" in bench.get(path).text for path in ("/mixes/2", "/cures/2"))
    assert bench.get("/setting?as=table").text.count(MARK) == 1


def test_the_confirming_begins_with_what_is_known_of_the_sheet(
    bench: TestClient, hub: Hub, hands: Hands
) -> None:
    assert form_on(bench.get(CONFIRM).text, CONFIRM)["source"] == [""]
    said: dict[str, Any] = {"source": "revision 3", "sheet_date": date(2025, 9, 1)}
    with hub.database.writing(hands.wall_at) as session:
        change_adhesive(session, BOND, now=hands.wall_at, by="Ott", **said)
    form = form_on(bench.get(CONFIRM).text, CONFIRM)
    assert (form["source"], form["sheet_date"]) == (["revision 3"], ["2025-09-01"])


def test_the_page_tells_what_was_changed_newest_first(bench: TestClient, hands: Hands) -> None:
    hands.forward(minutes=10)
    confirm(bench)
    told = bench.get(ADHESIVE).text.partition('id="changes"')[2].partition("</table>")[0]
    rows = [
        [cell.partition(">")[2].partition("<")[0] for cell in row.split("<td")[1:]]
        for row in told.split("<tr")[2:]
    ]
    assert rows == [
        ["09:10", "owner", "Held against the sheet", "–", "–"],
        ["09:10", "owner", "The source", "–", "revision 4"],
        ["09:10", "owner", "Confirmed by", "–", "owner"],
        ["09:00", "Ott", "The set time", "10 h 00 min", "9 h 00 min"],
        ["09:00", "Ott", "The source", "its sheet", "–"],
        ["09:00", "Ott", "Confirmed by", "Nell", "–"],
        ["09:00", "Nell", "Put on file", "–", "–"],
    ]
