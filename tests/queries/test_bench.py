"""What a rod is said to wait for: time alone, or something that logging the stage does not ask for."""

import pytest

from shop.craft.quantities import parse_quantity
from shop.queries.bench import waits_for_time
from shop.rules.facts import Meant
from shop.rules.sequences import Hold, HoldKind
from tests.rules.builders import after, cure, judge, stage, with_cures

SETS = Hold(HoldKind.SET, places=("rear grip",))
ORDER = Hold(HoldKind.ORDER, stages=("first",))
CHECK = Hold(HoldKind.CHECK, check="in line")
MEASURES = Hold(HoldKind.MEASUREMENT, name="handle")
MEANT = {"handle": Meant(parse_quantity("250 mm"), parse_quantity("3 mm"))}


@pytest.mark.parametrize(
    ("holds", "meant", "waits"),
    [
        ((SETS,), {}, True),
        ((SETS, CHECK), {}, True),
        ((SETS, MEASURES), MEANT, True),
        ((SETS, MEASURES), {}, False),  # no tap says what the figure should be
        ((SETS, ORDER), {}, False),
        ((CHECK,), {}, False),
        ((), {}, False),
    ],
)
def test_a_rod_waits_for_time_where_all_else_is_asked_for_when_it_is_logged(
    holds: tuple[Hold, ...], meant: dict[str, Meant], waits: bool
) -> None:
    decision = judge(stage(*holds), with_cures(cure(), meant=meant), after(1), stage(name="first"))
    assert waits_for_time(decision) is waits
