"""Ready-made classes: each can be an adhesive, and each figure lies on the careful side of its class."""

from typing import NamedTuple

import pytest

from shop.rules.adhesives import FIELDS, READY_MADE_SOURCE, faults_of_adhesive
from shop.rules.ready_made_sheets import CLASSES, DAY, HOUR, NAMES, SheetClass, figures_of_class


class Practice(NamedTuple):
    """Common practice, from memory: shortest pot life, longest set, longest full cure, in minutes; °C."""

    pot_life: float
    set_time: float
    full_cure: float
    coldest_c: float


PRACTICE = {
    "five-minute epoxy": Practice(3, 60, DAY, 13),
    "30 to 60 minute liquid epoxy, 1:1": Practice(20, 8 * HOUR, 3 * DAY, 15),
    "30 to 60 minute liquid epoxy, 2:1": Practice(20, 8 * HOUR, 3 * DAY, 15),
    "slow paste epoxy, 1:1": Practice(45, 12 * HOUR, 7 * DAY, 16),
    "slow paste epoxy, 2:1": Practice(45, 12 * HOUR, 7 * DAY, 16),
    "wrap finish, light": Practice(20, 8 * HOUR, 7 * DAY, 20),
    "wrap finish, high-build": Practice(15, 8 * HOUR, 7 * DAY, 20),
}


@pytest.mark.parametrize("name", NAMES)
def test_a_class_has_figures_that_a_sheet_can_have(name: str) -> None:
    figures = {**dict.fromkeys(FIELDS), "name": "Brook", **figures_of_class(name)}
    assert faults_of_adhesive(figures) == {}
    assert figures["source"] == READY_MADE_SOURCE
    assert set(figures) == set(FIELDS)


@pytest.mark.parametrize("kind", CLASSES, ids=lambda kind: kind.name)
def test_every_figure_is_on_the_careful_side(kind: SheetClass) -> None:
    figures = figures_of_class(kind.name)
    practice = PRACTICE[kind.name]
    assert figures["pot_life_minutes"] <= practice.pot_life
    assert figures["set_minutes"] >= practice.set_time
    assert figures["full_cure_minutes"] >= practice.full_cure
    assert figures["coldest_c"] >= practice.coldest_c


def test_a_finish_says_its_window_and_its_turning_and_a_bond_neither() -> None:
    for kind in CLASSES:
        timed = (kind.recoat_from_minutes, kind.recoat_until_minutes, kind.turn_minutes)
        assert timed == ((12 * HOUR, DAY, 8 * HOUR) if kind.use == "finish" else (None,) * 3)


def test_a_class_that_is_not_there() -> None:
    with pytest.raises(LookupError):
        figures_of_class("hide glue")
