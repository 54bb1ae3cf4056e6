"""The API of components: dimensions by kind, whole cents, the shop's currency."""

from typing import Any

import pytest

from shop.rules.components import DIMENSIONS, KINDS
from shop.rules.people import Scope
from tests.api.conftest import Program

GRIP: dict[str, Any] = {
    "kind": "grip", "name": "Cork rear grip", "dimensions": {"length": "9 in", "bore_butt_end": "15.0876 mm"},
    "mass_g": 38.5, "material": "cork", "price_cents": 1850, "cost_cents": 1100, "notes": "full wells",
}  # fmt: skip


def fields(problem: Any) -> list[str]:
    return [error["field"] for error in problem["errors"]]


def test_a_component_is_kept_and_comes_out_in_both_units(desk: Program) -> None:
    made = desk.post("/components", **GRIP)
    assert made == {
        "id": 1, "kind": "grip", "name": "Cork rear grip",
        "dimensions": {
            "length": {"mm": 228.6, "in": "9"}, "bore_butt_end": {"mm": 15.0876, "in": "19/32"},
        },
        "mass_g": 38.5, "material": "cork", "feet": None,
        "price_cents": 1850, "cost_cents": 1100, "currency": "EUR", "notes": "full wells",
    }  # fmt: skip
    assert desk.get("/components/1") == made
    assert desk.get("/components") == {"items": [made], "next": None}


def test_a_guide_has_one_foot_or_two_and_needs_neither_mass_nor_material(desk: Program) -> None:
    made = [desk.post("/components", kind="guide", name="Ring", feet=feet) for feet in (None, 1, 2)]
    assert [item["feet"] for item in made] == [None, 1, 2]
    assert {(item["mass_g"], item["material"]) for item in made} == {(None, "")}
    changed = desk.send("PATCH", "/components/3", json={"feet": None}).json()
    assert changed == {**made[2], "feet": None}
    problem = desk.assert_refused(422, "/components/2", method="PATCH", kind="keeper")
    assert fields(problem) == ["feet"]


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_takes_its_own_dimensions_and_refuses_others(desk: Program, kind: str) -> None:
    sizes = dict.fromkeys(DIMENSIONS[kind], "1/2 in")
    assert set(desk.post("/components", kind=kind, name="part", dimensions=sizes)["dimensions"]) == set(sizes)
    problem = desk.assert_refused(422, "/components", kind=kind, name="part", dimensions={"girth": "1 in"})
    assert fields(problem) == ["dimensions.girth"]
    assert all(name in problem["detail"] for name in sizes)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"kind": "spoon"}, "kind"),
        ({"name": " "}, "name"),
        ({"dimensions": {"length": "9"}}, "dimensions.length"),
        ({"dimensions": {"length": "0 mm"}}, "dimensions.length"),
        ({"dimensions": {"length": None}}, "dimensions.length"),
        ({"dimensions": []}, "dimensions"),
        ({"mass_g": 0}, "mass_g"),
        ({"mass_g": 5000.001}, "mass_g"),
        ({"mass_g": 38.5001}, "mass_g"),
        ({"mass_g": "38"}, "mass_g"),
        ({"material": "x" * 41}, "material"),
        ({"feet": 1}, "feet"),
        ({"kind": "guide", "dimensions": {}, "feet": 3}, "feet"),
        ({"kind": "guide", "dimensions": {}, "feet": 1.5}, "feet"),
        ({"price_cents": 18.5}, "price_cents"),
        ({"price_cents": -1}, "price_cents"),
        ({"price_cents": "1850"}, "price_cents"),
        ({"cost_cents": True}, "cost_cents"),
        ({"currency": "eur"}, "currency"),
    ],
)
def test_what_cannot_be_is_refused_by_field_and_nothing_is_kept(
    desk: Program, changes: dict[str, Any], field: str
) -> None:
    assert fields(desk.assert_refused(422, "/components", **{**GRIP, **changes})) == [field]
    assert desk.get("/components")["items"] == []


@pytest.mark.parametrize(
    ("changes", "shown"),
    [
        ({"name": "Grip"}, {"name": "Grip"}),
        ({"price_cents": 0}, {"price_cents": 0}),
        ({"price_cents": None, "cost_cents": None}, {"price_cents": None, "cost_cents": None}),
        ({"mass_g": 0.001, "material": ""}, {"mass_g": 0.001, "material": ""}),
        ({"mass_g": None}, {"mass_g": None}),
        ({"currency": "SEK"}, {"currency": "SEK"}),
        ({"dimensions": {"od": {"mm": 25.4}}}, {"dimensions": {"od": {"mm": 25.4, "in": "1"}}}),
        ({"dimensions": {}}, {"dimensions": {}}),
    ],
)
def test_a_change_leaves_the_rest(desk: Program, changes: dict[str, Any], shown: dict[str, Any]) -> None:
    made = desk.post("/components", **GRIP)
    response = desk.send("PATCH", "/components/1", json=changes)
    assert (response.status_code, response.json()) == (200, {**made, **shown})
    assert desk.get("/components/1") == {**made, **shown}


@pytest.mark.parametrize("field", ["kind", "name", "dimensions", "material", "currency", "notes"])
def test_null_is_no_value_for_what_every_component_has(desk: Program, field: str) -> None:
    desk.post("/components", **GRIP)
    assert fields(desk.assert_refused(422, "/components/1", method="PATCH", **{field: None})) == [field]


@pytest.mark.parametrize("scope", [Scope.READ, Scope.BENCH, Scope.SENSOR])
def test_only_the_desk_changes_components(program: Any, scope: Scope) -> None:
    other: Program = program(scope)
    other.assert_refused(403, "/components", **GRIP)
    other.assert_refused(403, "/components/1", method="PATCH", name="Grip")


def test_a_component_that_is_not_on_file(desk: Program) -> None:
    desk.assert_refused(404, "/components/7", method="GET")
    desk.assert_refused(404, "/components/7", method="PATCH", name="Grip")
