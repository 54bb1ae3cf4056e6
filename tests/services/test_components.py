"""Components: each kind has its own lengths, money is whole cents, the currency is the shop's."""

from typing import Any

import pytest
from sqlalchemy.orm import Session

from shop.queries.components import ComponentView, component_view, components_by_kind
from shop.rules.components import DIMENSIONS, KINDS, MOST_CENTS, MOST_NM, MOST_THREAD_NM
from shop.rules.refusals import BadInput, NotOnFile
from shop.services.components import add_component, change_component
from tests.conftest import START


def put(session: Session, **facts: Any) -> ComponentView:
    """The component as it is kept."""
    told: dict[str, Any] = {"kind": "grip", "name": "Cork grip", **facts}
    return component_view(session, add_component(session, now=START, **told).id)


def faults(session: Session, **facts: Any) -> dict[str, str]:
    with pytest.raises(BadInput) as refused:
        put(session, **facts)
    return refused.value.errors


@pytest.mark.parametrize("kind", KINDS)
def test_every_length_of_a_kind_is_kept_and_none_is_needed(session: Session, kind: str) -> None:
    sizes = {name: position + 1 for position, name in enumerate(DIMENSIONS[kind])}
    assert put(session, kind=kind, dimensions=sizes).dimensions == sizes
    assert put(session, kind=kind).dimensions == {}


def test_a_length_that_a_kind_does_not_have_is_refused_with_those_it_has(session: Session) -> None:
    told = faults(session, kind="keeper", dimensions={"bore": 5, "length": 0})
    assert told == {
        "dimensions.bore": "A keeper has no “bore”; its dimensions are length.",
        "dimensions.length": "The length must lie above nothing and at most at 10 m.",
    }


@pytest.mark.parametrize(
    ("facts", "field"),
    [
        ({"kind": "spoon"}, "kind"),
        ({"kind": ""}, "kind"),
        ({"name": " "}, "name"),
        ({"name": "x" * 121}, "name"),
        ({"dimensions": {"od": -1}}, "dimensions.od"),
        ({"dimensions": {"od": MOST_NM + 1}}, "dimensions.od"),
        ({"kind": "thread", "dimensions": {"length": MOST_THREAD_NM + 1}}, "dimensions.length"),
        ({"mass_mg": 0}, "mass_g"),
        ({"material": "x" * 41}, "material"),
        ({"feet": 1}, "feet"),
        ({"kind": "guide", "feet": 3}, "feet"),
        ({"price_cents": -1}, "price_cents"),
        ({"cost_cents": MOST_CENTS + 1}, "cost_cents"),
        ({"currency": "eur"}, "currency"),
        ({"currency": "EURO"}, "currency"),
        ({"currency": "€€€"}, "currency"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(
    session: Session, facts: dict[str, Any], field: str
) -> None:
    assert list(faults(session, **facts)) == [field]
    assert components_by_kind(session) == []


@pytest.mark.parametrize(
    "facts",
    [
        {"dimensions": {"od": 1}},
        {"dimensions": {"od": MOST_NM}},
        {"kind": "thread", "dimensions": {"length": MOST_THREAD_NM}},
        {"mass_mg": 1, "material": "x" * 40},
        {"kind": "guide", "feet": 2},
        {"price_cents": 0, "cost_cents": MOST_CENTS},
        {"currency": "NOK"},
    ],
)
def test_the_last_figure_that_can_be_is_kept(session: Session, facts: dict[str, Any]) -> None:
    kept = put(session, **facts)._asdict()
    assert {name: kept[name] for name in facts} == facts


def test_the_currency_is_the_shops_unless_another_is_said(session: Session) -> None:
    assert put(session).currency == "EUR"
    assert put(session, currency="SEK").currency == "SEK"


def test_changes_leave_the_rest_and_dimensions_are_replaced_wholesale(session: Session) -> None:
    item = put(session, dimensions={"length": 5, "od": 6}, price_cents=1850)
    change_component(session, item.id, cost_cents=1100)
    assert component_view(session, item.id) == item._replace(cost_cents=1100)
    change_component(session, item.id, dimensions={"od": 7}, price_cents=None)
    assert component_view(session, item.id) == item._replace(
        cost_cents=1100, dimensions={"od": 7}, price_cents=None
    )


def test_mass_material_and_feet_are_changed_and_taken_away(session: Session) -> None:
    item = put(session, kind="guide", mass_mg=600, material="steel", feet=1)
    change_component(session, item.id, mass_mg=650, material="", feet=2)
    assert component_view(session, item.id) == item._replace(mass_mg=650, material="", feet=2)
    change_component(session, item.id, mass_mg=None, feet=None)
    assert component_view(session, item.id) == item._replace(mass_mg=None, material="", feet=None)


def test_another_kind_is_refused_while_feet_of_the_guide_stand(session: Session) -> None:
    item = put(session, kind="guide", feet=1)
    with pytest.raises(BadInput) as refused:
        change_component(session, item.id, kind="keeper")
    assert list(refused.value.errors) == ["feet"]
    change_component(session, item.id, kind="keeper", feet=None)
    assert component_view(session, item.id).kind == "keeper"


def test_another_kind_is_refused_while_lengths_of_the_old_one_stand(session: Session) -> None:
    item = put(session, dimensions={"shoulder_od": 5})
    with pytest.raises(BadInput) as refused:
        change_component(session, item.id, kind="keeper")
    assert list(refused.value.errors) == ["dimensions.shoulder_od"]
    change_component(session, item.id, kind="keeper", dimensions={"length": 5})
    assert component_view(session, item.id).kind == "keeper"


def test_a_component_that_is_not_on_file(session: Session) -> None:
    with pytest.raises(NotOnFile):
        change_component(session, 7, name="Cork grip")
