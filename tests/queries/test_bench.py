"""What a rod is said to wait for: time alone or what logging does not ask for; and when its window shuts."""

from dataclasses import replace
from datetime import datetime
from typing import Any

import pytest

from shop.craft.quantities import parse_quantity
from shop.queries.bench import BenchRow, shuts_at, waits_for_time
from shop.rules.decide import Decision, decide
from shop.rules.facts import CureFact, Meant
from shop.rules.sequences import Hold, HoldKind, Sequence
from shop.rules.soft import is_soft
from tests.rules.builders import (
    CLOSED,
    SECOND,
    WRAPS,
    after,
    coat,
    cure,
    failed,
    judge,
    reached,
    stage,
    with_cures,
)

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


FIRST = stage(name="first coat", place=WRAPS)
NEXT = stage(Hold(HoldKind.RECOAT, place=WRAPS), name="second coat", place=WRAPS)
# A coat that is fully cured a day after it was laid and may be coated for twelve hours longer.
LONG = coat(1, recoat_until=after(36))


def row_at(now: datetime, *cures: CureFact, **other: Any) -> BenchRow:
    """A rod whose first coat is logged and whose second comes next."""
    sequence, facts = (
        Sequence("short", "casting", (FIRST, NEXT)),
        with_cures(*cures, reached=reached("first coat")),
    )
    build: Any = None
    soft = tuple(one for one in cures if is_soft(one, now))
    return BenchRow(build, sequence, facts, decide(sequence, facts, NEXT.name, now), soft, **other)


@pytest.mark.parametrize(
    ("cures", "now", "shuts"),
    [
        ((LONG,), after(7), after(36)),
        ((LONG,), after(24), after(36)),  # fully cured, and still in its window
        ((LONG,), after(36), after(36)),
        ((LONG,), after(36) + SECOND, None),  # it has shut
        ((replace(LONG, recoat_until=None),), after(7), None),
        ((coat(1),), after(7), after(20)),
        # The coat that counts is the last one that did not fail.
        ((failed(coat(1)), coat(2, closed_at=after(1))), after(8), after(21)),
        # A second cup of the same coat, closed before the first had set: the first to shut counts.
        ((coat(1), coat(2, closed_at=after(1))), after(8), after(20)),
        # The next coat is laid, though its stage is not logged yet: nothing waits in the window.
        ((coat(1), coat(2, closed_at=after(7))), after(8), None),
        # A joint elsewhere has no say.
        ((coat(1), cure(2, recoat_until=after(9))), after(8), after(20)),
        ((), after(8), None),
    ],
)
def test_the_window_that_shuts_is_that_of_the_coat_the_next_one_goes_on(
    cures: tuple[CureFact, ...], now: datetime, shuts: datetime | None
) -> None:
    assert shuts_at(row_at(now, *cures), now) == shuts


def test_a_rod_with_no_stage_to_come_waits_in_no_window() -> None:
    row = row_at(CLOSED, coat(1))
    assert shuts_at(row._replace(decision=Decision(None, ())), CLOSED) is None
