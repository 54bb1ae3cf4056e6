"""Returns: what may be said of one, and how they are counted."""

from dataclasses import dataclass, replace
from datetime import date

import pytest

from shop.rules.returns import NOT_SAID, Count, ReturnSaid, counted, faults_of_return

TODAY, HANDED_OVER = date(2026, 3, 20), date(2026, 3, 2)
SAID = ReturnSaid(TODAY, "joint came loose", stage_name="wrapped", person="Nell", cost_cents=12_00)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({}, None),
        ({"returned_on": HANDED_OVER}, None),
        ({"returned_on": date(2026, 3, 1)}, "returned_on"),
        ({"returned_on": date(2026, 3, 21)}, "returned_on"),
        ({"cause": "bad luck"}, "cause"),
        ({"stage_name": "begun"}, "stage_name"),
        ({"person": "x" * 81}, "person"),
        ({"cost_cents": -1}, "cost_cents"),
        ({"cost_cents": 0}, None),
        ({"note": "x" * 1001}, "note"),
    ],
)
def test_what_cannot_be_is_said_by_field(changes: dict[str, object], field: str | None) -> None:
    said = replace(SAID, **changes)  # type: ignore[arg-type]
    found = faults_of_return(said, TODAY, HANDED_OVER, ["wrapped", "handed over"])
    assert list(found) == ([] if field is None else [field])


@dataclass
class Line:
    cause: str
    stage_name: str = ""
    lot: str = ""
    person: str = ""
    under_warranty: bool = True
    cost_cents: int | None = None


def test_they_are_counted_by_what_they_are_put_down_to() -> None:
    found = counted(
        [
            Line("rust", person="Nell", cost_cents=10_00),
            Line("rust", "wrapped", "Riverbed, lot R-1", under_warranty=False),
            Line("other", "wrapped", person="Ada", cost_cents=5),
        ]
    )
    assert found["cause"] == [Count("rust", 2, 1, 10_00), Count("other", 1, 1, 5)]
    assert found["step"] == [Count("wrapped", 2, 1, 5), Count(NOT_SAID, 1, 1, 10_00)]
    assert found["lot"] == [Count(NOT_SAID, 2, 2, 10_05), Count("Riverbed, lot R-1", 1, 0, 0)]
    # Of as many, what nobody said comes last.
    assert [count.what for count in found["person"]] == ["Ada", "Nell", NOT_SAID]


def test_nothing_came_back() -> None:
    assert counted([]) == {"cause": [], "step": [], "lot": [], "person": []}
