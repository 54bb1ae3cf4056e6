"""Which figures a stage shows: its topics, the epoxy of its joints, what has no stage of its own."""

from dataclasses import replace

import pytest

from shop.craft.quantities import parse_quantity
from shop.rules.bench_figures.sheet import bench_sheet
from shop.rules.make_up import Part
from shop.rules.sequences import Record, RecordKind, Sequence, Stage
from shop.web.figures import figure_groups, figures_of_stage
from tests.rules.make_ups import CASTING, REAR, SEAT, casting, nm

ARBOR = Part(
    "reel seat arbor", "arbor", "Arbor", nm("9 1/2"), nm("14"), 8,
    {"od": nm("0.640"), "bore": nm("0.542")}, 2_000,
)  # fmt: skip
ON_ARBOR = casting(parts=(REAR, ARBOR, SEAT))


def glues(name: str, *places: str) -> Stage:
    return Stage(name, records=tuple(Record(RecordKind.CURE, place) for place in places), figures=("glue",))


REAR_STAGE, SEAT_STAGE = glues("rear glued", "rear grip"), glues("seat glued", "reel seat")


def epoxy(stage: Stage, *others: Stage) -> set[str]:
    """The places whose epoxy a stage shows."""
    sequence = Sequence("one", "casting", (*others, stage))
    groups = figures_of_stage(bench_sheet(ON_ARBOR), sequence, stage, {})
    return {line.name.partition(",")[0] for group in groups for line in group.lines}


def test_a_stage_shows_the_epoxy_of_its_own_joints() -> None:
    assert epoxy(REAR_STAGE, SEAT_STAGE) == {"rear grip"}


def test_an_arbor_without_a_stage_of_its_own_goes_with_its_seat() -> None:
    assert epoxy(SEAT_STAGE, REAR_STAGE) == {"reel seat", "reel seat arbor"}
    assert epoxy(SEAT_STAGE, glues("arbor glued", "reel seat arbor")) == {"reel seat"}


def test_a_stage_that_shows_nothing_has_no_figures() -> None:
    bare = replace(SEAT_STAGE, figures=())
    assert figures_of_stage(bench_sheet(CASTING), Sequence("one", "casting", (bare,)), bare, {}) == []


@pytest.mark.parametrize(
    ("measured", "verdict"),
    [("84 in", "within"), ("84 1/4 in", "within"), ("85 in", "out of tolerance"), ("58 g", "A mass cannot")],
)
def test_what_was_measured_is_judged_beside_what_is_meant(measured: str, verdict: str) -> None:
    known = {"blank length": parse_quantity(measured)}
    (group,) = figure_groups(bench_sheet(CASTING), {"blank"}, known)
    line = next(line for line in group.lines if line.name == "blank length")
    assert verdict in line.verdict
