"""The turners under Ways: put on file and changed by owners alone."""

from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.queries.cure_clock import CureClock
from shop.queries.turners import TurnerView, every_turner
from shop.rules.people import Role
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.turner_shop import fill_with_turner
from tests.web.bench_shop import HTMX
from tests.web.forms_read import form_on

SignIn = Callable[[Role], TestClient]
TURNER = "/turner"
either_way = pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])


@pytest.fixture
def owner(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    with hub.database.writing(hands.wall_at) as session:
        fill_with_turner(session, hands.wall_at)
    return signed_in(Role.OWNER)


def known(hub: Hub) -> list[TurnerView]:
    with hub.database.reading() as session:
        return every_turner(session, CureClock().warmth(session))


WAYS, ONE = "/ways/turners", "/ways/turners/1"
SPARE = {"name": "Spare", "places": "2", "check_minutes": "60", "zone_id": ""}


@either_way
def test_a_turner_is_put_on_file(owner: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    assert form_on(owner.get(WAYS).text, WAYS)["check_minutes"] == ["120"]
    answer = owner.post(WAYS, data=SPARE, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, WAYS)
    assert "Spare is on file." in owner.get(WAYS).text
    view = known(hub)[1]
    assert (view.name, view.places, view.check_minutes, view.zone_id) == ("Spare", 2, 60, None)


@either_way
def test_a_turner_saved_as_it_is_shown_stays_as_it_is(
    owner: TestClient, hub: Hub, headers: dict[str, str]
) -> None:
    before = known(hub)[0]
    shown = form_on(owner.get(ONE).text, ONE)
    answer = owner.post(ONE, data={**shown, "zone_id": str(before.zone_id)}, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, WAYS)
    assert known(hub)[0]._replace(version=0) == before._replace(version=0)


@pytest.mark.parametrize("path", [WAYS, ONE])
@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"name": ""}, "name", "The name is missing"),
        ({"name": "Taken"}, "name", "called Taken already"),
        ({"places": "0"}, "places", "between 1 and 60"),
        ({"places": "many"}, "places", "number"),
        ({"places": ""}, "places", "is missing"),
        ({"check_minutes": "4"}, "check_minutes", "between 5 and 1440"),
    ],
)
def test_a_fault_stands_beside_its_field_and_nothing_is_saved(
    owner: TestClient, hub: Hub, path: str, changes: dict[str, str], field: str, says: str
) -> None:
    owner.post(WAYS, data={**SPARE, "name": "Taken"})
    before = known(hub)
    answer = owner.post(path, data={**SPARE, "version": "1", **changes})
    assert answer.status_code == 422
    assert says in answer.text.split(f'id="e-{field}"')[1].split("</p>")[0]
    assert form_on(answer.text, path)[field] == list(changes.values())
    assert known(hub) == before


def test_who_was_overtaken_is_told(owner: TestClient) -> None:
    assert owner.post(ONE, data={**SPARE, "version": "1"}).status_code == 303
    late = owner.post(ONE, data={**SPARE, "name": "Mine", "version": "1"})
    assert (late.status_code, "Somebody else changed this turner" in late.text) == (409, True)
    assert 'value="Mine"' in late.text
    assert owner.post("/ways/turners/9", data={**SPARE, "version": "1"}).status_code == 404


@pytest.mark.parametrize("role", [Role.BUILDER, Role.HELPER])
def test_only_an_owner_changes_turners(owner: TestClient, signed_in: SignIn, role: Role) -> None:
    assert f'href="{WAYS}"' in owner.get(TURNER).text
    other = signed_in(role)
    assert [other.get(path).status_code for path in (WAYS, ONE, TURNER)] == [403, 403, 200]
    assert [other.post(path, data=SPARE).status_code for path in (WAYS, ONE)] == [403, 403]
    assert f'href="{WAYS}"' not in other.get(TURNER).text
