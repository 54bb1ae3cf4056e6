"""A figure held closer than 1/64 in is told in decimals of an inch wherever it stands, millimetres beside."""

from dataclasses import replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from shop.craft.quantities import parse_quantity
from shop.queries.bench import BenchRow
from shop.rules.bench_figures.base import BenchFigure, BenchSheet
from shop.rules.decide import decide
from shop.rules.facts import Facts, Meant
from shop.rules.sequences import Hold, HoldKind, Record, RecordKind, Sequence, Stage
from shop.web.benches import BenchSide
from shop.web.deps import Hub
from shop.web.figures import figure_line
from shop.web.rod_page import asks_of
from shop.web.ticket import stage_rows
from tests.conftest import Hands
from tests.web.bench_shop import open_bench

NOMINAL, TOLERANCE = parse_quantity("0.596 in"), parse_quantity("0.003 in")
WANTED = "0.596 in (15.1384 mm) ± 0.003 in (0.0762 mm)"
MEASURED = "0.6 in"
BY_MAKE_UP = Stage("fitted", records=(Record(RecordKind.MEASUREMENT, "bore"),))
HELD_BY_MAKE_UP = Stage("fitted", holds=(Hold(HoldKind.MEASUREMENT, name="bore"),))
HELD = Stage(
    "fitted", holds=(Hold(HoldKind.MEASUREMENT, name="bore", nominal=NOMINAL, tolerance=TOLERANCE),)
)  # fmt: skip
everywhere = pytest.mark.parametrize(
    "stage", [BY_MAKE_UP, HELD_BY_MAKE_UP, HELD], ids=["record", "hold", "own"]
)


@pytest.fixture
def row(hub: Hub, hands: Hands) -> BenchRow:
    open_bench(hub, hands)
    with hub.database.reading() as session:
        return BenchSide(hub, hub.clock.now()).row(session, "26-001")


def coming_next(row: BenchRow, stage: Stage, measured: str = "") -> BenchRow:
    """The rod with that stage next and a bore that is meant, and measured where a figure is given."""
    figures = {"bore": parse_quantity(measured)} if measured else {}
    facts = Facts(measured=figures, meant={} if stage is HELD else {"bore": Meant(NOMINAL, TOLERANCE)})
    sequence = Sequence("short", "casting", (stage,))
    decision = decide(sequence, facts, stage.name, datetime(2026, 3, 2, 9, 0, tzinfo=UTC))
    return row._replace(sequence=sequence, facts=facts, decision=decision)


@everywhere
def test_the_hint_beside_the_field_is_fine(row: BenchRow, stage: Stage) -> None:
    (ask,) = asks_of(stage, coming_next(row, stage), "owner", {})
    assert ask.hint == f"meant: {WANTED}"


@everywhere
def test_the_reason_of_a_hold_is_fine(row: BenchRow, stage: Stage) -> None:
    (hold,) = coming_next(row, stage, MEASURED).decision.holds
    assert hold.reason == f"“bore” measures 0.600 in (15.24 mm); it should be {WANTED}."


@everywhere
def test_the_ticket_is_fine(row: BenchRow, stage: Stage) -> None:
    (line,) = stage_rows(coming_next(row, stage, MEASURED), BenchSheet(), [], ZoneInfo("UTC"))
    (note,) = line.notes
    assert (note.said, note.measured) == (WANTED, "is 0.600 in (15.24 mm)")


def test_what_was_measured_stands_as_finely_beside_what_is_meant() -> None:
    bore = BenchFigure("grips", "bore", "0.596 in (15.14 mm)", NOMINAL, TOLERANCE)
    line = figure_line(bore, parse_quantity(MEASURED))
    assert (line.measured, line.tolerance) == ("0.600 in (15.24 mm)", "± 0.003 in (0.076 mm)")
    coarse = replace(bore, tolerance=parse_quantity("1/64 in"))
    line = figure_line(coarse, parse_quantity(MEASURED))
    assert (line.measured, line.tolerance) == ("19/32 in (15.24 mm)", "± 1/64 in (0.4 mm)")
