"""What a component may weigh, be made of and stand on: the last that can be, the first that cannot."""

from typing import Any

import pytest

from shop.rules.components import KINDS, MATERIALS, ComponentFacts, faults_of_component
from shop.rules.masses import MOST_MASS_MG

GUIDE = ComponentFacts(
    kind="guide", name="Ring guide 8", dimensions={"ring_od": 8_000_000}, mass_mg=600, material="steel",
    feet=1, price_cents=450, cost_cents=260, currency="EUR",
)  # fmt: skip


def faults(**facts: Any) -> dict[str, str]:
    return faults_of_component(GUIDE._replace(**facts))


@pytest.mark.parametrize(
    "facts",
    [
        {"mass_mg": None},
        {"mass_mg": 1},
        {"mass_mg": MOST_MASS_MG},
        {"material": ""},
        {"material": "x" * 40},
        *({"material": material} for material in MATERIALS),
        {"feet": None},
        {"feet": 2},
        *({"kind": kind, "dimensions": {}, "feet": None} for kind in KINDS),
    ],
)
def test_what_can_be(facts: dict[str, Any]) -> None:
    assert faults(**facts) == {}


@pytest.mark.parametrize(
    ("facts", "field", "says"),
    [
        ({"mass_mg": 0}, "mass_g", "above nothing and at most at 5 kg"),
        ({"mass_mg": MOST_MASS_MG + 1}, "mass_g", "above nothing and at most at 5 kg"),
        ({"material": "x" * 41}, "material", "at most 40 characters"),
        ({"feet": 0}, "feet", "1 or 2 feet"),
        ({"feet": 3}, "feet", "1 or 2 feet"),
        *(
            ({"kind": kind, "dimensions": {}}, "feet", f"Only guides have feet; a {kind} has none.")
            for kind in KINDS
            if kind != "guide"
        ),
    ],
)
def test_what_cannot_be(facts: dict[str, Any], field: str, says: str) -> None:
    told = faults(**facts)
    assert list(told) == [field]
    assert says in told[field]
