"""What logging a stage answers of its holds is data: a name in which the same words occur misleads nobody."""

from dataclasses import replace

import pytest

from shop.craft.quantities import parse_quantity
from shop.rules.decide import ClearedBy
from shop.rules.facts import CureFact, Facts, Suspect, Tick
from shop.rules.sequences import PREP_CHECK, Hold, HoldKind, Record, RecordKind, Stage
from tests.rules.builders import CLOSED, WRAPS, after, coat, cure, reached, shut, stage, with_cures

LAY = Stage("target", holds=(Hold(HoldKind.RECOAT, place=WRAPS),), records=(Record(RecordKind.CURE, WRAPS),))
FIRST = Stage("first coat", records=(Record(RecordKind.CURE, WRAPS),))
HANDLE = Hold(HoldKind.MEASUREMENT, name="handle")
BORE = replace(HANDLE, name="bore", nominal=parse_quantity("12 mm"), tolerance=parse_quantity("1 mm"))


@pytest.mark.parametrize(
    ("laid", "hours", "by", "check"),
    [
        (coat(), 5, ClearedBy.TIME, ""),
        # “prep” stands in the reason of each of these, by the name of the finish alone.
        (coat(adhesive="Quick prep finish"), 5, ClearedBy.TIME, ""),
        (coat(adhesive="Quick prep finish", recoat_from=None), 30, ClearedBy.WORK, ""),
        (coat(), 21, ClearedBy.PERSON, PREP_CHECK),
        (cure(place=WRAPS), 21, ClearedBy.PERSON, PREP_CHECK),
    ],
)
def test_only_a_ground_to_be_prepared_is_answered_by_the_tick(
    laid: CureFact, hours: float, by: ClearedBy, check: str
) -> None:
    (hold,) = shut(LAY, with_cures(laid, reached=reached("first coat")), after(hours), FIRST)
    assert (hold.cleared_by, hold.check, hold.figure) == (by, check, "")
    assert hold.is_asked is bool(check)


@pytest.mark.parametrize(
    ("held", "measured", "figure"),
    [
        (HANDLE, "", ""),
        (HANDLE, "12 mm", ""),
        (BORE, "", "bore"),
        (BORE, "14 mm", "bore"),
        (BORE, "14 g", "bore"),
    ],
)
def test_a_figure_is_answered_by_measuring_once_somebody_said_what_it_should_be(
    held: Hold, measured: str, figure: str
) -> None:
    found = {held.name: parse_quantity(measured)} if measured else {}
    (hold,) = shut(stage(held), Facts(measured=found), CLOSED)
    assert (hold.figure, hold.check, hold.is_asked) == (figure, "", bool(figure))


@pytest.mark.parametrize("ticks", [(), (Tick("spine", "Nell"),)])
def test_a_check_is_answered_by_its_own_tick(ticks: tuple[Tick, ...]) -> None:
    by_two = Hold(HoldKind.CHECK, check="spine", second_person=True)
    (hold,) = shut(stage(by_two), Facts(ticks=ticks, who="Nell"), CLOSED)
    assert (hold.check, hold.figure, hold.is_asked) == ("spine", "", True)


def test_stalled_is_what_a_cure_is_not_what_somebody_wrote() -> None:
    doubt = Suspect(1, "Riverbed", "Stalled in the cold, Ott thinks.")
    known = with_cures(cure(set_at=None), suspects=(doubt,))
    holds = shut(stage(Hold(HoldKind.SET, places=("rear grip",))), known, after(1))
    assert [(hold.kind, hold.is_stalled) for hold in holds] == [
        (HoldKind.SUSPECT, False),
        (HoldKind.SET, True),
    ]
    frozen = with_cures(coat(recoat_from=None), reached=reached("first coat"))
    assert [hold.is_stalled for hold in shut(LAY, frozen, after(1), FIRST)] == [True]
