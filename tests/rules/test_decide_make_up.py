"""Figures that the make-up of a rod means: holds that go by it, and records that are judged once measured."""

from dataclasses import replace
from typing import Any

import pytest

from shop.craft.quantities import parse_quantity
from shop.rules.decide import ClearedBy, decide
from shop.rules.facts import Facts, Meant
from shop.rules.sequences import Hold, HoldKind, Record, RecordKind, Sequence, Stage
from tests.rules.builders import CLOSED, judge, reached, shut, stage

BY_MAKE_UP = Hold(HoldKind.MEASUREMENT, name="handle")
BY_ITSELF = Hold(
    HoldKind.MEASUREMENT, name="handle", nominal=parse_quantity("300 mm"), tolerance=parse_quantity("1 mm")
)
RECORDS = Record(RecordKind.MEASUREMENT, "handle")
MEANT = {"handle": Meant(parse_quantity("250 mm"), parse_quantity("3 mm"))}
WANTED_WORDS = "9 27/32 in (250 mm) ± 1/8 in (3 mm)."
TABLE = pytest.mark.parametrize(
    ("measured", "open_"),
    [
        ("246.999999 mm", False),
        ("247 mm", True),
        ("250 mm", True),
        ("253 mm", True),
        ("253.000001 mm", False),
    ],
)


def facts(measured: str = "", **other: Any) -> Facts:
    """The handle measured, where a figure is given, on a rod whose make-up means 250 mm."""
    figures = {"handle": parse_quantity(measured)} if measured else {}
    return Facts(measured=figures, **{"meant": MEANT, **other})


def recording(*holds: Hold, records: tuple[Record, ...] = (RECORDS,)) -> Stage:
    return Stage("target", holds=holds, records=records)


@TABLE
@pytest.mark.parametrize("held", [stage(BY_MAKE_UP), recording(), recording(BY_MAKE_UP)], ids=str)
def test_a_figure_is_held_outside_what_the_make_up_means_and_free_on_its_very_ends(
    held: Stage, measured: str, open_: bool
) -> None:
    holds = shut(held, facts(measured), CLOSED)
    assert len(holds) == (0 if open_ else 1)
    for hold in holds:
        assert hold.reason.startswith("“handle” measures 9 ")
        assert hold.reason.endswith(f"it should be {WANTED_WORDS}")
        assert (hold.kind, hold.cleared_by, hold.clears_at) == (HoldKind.MEASUREMENT, ClearedBy.OWNER, None)
        assert (hold.waivable, hold.is_asked) == (True, True)


def test_a_figure_of_another_kind_is_no_figure_of_it() -> None:
    said = f"“handle” is on record as 62 g; it should be {WANTED_WORDS}"
    (hold,) = shut(stage(BY_MAKE_UP), facts("62 g"), CLOSED)
    assert (hold.reason, hold.cleared_by) == (said, ClearedBy.WORK)
    (hold,) = shut(recording(), facts("62 g"), CLOSED)
    assert (hold.reason, hold.cleared_by) == (said, ClearedBy.WORK)
    (hold,) = shut(recording(), facts("250"), CLOSED)
    assert hold.reason == f"“handle” was measured as 250 without a unit; it should be {WANTED_WORDS}"


def test_a_figure_put_right_after_its_stage_holds_the_next_one() -> None:
    earlier = Stage("fitted", records=(RECORDS,))
    sequence = Sequence("one", "casting", (earlier, Stage("target")))
    known = facts("260 mm", reached=reached("fitted"))
    (hold,) = decide(sequence, known, "target", CLOSED).holds
    assert hold.reason.startswith("“handle” measures 10 ")
    assert decide(sequence, facts("250 mm", reached=reached("fitted")), "target", CLOSED).allowed
    for name in ("fitted", "target"):
        released = frozenset({(name, HoldKind.MEASUREMENT)})
        assert decide(sequence, replace(known, releases=released), "target", CLOSED).allowed


def test_a_hold_demands_the_figure_and_a_record_only_asks() -> None:
    (hold,) = shut(stage(BY_MAKE_UP), facts(), CLOSED)
    assert hold.reason == f"“handle” has not been measured; it should be {WANTED_WORDS}"
    assert (hold.cleared_by, hold.is_asked) == (ClearedBy.WORK, True)
    assert shut(recording(), facts(), CLOSED) == ()


@pytest.mark.parametrize("measured", ["", "250 mm"])
def test_a_hold_by_the_make_up_is_shut_while_that_is_silent(measured: str) -> None:
    (hold,) = shut(stage(BY_MAKE_UP), facts(measured, meant={}), CLOSED)
    assert hold.reason == "The make-up does not say what “handle” should be."
    assert (hold.kind, hold.cleared_by, hold.clears_at) == (HoldKind.MEASUREMENT, ClearedBy.WORK, None)
    assert (hold.waivable, hold.is_asked) == (True, False)


def test_a_record_that_the_make_up_is_silent_on_is_not_judged() -> None:
    other = {"fore grip": MEANT["handle"]}
    assert shut(recording(), facts("1 mm", meant=other), CLOSED) == ()
    assert shut(recording(), facts("1 mm", meant={}), CLOSED) == ()


def test_only_what_the_stage_itself_measures_is_judged() -> None:
    for records in ((), (Record(RecordKind.CHECK, "handle"),), (Record(RecordKind.MEASUREMENT, "seat"),)):
        assert shut(recording(records=records), facts("1 mm"), CLOSED) == ()


def test_a_hold_s_own_figure_goes_before_the_make_up_s_and_is_said_once() -> None:
    assert shut(recording(BY_ITSELF), facts("300 mm"), CLOSED) == ()
    (hold,) = shut(recording(BY_ITSELF), facts("250 mm"), CLOSED)
    assert hold.reason.endswith("(300 mm) ± 3/64 in (1 mm).")


def test_every_figure_that_is_out_is_said_after_the_stage_s_own_holds() -> None:
    seat = Record(RecordKind.MEASUREMENT, "seat")
    meant = {**MEANT, "seat": Meant(parse_quantity("17 mm"), parse_quantity("0.1 mm"))}
    check = Hold(HoldKind.CHECK, check="in line")
    measured = {"handle": parse_quantity("1 mm"), "seat": parse_quantity("16 mm")}
    held = recording(check, records=(RECORDS, seat))
    decision = judge(held, Facts(meant=meant, measured=measured), CLOSED)
    assert [hold.reason[:9] for hold in decision.holds] == ["The check", "“handle” ", "“seat” me"]


@pytest.mark.parametrize(
    ("held", "measured"), [(recording(), "1 mm"), (recording(BY_MAKE_UP), "1 mm"), (stage(BY_MAKE_UP), "")]
)
def test_an_owner_releases_figures_for_that_stage_alone(held: Stage, measured: str) -> None:
    here = frozenset({("target", HoldKind.MEASUREMENT)})
    elsewhere = frozenset({("other", HoldKind.MEASUREMENT), ("target", HoldKind.ORDER)})
    assert shut(held, facts(measured, releases=here), CLOSED) == ()
    assert len(shut(held, facts(measured, releases=elsewhere), CLOSED)) == 1
