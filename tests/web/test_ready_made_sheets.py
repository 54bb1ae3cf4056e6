"""Starting an adhesive from a class, the mark it carries, and confirming its figures against the sheet."""

from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.queries.adhesives import AdhesiveView, adhesive_view
from shop.rules.adhesives import MARKS, SheetState
from shop.rules.people import Role
from shop.rules.ready_made_sheets import NAMES
from shop.services.adhesives import change_adhesive, start_from_class
from shop.web.deps import Hub
from shop.web.sheets import marked
from tests.conftest import Hands
from tests.web.bench_shop import HTMX
from tests.web.forms_read import form_on

MARK = MARKS[SheetState.READY_MADE]
SignIn = Callable[[Role], TestClient]
START, ONE, CONFIRM = "/shelf/ready-made", "/shelf/adhesives/1", "/shelf/adhesives/1/confirm"
SAID = {"name": "Brook", "ready_made": "wrap finish, light"}
HEADERS = pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])


@pytest.fixture
def desk(signed_in: SignIn) -> TestClient:
    return signed_in(Role.BUILDER)


@pytest.fixture
def begun(desk: TestClient, hub: Hub, hands: Hands) -> TestClient:
    """The desk of a shop whose only adhesive began as a class."""
    with hub.database.writing(hands.wall_at) as session:
        start_from_class(session, now=hands.wall_at, by="Nell", **SAID)
    return desk


def kept(hub: Hub) -> AdhesiveView:
    with hub.database.reading() as session:
        return adhesive_view(session, 1)


def confirmation(client: TestClient, **changes: str) -> dict[str, str]:
    """The form as somebody fills it in."""
    (version,) = form_on(client.get(CONFIRM).text, CONFIRM)["version"]
    told = {"source": "revision 4", "sheet_date": "2026-01-15", "stands": "on", "version": version}
    return {**told, **changes}


def beside(page: str, field: str) -> str:
    return page.split(f'id="e-{field}"')[1].split("</p>")[0]


@HEADERS
def test_an_adhesive_is_started_from_a_class(desk: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    assert f'href="{START}"' in desk.get("/shelf/adhesives").text
    page = desk.get(START).text
    assert all(f">{name}</td>" in page for name in NAMES)
    answer = desk.post(START, data=SAID, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, ONE)
    assert kept(hub).ready_made == "wrap finish, light"
    assert not kept(hub).confirmed


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"name": ""}, "name", "is missing"),
        ({"name": "x" * 121}, "name", "at most 120 fit"),
        ({"ready_made": ""}, "ready_made", "The class must be one of"),
        ({"ready_made": "hide glue"}, "ready_made", "The class must be one of"),
    ],
)
def test_a_start_that_cannot_be_comes_back_as_typed(
    desk: TestClient, changes: dict[str, str], field: str, says: str
) -> None:
    answer = desk.post(START, data={**SAID, **changes})
    assert answer.status_code == 422
    assert says in beside(answer.text, field)
    assert form_on(answer.text, START)["name"] == [{**SAID, **changes}["name"]]
    assert desk.get(ONE).status_code == 404


def test_a_name_that_is_taken_is_refused(begun: TestClient) -> None:
    answer = begun.post(START, data=SAID)
    assert answer.status_code == 422
    assert "an adhesive called Brook already" in beside(answer.text, "name")
    assert f'value="{SAID["ready_made"]}" selected' in answer.text


def test_whatever_shows_it_says_so_until_it_is_confirmed(begun: TestClient, hub: Hub) -> None:
    pages = (ONE, "/shelf/adhesives", CONFIRM)
    assert all(MARK in begun.get(path).text for path in pages)
    assert marked("Brook (finish)", kept(hub).sheet_mark) == f"Brook (finish), {MARK}"
    begun.post(CONFIRM, data=confirmation(begun))
    # What was changed still tells where the figures came from.
    assert not any(MARK in begun.get(path).text.partition('id="changes"')[0] for path in pages)
    assert marked("Brook (finish)", kept(hub).sheet_mark) == "Brook (finish)"
    page = begun.get(ONE).text
    assert "<dt>Confirmed by</dt><dd>builder</dd>" in page
    assert "<dt>Began as</dt><dd>wrap finish, light</dd>" in page


@HEADERS
def test_the_figures_are_confirmed(begun: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    answer = begun.post(CONFIRM, data=confirmation(begun), headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, ONE)
    item = kept(hub)
    assert (item.confirmed, item.source, f"{item.sheet_date}") == (True, "revision 4", "2026-01-15")


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"source": ""}, "source", "is missing"),
        ({"source": "a ready-made class, not from your data sheet"}, "source", "Name the data sheet"),
        ({"sheet_date": ""}, "sheet_date", "is missing"),
        ({"sheet_date": "March"}, "sheet_date", "must be a day such as"),
        ({"sheet_date": "2026-03-03"}, "sheet_date", "lies in the future"),
        ({"stands": ""}, "stands", "Tick this once you have held every figure"),
    ],
)
def test_a_confirmation_that_cannot_be_comes_back_as_typed(
    begun: TestClient, hub: Hub, changes: dict[str, str], field: str, says: str
) -> None:
    told = confirmation(begun, **changes)
    answer = begun.post(CONFIRM, data=told)
    assert answer.status_code == 422
    assert says in beside(answer.text, field)
    typed = form_on(answer.text, CONFIRM)
    assert all(typed[name] == [told[name]] for name in ("source", "sheet_date"))
    assert not kept(hub).confirmed


def test_figures_that_changed_meanwhile_are_read_again_first(
    begun: TestClient, hub: Hub, hands: Hands
) -> None:
    told = confirmation(begun)
    with hub.database.writing(hands.wall_at) as session:
        change_adhesive(session, 1, now=hands.wall_at, by="Nell", set_minutes=600.0)
    answer = begun.post(CONFIRM, data=told)
    assert answer.status_code == 409
    assert "hold the new ones against the sheet" in answer.text
    assert "10 h 00 min" in answer.text
    assert not kept(hub).confirmed
    assert begun.post(CONFIRM, data={**told, "version": str(kept(hub).version)}).status_code == 303
    assert begun.post(CONFIRM, data=told).status_code == 409


@pytest.mark.parametrize(("source", "stays"), [("revision 5", True), ("revision 4", False), ("", False)])
def test_a_change_keeps_it_confirmed_only_with_another_source(
    begun: TestClient, hub: Hub, source: str, stays: bool
) -> None:
    begun.post(CONFIRM, data=confirmation(begun))
    form = form_on(begun.get(ONE).text, ONE)
    assert begun.post(ONE, data={**form, "set_minutes": "500", "source": source}).status_code == 303
    assert kept(hub).confirmed is stays
    assert (f"marked “{MARK}”" in begun.get(ONE).text) is not stays


@pytest.mark.usefixtures("begun")
def test_a_helper_sees_the_mark_and_confirms_nothing(hub: Hub, signed_in: SignIn) -> None:
    helper = signed_in(Role.HELPER)
    page = helper.get(ONE).text
    assert MARK in page
    assert CONFIRM not in page
    assert START not in helper.get("/shelf/adhesives").text
    assert [helper.get(path).status_code for path in (START, CONFIRM)] == [403, 403]
    assert [helper.post(path, data=SAID).status_code for path in (START, CONFIRM)] == [403, 403]
    assert not kept(hub).confirmed


def test_an_adhesive_that_is_not_on_file(desk: TestClient) -> None:
    assert desk.get(CONFIRM).status_code == 404
    told = {"source": "sheet", "sheet_date": "2026-01-15", "stands": "on", "version": "1"}
    assert desk.post(CONFIRM, data=told).status_code == 404


def test_figures_that_somebody_else_changed_are_not_overwritten(begun: TestClient, hub: Hub) -> None:
    stale = form_on(begun.get(ONE).text, ONE)
    assert begun.post(ONE, data={**stale, "set_minutes": "500"}).status_code == 303
    late = begun.post(ONE, data={**stale, "set_minutes": "700"})
    assert late.status_code == 409
    assert "Somebody else changed these figures meanwhile" in late.text
    assert 'value="700"' in late.text
    assert kept(hub).set_minutes == 500
