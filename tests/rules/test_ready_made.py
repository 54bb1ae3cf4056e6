"""The ready-made sequences: that they make sense, and what common practice asks of them."""

from importlib.util import module_from_spec, spec_from_file_location
from itertools import pairwise

import pytest

from shop.paths import MIGRATIONS
from shop.rules.ready_made import READY_MADE
from shop.rules.sequences import ROD_KINDS, Hold, HoldKind, Sequence, doubts_of
from tests.rules.builders import faults_of

DEFAULT_STAGES = [
    "order agreed", "parts in hand", "blank checked", "spine marked", "grips fitted", "rear grip glued",
    "reel seat and fore grip glued", "handle cured", "guides laid out", "wrapped", "first finish coat",
    "second finish coat", "finish cured", "butt cap fitted", "inspected", "handed over",
]  # fmt: skip
# The first of each kind: what a rod follows where nobody says another.
BY_KIND = {sequence.rod_kind: sequence for sequence in reversed(READY_MADE)}


@pytest.mark.parametrize("sequence", READY_MADE, ids=lambda sequence: sequence.name)
def test_each_makes_sense(sequence: Sequence) -> None:
    assert faults_of(sequence) == []
    assert doubts_of(sequence) == []
    assert any(stage.customer_words for stage in sequence.stages)
    assert sequence.stages[-1].name == "handed over"


def test_there_is_one_for_every_kind_of_rod() -> None:
    assert set(BY_KIND) == set(ROD_KINDS)


@pytest.mark.parametrize("kind", ["casting", "spinning"])
def test_the_default_has_the_stages_of_the_design(kind: str) -> None:
    assert [stage.name for stage in BY_KIND[kind].stages] == DEFAULT_STAGES


@pytest.mark.parametrize(
    ("stage", "kind", "places"),
    [
        ("reel seat and fore grip glued", HoldKind.SET, ("rear grip",)),
        ("handle cured", HoldKind.FULL_CURE, ("rear grip", "reel seat", "fore grip")),
        ("finish cured", HoldKind.FULL_CURE, ("guide wraps",)),
    ],
)
def test_the_default_waits_for_the_chemistry_that_the_design_names(
    stage: str, kind: HoldKind, places: tuple[str, ...]
) -> None:
    found = BY_KIND["casting"].stage(stage)
    assert found is not None
    assert [hold.places for hold in found.holds if hold.kind is kind] == [places]


def test_the_second_coat_waits_for_the_window_of_the_first() -> None:
    for sequence in READY_MADE:
        second = sequence.stage("second finish coat")
        if second is None:
            assert sequence.name in ("Repair: joint glued again", "Repair: new tip-top")
            continue
        assert [hold.place for hold in second.holds if hold.kind is HoldKind.RECOAT] == ["guide wraps"]


def place_of(sequence: Sequence, *names: str) -> list[int]:
    """Where the stages stand in the sequence."""
    order = [stage.name for stage in sequence.stages]
    return [order.index(name) for name in names]


def test_the_butt_cap_goes_on_after_wrapping_and_the_last_turning() -> None:
    # Common practice, no source: chuck jaws need the bare butt until the last coat has been turned.
    wrapped, cured, cap = place_of(BY_KIND["casting"], "wrapped", "finish cured", "butt cap fitted")
    assert wrapped < cured < cap


def test_roller_guides_wait_for_a_hard_underwrap() -> None:
    # Common practice, no source: the underwrap is coated and cured before a guide is put on it.
    coated, hard, laid_out = place_of(
        BY_KIND["boat"], "underwrap coated", "underwrap cured", "guides laid out"
    )
    assert coated < hard < laid_out


def test_a_surf_rods_seat_waits_for_its_arbor_and_the_arbor_for_the_grip_behind_it() -> None:
    # Common practice, no source: a joint is pushed on only once the one behind it has set.
    waits = {
        stage.name: {place for hold in stage.holds if hold.kind is HoldKind.SET for place in hold.places}
        for stage in BY_KIND["surf"].stages
    }
    assert waits["arbor glued"] == {"rear grip"}
    assert waits["reel seat and fore grip glued"] == {"rear grip", "reel seat arbor"}


@pytest.mark.parametrize("sequence", READY_MADE, ids=lambda sequence: sequence.name)
def test_the_handle_is_hard_at_every_joint_before_a_guide_is_laid_out(sequence: Sequence) -> None:
    # Common practice, no source: neither wrapper nor bend test may load a joint that is not fully cured.
    glued: set[str] = set()
    hard: set[str] = set()
    for stage in sequence.stages:
        if stage.name == "guides laid out":
            break
        glued.update(stage.cure_places())
        hard.update(place for hold in stage.holds if hold.kind is HoldKind.FULL_CURE for place in hold.places)
    assert glued == hard or sequence.rod_kind == "repair"


@pytest.mark.parametrize("sequence", READY_MADE, ids=lambda sequence: sequence.name)
def test_every_stage_waits_for_the_one_before_it(sequence: Sequence) -> None:
    for before, stage in pairwise(sequence.stages):
        assert stage.holds[0] == Hold(HoldKind.ORDER, stages=(before.name,))


def test_a_stage_shows_the_figures_that_the_migration_gave_to_those_on_file() -> None:
    spec = spec_from_file_location("make_ups", MIGRATIONS / "versions" / "0002_make_ups.py")
    assert spec is not None
    assert spec.loader is not None
    migration = module_from_spec(spec)
    spec.loader.exec_module(migration)
    given = {name: tuple(figures) for name, figures in migration.FIGURES.items()}
    for sequence in READY_MADE:
        for stage in sequence.stages:
            assert stage.figures == given.get(stage.name, ()), f"{sequence.name}, {stage.name}"
    assert set(given) <= {stage.name for sequence in READY_MADE for stage in sequence.stages}


def test_hours_of_hands_are_those_of_the_trade() -> None:
    # Common practice, no source: attended hours of a practised builder, by kind of rod.
    hours = {
        "casting": (7, 9), "spinning": (7, 9), "fly": (9, 13), "surf": (8, 11), "boat": (9, 14),
        "repair": (0.3, 3),
    }  # fmt: skip
    for kind, (least, most) in hours.items():
        assert least <= sum(stage.attended_minutes for stage in BY_KIND[kind].stages) / 60 <= most


def test_the_customer_hears_what_may_still_be_changed_and_nothing_of_cutting_and_gluing() -> None:
    words = {stage.name: stage.customer_words for stage in BY_KIND["casting"].stages}
    assert "tell us today if its length is wrong" in words["grips fitted"]
    # Until when the colour may be changed is worked out from the sequence and stands on the customer's page.
    assert words["wrapped"] == "The wraps are done."
    assert not words["rear grip glued"]
    assert not words["blank checked"]


@pytest.mark.parametrize("sequence", [item for item in READY_MADE if item.rod_kind == "repair"])
def test_every_repair_is_taken_in_signed_and_examined_before_it_is_touched(sequence: Sequence) -> None:
    begin = ["taken in", "looked at", "repair agreed", "parts in hand", "stripped"]
    assert [stage.name for stage in sequence.stages[:5]] == begin
    assert "condition list signed" in [hold.check for hold in sequence.stages[0].holds]
    glued = {place for stage in sequence.stages for place in stage.cure_places()}
    hard = {
        place for stage in sequence.stages for hold in stage.holds if hold.kind is HoldKind.FULL_CURE
        for place in hold.places
    }  # fmt: skip
    assert glued == hard
    assert 0.3 <= sum(stage.attended_minutes for stage in sequence.stages) / 60 <= 4


def test_a_repair_of_which_nobody_says_more_is_the_first_by_name() -> None:
    names = [item.name for item in READY_MADE if item.rod_kind == "repair"]
    assert min(names) == names[0] == "Repair: guides wrapped again"
