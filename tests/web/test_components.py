"""The page of a component: the lengths of its kind, money with its currency, and who may change it."""

import re
from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.queries.components import ComponentView, component_view
from shop.rules.components import DIMENSIONS, KINDS, MATERIALS
from shop.rules.people import Role
from shop.services.components import add_component
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.web.bench_shop import HTMX
from tests.web.forms_read import form_on

SignIn = Callable[[Role], TestClient]
ONE, NEW = "/shelf/components/1", "/shelf/components/new"


@pytest.fixture
def on_file(hub: Hub, hands: Hands) -> ComponentView:
    with hub.database.writing(hands.wall_at) as session:
        add_component(
            session, now=hands.wall_at, kind="guide", name="Ring guide 8", price_cents=450, cost_cents=5,
            currency="SEK", dimensions={"ring_od": 8_000_001, "foot_length": 3_175_000}, notes="shiny",
            mass_mg=1_001, material="steel", feet=2,
        )  # fmt: skip
        return component_view(session, 1)


@pytest.fixture
def desk(on_file: ComponentView, signed_in: SignIn) -> TestClient:
    assert on_file.id == 1
    return signed_in(Role.BUILDER)


def kept(hub: Hub) -> ComponentView:
    with hub.database.reading() as session:
        return component_view(session, 1)


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_saving_a_component_as_it_is_shown_changes_nothing(
    desk: TestClient, hub: Hub, on_file: ComponentView, headers: dict[str, str]
) -> None:
    answer = desk.post(ONE, data=form_on(desk.get(ONE).text, ONE), headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, ONE)
    assert kept(hub) == on_file


@pytest.mark.parametrize("path", [ONE, "/shelf/components"])
def test_lengths_are_told_in_both_units_and_money_with_its_currency(desk: TestClient, path: str) -> None:
    page = desk.get(path).text
    assert "5/16 in (8.000001 mm)" in page
    assert "4.50 SEK" in page
    assert "0.05 SEK" in page


def test_mass_material_and_feet_are_told(desk: TestClient) -> None:
    told = dict(re.findall(r"<dt>(.*?)</dt><dd>(.*?)</dd>", desk.get(ONE).text))
    assert (told["Mass"], told["Material"], told["Feet"]) == ("1.001 g", "steel", "2")


@pytest.mark.parametrize("kind", KINDS)
def test_only_a_guide_is_asked_for_its_feet(desk: TestClient, kind: str) -> None:
    form = form_on(desk.get(NEW, params={"kind": kind}).text, NEW)
    assert form.get("feet") == ([""] if kind == "guide" else None)
    assert (form["mass_g"], form["material"]) == ([""], [""])


def test_common_materials_are_offered_and_any_other_is_taken(desk: TestClient, hub: Hub) -> None:
    page = desk.get(ONE).text
    assert 'list="l-material"' in page
    offered = page.split('<datalist id="l-material">')[1].split("</datalist>")[0]
    assert re.findall(r'value="(.*?)"', offered) == list(MATERIALS)
    assert desk.post(ONE, data={**form_on(page, ONE), "material": "horn"}).status_code == 303
    assert kept(hub).material == "horn"


@pytest.mark.parametrize("kind", KINDS)
def test_a_new_component_is_asked_for_the_lengths_of_its_kind(desk: TestClient, kind: str) -> None:
    form = form_on(desk.get(NEW, params={"kind": kind}).text, NEW)
    sizes = [name.removeprefix("dimensions.") for name in form if name.startswith("dimensions.")]
    assert (form["kind"], form["currency"], sizes) == ([kind], ["EUR"], list(DIMENSIONS[kind]))


def test_a_kind_that_is_not_known_is_asked_for_again(desk: TestClient) -> None:
    assert form_on(desk.get(NEW, params={"kind": "spoon"}).text, NEW)["kind"] == ["grip"]
    answer = desk.post(NEW, data={"kind": "spoon", "name": "Spoon", "currency": "EUR"})
    assert answer.status_code == 422
    assert "The kind must be one of grip" in answer.text


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"dimensions.ring_od": "8"}, "dimensions.ring_od", "has no unit"),
        ({"dimensions.ring_od": "0 mm"}, "dimensions.ring_od", "The ring outside diameter must lie above"),
        ({"dimensions.length": "11 m"}, "dimensions.length", "at most at 10 m"),
        ({"mass_g": "1.0001"}, "mass_g", "at most 3 decimals"),
        ({"mass_g": "5001"}, "mass_g", "must lie between 0.001 and 5000"),
        ({"material": "x" * 41}, "material", "at most 40 fit"),
        ({"price_cents": "18.505"}, "price_cents", "must be an amount such as 18.50"),
        ({"price_cents": "-1"}, "price_cents", "must be an amount"),
        ({"cost_cents": "100000.01"}, "cost_cents", "from 0 to 10,000,000"),
        ({"currency": "kr"}, "currency", "three capital letters"),
        ({"name": ""}, "name", "The name is missing"),
    ],
)
def test_a_fault_stands_beside_its_field_and_nothing_is_saved(
    desk: TestClient, hub: Hub, on_file: ComponentView, changes: dict[str, str], field: str, says: str
) -> None:
    answer = desk.post(ONE, data={**form_on(desk.get(ONE).text, ONE), "notes": "one foot", **changes})
    assert answer.status_code == 422
    assert says in answer.text.split(f'id="e-{field}"')[1].split("</p>")[0]
    typed = form_on(answer.text, ONE)
    assert {name: typed[name] for name in changes} == {name: [value] for name, value in changes.items()}
    assert typed["notes"] == ["one foot"]
    assert kept(hub) == on_file


def test_an_emptied_field_takes_its_figure_away(desk: TestClient, hub: Hub) -> None:
    form = form_on(desk.get(ONE).text, ONE)
    emptied = dict.fromkeys(("price_cents", "dimensions.ring_od", "mass_g", "material", "feet"), "")
    assert desk.post(ONE, data={**form, **emptied}).status_code == 303
    item = kept(hub)
    assert (item.price_cents, item.dimensions) == (None, {"foot_length": 3_175_000})
    assert (item.mass_mg, item.material, item.feet) == (None, "", None)


@pytest.mark.parametrize(
    ("kind", "feet", "says"),
    [("keeper", "1", "Only guides have feet"), ("guide", "3", "The number of feet must lie between 1 and 2")],
)
def test_feet_that_cannot_be_are_refused(desk: TestClient, kind: str, feet: str, says: str) -> None:
    answer = desk.post(NEW, data={"kind": kind, "name": "Loop", "currency": "EUR", "feet": feet})
    assert answer.status_code == 422
    assert says in answer.text
    assert desk.get("/shelf/components/2").status_code == 404


def test_a_helper_reads_the_component_and_is_shown_no_form(
    hub: Hub, on_file: ComponentView, signed_in: SignIn
) -> None:
    helper = signed_in(Role.HELPER)
    looked_at = helper.get(ONE).text
    assert "4.50 SEK" in looked_at
    assert "0.05 SEK" not in looked_at, "what the shop pays is the desk's"
    page = helper.get(ONE).text
    assert "5/16 in (8.000001 mm)" in page
    assert form_on(page, ONE) == {}
    assert NEW not in helper.get("/shelf/components").text
    data = {"kind": "guide", "name": "Mine", "currency": "EUR"}
    assert [helper.post(path, data=data).status_code for path in (ONE, NEW)] == [403, 403]
    assert kept(hub) == on_file


def test_a_component_that_is_not_on_file(desk: TestClient) -> None:
    assert desk.get("/shelf/components/7").status_code == 404
    assert desk.post("/shelf/components/7", data={"name": "Ring"}).status_code == 404
