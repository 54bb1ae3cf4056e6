"""Cautions: at the steps that need them, by what is closed there and by the words of the stage's name.

Which step needs which is common practice, no source.
"""

import pytest

from shop.rules.cautions import (
    BLADES,
    DUST,
    EPOXY,
    LATHE,
    LOAD,
    SOLVENT,
    TURNER,
    WASTE,
    Caution,
    cautions_for,
)
from shop.rules.ready_made import READY_MADE
from shop.rules.sequences import Record, RecordKind, Sequence, Stage

COAT = (EPOXY, SOLVENT, TURNER, WASTE)


@pytest.mark.parametrize(
    ("name", "place", "cautions"),
    [
        ("order agreed", "", ()),
        ("spine marked", "", (LOAD,)),
        ("grips fitted", "", (DUST, LATHE, BLADES)),
        ("handle shaped and fitted", "", (DUST, LATHE, BLADES)),
        ("grips cut", "", (DUST, BLADES)),
        ("seat reamed", "", (DUST, LATHE)),
        ("Grip Stock Cut", "", (DUST, BLADES)),
        ("rear grip glued", "rear grip", (EPOXY, WASTE)),
        ("tip-top on", "tip-top", (EPOXY, SOLVENT, WASTE)),
        ("guides laid out", "", (LOAD,)),
        ("wrapped", "", (LATHE, BLADES)),
        ("first finish coat", "guide wraps", COAT),
        ("underwrap coated", "underwrap", COAT),
        ("finish cured", "", ()),
        ("butt cap fitted", "butt cap", (EPOXY, WASTE)),
        ("stripped", "", (DUST, BLADES, SOLVENT)),
        ("inspected", "", (LOAD,)),
        # Words inside other words say nothing: no cut in “executed”, no turning in “returned”.
        ("order executed", "", ()),
        ("returned to the customer", "", ()),
    ],
)
def test_a_stage_has_the_cautions_of_its_work(name: str, place: str, cautions: tuple[Caution, ...]) -> None:
    records = (Record(RecordKind.CURE, place),) if place else ()
    assert cautions_for(Stage(name, records=records)) == cautions


@pytest.mark.parametrize("sequence", READY_MADE, ids=lambda sequence: sequence.name)
def test_wherever_something_is_closed_epoxy_comes_first_and_nothing_is_said_twice(sequence: Sequence) -> None:
    for stage in sequence.stages:
        cautions = cautions_for(stage)
        assert (EPOXY in cautions[:1]) is bool(stage.cure_places())
        assert len(set(cautions)) == len(cautions)


def test_a_figure_or_a_photo_is_no_epoxy() -> None:
    kinds = (RecordKind.MEASUREMENT, RecordKind.CHECK, RecordKind.PHOTO)
    assert cautions_for(Stage("noted", records=tuple(Record(kind, "guide wraps") for kind in kinds))) == ()
