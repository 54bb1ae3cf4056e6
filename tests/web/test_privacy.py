"""The pages of privacy: what is kept and why, exported, erased by its owner, and consent for photos."""

import json
from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.queries.customers import customer_view
from shop.rules.people import Role
from shop.services.photos import StoredPhoto, add_photos
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.spec_shop import ORDER, bench_of, open_desk
from tests.web.bench_shop import HTMX
from tests.web.test_specs import error
from tests.web.test_ticket import words

SignIn = Callable[[Role], TestClient]
HERE = "/desk/customers/1"
REASON = "the customer asked for it"
each_way = pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])


@pytest.fixture
def people(hub: Hub, hands: Hands, signed_in: SignIn) -> SignIn:
    with hub.database.writing(hands.wall_at) as session:
        open_desk(hub, session, hands.wall_at)
    return signed_in


@pytest.fixture
def owner(people: SignIn) -> TestClient:
    return people(Role.OWNER)


def test_what_is_kept_stands_on_one_page_with_the_reasons(owner: TestClient) -> None:
    assert f'href="{HERE}/privacy"' in owner.get(HERE).text
    page = owner.get(f"{HERE}/privacy").text
    said = words(page)
    assert "Rods 26-001 26-002 2 what was made, and how, for repairs and warranty" in said
    assert f'href="/builds/{ORDER}"' in page
    assert "26-001 is still open. 26-002 is still open." in said
    records = words(owner.get(f"{HERE}/privacy/records").text)
    assert "name Ada Thorn" in records
    assert "title 8 ft casting" in records


def test_it_is_exported_as_json_that_nobody_keeps(owner: TestClient) -> None:
    answer = owner.get(f"{HERE}/privacy.json")
    assert answer.headers["content-disposition"] == 'attachment; filename="customer-1.json"'
    assert answer.headers["cache-control"] == "no-store"
    document = json.loads(answer.text)
    assert document["records"]["customer"][0]["name"] == "Ada Thorn"
    assert document["exported_at"] == "2026-03-02T09:00:00Z"
    assert set(document["why_it_is_kept"]) <= set(document["records"])
    assert owner.get("/desk/customers/99/privacy.json").status_code == 404


@each_way
def test_a_customer_is_erased(owner: TestClient, headers: dict[str, str]) -> None:
    said = {"confirm": "Ada Thorn", "reason": REASON}
    answer = owner.post(f"{HERE}/erase", data=said, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, HERE)
    page = owner.get(HERE).text
    assert "This customer was erased." in page
    assert "Ada" not in page
    assert f"{ORDER} 8 ft casting" in page
    assert "Ada Thorn" not in owner.get("/desk/customers").text + owner.get("/desk").text
    assert "Ada Thorn" not in owner.get("/desk/enquiries/new").text
    assert f"The customer was erased: {REASON}." in owner.get(f"/builds/{ORDER}").text
    assert owner.get(f"{HERE}/privacy").status_code == 404
    assert owner.post(HERE, data={"name": "Ada"}).status_code == 409


@pytest.mark.parametrize(
    ("data", "key", "says"),
    [
        ({"confirm": "Ada", "reason": REASON}, "confirm", "Type the name as it stands on file"),
        ({"confirm": "Ada Thorn"}, "reason", "26-001 is still open."),
        ({"confirm": "Ada Thorn", "reason": "a whim"}, "reason", "must be one of"),
    ],
)
def test_what_is_not_said_right_erases_nobody(
    owner: TestClient, data: dict[str, str], key: str, says: str
) -> None:
    answer = owner.post(f"{HERE}/erase", data={**data, "inscriptions": "on"})
    assert answer.status_code == 422
    assert says in error(answer.text, key)
    assert f'value="{data["confirm"]}"' in answer.text
    assert 'name="inscriptions" value="on" checked' in answer.text
    assert "Ada Thorn" in owner.get(HERE).text


def test_a_second_press_finds_nobody(owner: TestClient) -> None:
    said = {"confirm": "Ada Thorn", "reason": REASON}
    owner.post(f"{HERE}/erase", data=said)
    assert owner.post(f"{HERE}/erase", data=said).status_code == 404
    assert owner.post("/desk/customers/99/erase", data=said).status_code == 404


def test_photos_go_with_their_files_where_that_is_ticked(hub: Hub, hands: Hands, owner: TestClient) -> None:
    name = hub.photos.put({400: b"a picture"})
    with hub.database.writing(hands.wall_at) as session:
        bench = bench_of(hub, session, hands.wall_at)
        add_photos(session, ORDER, bench, [StoredPhoto(name, 10, 10, 9)])
    assert "Take the photos of the rods away too" in owner.get(f"{HERE}/privacy").text
    owner.post(f"{HERE}/erase", data={"confirm": "Ada Thorn", "reason": REASON, "photos": "on"})
    assert hub.photos.files_of(name) == []


@each_way
def test_a_yes_to_photos_has_its_day_and_is_taken_back(
    hub: Hub, hands: Hands, owner: TestClient, headers: dict[str, str]
) -> None:
    no = "Nobody has said yes to showing photos of this rod to others"
    assert no in owner.get(f"/builds/{ORDER}/photos").text
    kept = []
    for data in ({"photo_consent": "on"}, {"photo_consent": "on", "notes": "x"}, {}):
        answer = owner.post(HERE, data={"name": "Ada Thorn", **data}, headers=headers)
        assert answer.status_code == 303
        with hub.database.reading() as session:
            since = customer_view(session, 1).photo_consent_on
        kept.append(None if since is None else since.isoformat())
        shown = "on 2026-03-02, to showing photos" in owner.get(f"/builds/{ORDER}/photos").text
        assert shown is (since is not None)
        hands.forward(days=1)
    assert kept == ["2026-03-02", "2026-03-02", None]


@pytest.mark.parametrize("role", [Role.BUILDER, Role.HELPER])
def test_it_is_the_owners_alone(people: SignIn, role: Role) -> None:
    browser = people(role)
    for path in (f"{HERE}/privacy", f"{HERE}/privacy.json", f"{HERE}/privacy/records"):
        assert browser.get(path).status_code == 403
    assert browser.post(f"{HERE}/erase", data={"confirm": "Ada Thorn"}).status_code == 403
    if role is Role.BUILDER:
        assert "/privacy" not in browser.get(HERE).text


@pytest.mark.parametrize("path", [f"/builds/{ORDER}", f"/builds/{ORDER}/make-up", "/events/1"])
def test_what_is_never_changed_asks_for_no_names_where_it_is_typed(owner: TestClient, path: str) -> None:
    assert "no customer’s name" in owner.get(path).text


def test_nobody_takes_on_a_rod_for_an_erased_customer_and_theirs_can_still_be_edited(
    owner: TestClient,
) -> None:
    owner.post(f"{HERE}/erase", data={"confirm": "Ada Thorn", "reason": REASON})
    owner.post("/desk/customers/new", data={"name": "Runa Fjeld"})
    offered = select_on(owner.get("/desk/builds/new").text, "customer_id")
    assert "Runa Fjeld" in offered
    assert 'value="1"' not in offered
    edit = f"/builds/{ORDER}/edit"
    assert '<option value="1" selected>' in select_on(owner.get(edit).text, "customer_id")
    plan = {"customer_id": "1", "title": "8 ft casting", "thread_colour": "#7a1f2b", "notes": "on the shelf"}
    assert owner.post(edit, data=plan).status_code == 303
    assert "on the shelf" in owner.get(edit).text


def select_on(page: str, name: str) -> str:
    """The list of that name, as HTML."""
    begins = page.index(f'name="{name}"')
    return page[begins : page.index("</select>", begins)]
