"""Adhesives: figures that no data sheet can have are refused; where the sheet is silent, nothing is kept."""

from datetime import date
from math import nan
from typing import Any

import pytest
from sqlalchemy.orm import Session

from shop.queries.adhesives import (
    AdhesiveView,
    adhesive_record,
    adhesive_view,
    adhesives_by_name,
    changes_after,
    last_changes,
)
from shop.queries.cures import cure_view, open_cure_facts
from shop.queries.mixes import mix_view
from shop.rules.adhesives import MARKS, READY_MADE_SOURCE, SheetState
from shop.rules.refusals import BadInput, NotOnFile, Overtaken
from shop.services.adhesives import add_adhesive, change_adhesive, confirm_adhesive, start_from_class
from shop.services.corrections import MixAnew, correct_mix
from shop.services.mixes import COPIED
from tests.api.filled import BOND, FINISH
from tests.conftest import START
from tests.lot_shop import LotShop, bench_at

# Round figures of our own, like those of a bonding epoxy and a wrap finish.
SHEET: dict[str, Any] = {
    "name": "Riverbed", "use": "bond", "parts_a": 2.0, "parts_b": 1.0, "reference_c": 25.0,
    "pot_life_minutes": 30.0, "set_minutes": 600.0, "full_cure_minutes": 1440.0,
}  # fmt: skip
WINDOW = {"recoat_from_minutes": 360.0, "recoat_until_minutes": 1200.0}
BY: dict[str, Any] = {"now": START, "by": "Nell"}
SIXTY_DAYS = 60 * 24 * 60.0


def put(session: Session, **figures: Any) -> AdhesiveView:
    """The adhesive as it is kept."""
    return adhesive_view(session, add_adhesive(session, now=START, by="Nell", **{**SHEET, **figures}).id)


def faults(session: Session, **figures: Any) -> dict[str, str]:
    with pytest.raises(BadInput) as refused:
        put(session, **figures)
    return refused.value.errors


@pytest.mark.parametrize(
    ("figures", "field"),
    [
        ({"name": ""}, "name"),
        ({"name": None}, "name"),
        ({"name": "x" * 121}, "name"),
        ({"use": "paint"}, "use"),
        ({"use": None}, "use"),
        ({"parts_a": 0.0}, "parts_a"),
        ({"parts_b": -1.0}, "parts_b"),
        ({"parts_b": None}, "parts_b"),
        ({"density_a": 0.49}, "density_a"),
        ({"density_b": 3.01}, "density_b"),
        ({"reference_c": -10.1}, "reference_c"),
        ({"reference_c": 60.1}, "reference_c"),
        ({"reference_c": None}, "reference_c"),
        ({"reference_c": nan}, "reference_c"),
        ({"pot_life_minutes": 0.0}, "pot_life_minutes"),
        ({"pot_life_minutes": -5.0}, "pot_life_minutes"),
        ({"set_minutes": None}, "set_minutes"),
        ({"full_cure_minutes": SIXTY_DAYS + 1}, "full_cure_minutes"),
        ({"full_cure_minutes": 599.0}, "full_cure_minutes"),
        ({"recoat_from_minutes": 0.0}, "recoat_from_minutes"),
        ({"recoat_until_minutes": 360.0}, "recoat_until_minutes"),
        ({**WINDOW, "recoat_until_minutes": 359.0}, "recoat_until_minutes"),
        ({**WINDOW, "recoat_until_minutes": 360.0}, "recoat_until_minutes"),
        ({"coldest_c": 25.1}, "coldest_c"),
        ({"doubling_c": 0.0}, "doubling_c"),
        ({"doubling_c": -3.0}, "doubling_c"),
        ({"doubling_c": 40.1}, "doubling_c"),
        ({"turn_minutes": 0.0}, "turn_minutes"),
        ({"turn_minutes": 1440.1}, "turn_minutes"),
        ({"opened_life_days": 0}, "opened_life_days"),
        ({"opened_life_days": 3651}, "opened_life_days"),
        ({"sheet_date": date(1999, 12, 31)}, "sheet_date"),
        ({"sheet_date": date(2100, 1, 2)}, "sheet_date"),
    ],
)
def test_what_no_sheet_can_say_is_refused_beside_its_field(
    session: Session, figures: dict[str, Any], field: str
) -> None:
    assert list(faults(session, **figures)) == [field]
    assert adhesives_by_name(session) == []


@pytest.mark.parametrize(
    "figures",
    [
        {"density_a": 0.5, "density_b": 3.0},
        {"reference_c": -10.0},
        {"reference_c": 60.0},
        {"full_cure_minutes": SIXTY_DAYS},
        {"full_cure_minutes": 600.0},
        {"use": "finish", **WINDOW},
        {"use": "finish", "recoat_from_minutes": 360.0, "recoat_until_minutes": 360.01},
        {"use": "finish", "recoat_from_minutes": 360.0},
        {"coldest_c": 25.0},
        {"doubling_c": 1.0},
        {"doubling_c": 40.0},
        {"turn_minutes": 1440.0},
        {"opened_life_days": 1},
        {"opened_life_days": 3650},
        {"sheet_date": date(2000, 1, 1)},
    ],
)
def test_the_last_figure_that_can_be_is_kept(session: Session, figures: dict[str, Any]) -> None:
    kept = put(session, **figures)._asdict()
    assert {name: kept[name] for name in figures} == figures


def test_where_the_sheet_is_silent_nothing_is_made_up(session: Session) -> None:
    kept = put(session)
    silent = (kept.density_a, kept.density_b, *(kept[11:15]), *(kept[16:19]))
    assert silent == (None,) * 9
    assert kept.source == ""


def test_every_fault_is_told_at_once(session: Session) -> None:
    assert set(faults(session, name="", parts_a=0.0, density_b=9.0)) == {"name", "parts_a", "density_b"}


def test_a_name_stands_for_one_product(session: Session) -> None:
    first, other = put(session), put(session, name="Stillwater")
    assert faults(session) == {"name": "There is an adhesive called Riverbed already."}
    with pytest.raises(BadInput):
        change_adhesive(session, other.id, **BY, name="Riverbed")
    change_adhesive(session, first.id, **BY, name="Riverbed", source="sheet of 2026")
    assert adhesive_view(session, first.id) == first._replace(source="sheet of 2026", version=2)


def test_a_change_is_judged_together_with_what_stays(session: Session) -> None:
    item = put(session, coldest_c=20.0)
    with pytest.raises(BadInput) as refused:
        change_adhesive(session, item.id, **BY, reference_c=19.0)
    assert list(refused.value.errors) == ["coldest_c"]
    change_adhesive(session, item.id, **BY, reference_c=19.0, coldest_c=None)
    assert adhesive_view(session, item.id) == item._replace(reference_c=19.0, coldest_c=None, version=2)


def test_an_adhesive_that_is_not_on_file(session: Session) -> None:
    with pytest.raises(NotOnFile):
        change_adhesive(session, 7, **BY, name="Riverbed")


def test_a_mix_keeps_every_figure_it_began_with(session: Session) -> None:
    shop = LotShop(session, START)
    finish = adhesive_record(session, FINISH)
    finish.turn_minutes = 360.0
    mix = shop.mix(adhesive_id=FINISH)
    shop.close(mix, "guide wraps")
    before = {name: getattr(mix, name) for name in COPIED}
    assert before == {name: getattr(finish, name) for name in COPIED}
    assert before["turn_minutes"] == 360.0
    anew: dict[str, Any] = {
        "reference_c": 25.0,
        "pot_life_minutes": 20.0,
        "set_minutes": 400.0,
        "full_cure_minutes": 2880.0,
    }
    anew |= {"turn_minutes": 120.0, "recoat_until_minutes": None, "coldest_c": 18.0}
    change_adhesive(session, FINISH, **BY, **anew)
    session.expire(mix)
    assert {name: getattr(mix, name) for name in COPIED} == before
    assert shop.mix(adhesive_id=FINISH).turn_minutes == 120.0


def test_a_class_begins_unconfirmed_under_a_name_of_its_own(session: Session) -> None:
    item = start_from_class(session, now=START, by="Nell", name="Brook", ready_made="wrap finish, light")
    view = adhesive_view(session, item.id)
    assert (view.ready_made, view.source, view.confirmed) == ("wrap finish, light", READY_MADE_SOURCE, False)
    assert (view.turn_minutes, view.opened_life_days) == (480.0, 365)
    for name, ready_made, field in (
        ("Brook", "wrap finish, light", "name"),
        ("Beck", "hide glue", "ready_made"),
    ):
        with pytest.raises(BadInput) as refused:
            start_from_class(session, now=START, by="Nell", name=name, ready_made=ready_made)
        assert list(refused.value.errors) == [field]


SAID: dict[str, Any] = {"source": "wrap finish, revision 4", "sheet_date": date(2026, 1, 15)}
READ: dict[str, Any] = {"source": "sheet", "sheet_date": date(2026, 3, 2)}


def test_what_is_confirmed_are_the_figures_that_were_read(session: Session) -> None:
    item = start_from_class(session, **BY, name="Brook", ready_made="five-minute epoxy")
    shown, bench = item.version, bench_at(session, START)
    change_adhesive(session, item.id, **BY, set_minutes=120.0)
    with pytest.raises(Overtaken):
        confirm_adhesive(session, bench, item.id, version=shown, **READ)
    assert not adhesive_view(session, item.id).confirmed
    confirm_adhesive(session, bench, item.id, version=item.version, **READ)
    view = adhesive_view(session, item.id)
    assert (view.confirmed, view.confirmed_at, view.confirmed_by) == (True, START, "Nell")
    with pytest.raises(BadInput):
        change_adhesive(session, item.id, **BY, set_minutes=-1.0)
    assert adhesive_view(session, item.id).confirmed
    change_adhesive(session, item.id, **BY, set_minutes=90.0)
    assert not adhesive_view(session, item.id).confirmed


@pytest.mark.parametrize(
    ("typed", "changes", "state"),
    [
        (SAID, {}, SheetState.CONFIRMED),
        ({}, {}, SheetState.NOT_NAMED),
        ({"sheet_date": date(2026, 1, 15)}, {}, SheetState.NOT_NAMED),
        ({"source": "revision 4"}, {}, SheetState.NOT_DATED),
        ({"source": READY_MADE_SOURCE, "sheet_date": date(2026, 1, 15)}, {}, SheetState.NOT_NAMED),
        # What was typed without a sheet is not the sheet's by naming one: somebody confirms it.
        ({}, SAID, SheetState.NOT_CONFIRMED),
        (SAID, {"name": "Brook"}, SheetState.CONFIRMED),
        (SAID, {"set_minutes": 600.0}, SheetState.CONFIRMED),
        (SAID, {"set_minutes": 601.0}, SheetState.NOT_CONFIRMED),
        (SAID, {"set_minutes": 601.0, "source": "revision 5"}, SheetState.CONFIRMED),
        (SAID, {"set_minutes": 601.0, "sheet_date": date(2026, 2, 1)}, SheetState.CONFIRMED),
        (SAID, {"source": ""}, SheetState.NOT_NAMED),
        (SAID, {"sheet_date": None}, SheetState.NOT_DATED),
    ],
)
def test_typed_figures_are_the_sheets_only_where_it_is_named(
    session: Session, typed: dict[str, Any], changes: dict[str, Any], state: SheetState
) -> None:
    item = put(session, **typed)
    change_adhesive(session, item.id, **BY, **changes)
    view = adhesive_view(session, item.id)
    assert (view.sheet_state, view.confirmed) == (state, state is SheetState.CONFIRMED)
    bench = bench_at(session, START)
    if view.confirmed:
        with pytest.raises(Overtaken):
            confirm_adhesive(session, bench, item.id, **READ)
    else:
        confirm_adhesive(session, bench, item.id, **READ)
        assert adhesive_view(session, item.id).confirmed


def test_a_mix_keeps_what_its_figures_stood_on(session: Session) -> None:
    shop = LotShop(session, START)
    confirmed = shop.mix()
    change_adhesive(session, BOND, **BY, set_minutes=120.0)
    marked = shop.mix()
    cure = shop.close(marked)
    confirm_adhesive(session, shop.bench(), BOND, **READ)
    warmth = shop.bench().warmth

    def marks() -> list[str]:
        return [mix_view(session, mix.id, warmth).sheet_mark for mix in (confirmed, marked)]

    told = MARKS[SheetState.NOT_CONFIRMED]
    assert marks() == ["", told]
    assert cure_view(session, cure, warmth).sheet_mark == told
    (fact,) = (fact for facts in open_cure_facts(session, warmth).values() for fact in facts)
    assert fact.sheet_mark == told
    # A correction of something else keeps the copy; one of the adhesive makes it anew.
    correct_mix(session, shop.bench(), marked.id, anew=MixAnew(mixed_at=START), reason="looked again")
    assert marks() == ["", told]
    correct_mix(session, shop.bench(), marked.id, anew=MixAnew(adhesive_id=BOND), reason="the sheet's")
    assert marks() == ["", ""]


def test_every_act_on_a_sheet_is_on_record(session: Session) -> None:
    item = start_from_class(session, **BY, name="Brook", ready_made="five-minute epoxy")
    change_adhesive(session, item.id, now=START, by="Ott", set_minutes=90.0, density_a=1.1)
    change_adhesive(session, item.id, now=START, by="Ott", set_minutes=90.0)
    confirm_adhesive(session, bench_at(session, START), item.id, **READ)
    change_adhesive(session, item.id, now=START, by="Ott", density_a=None)
    made, changed, confirmed, again = changes_after(session, item.id, 0, 10)
    assert (made.kind, made.by, made.at) == ("made", "Nell", START)
    assert {change["field"]: change["after"] for change in made.changes}["pot_life_minutes"] == 3.0
    assert (changed.kind, changed.by) == ("changed", "Ott")
    assert changed.changes == [
        {"field": "density_a", "before": None, "after": 1.1},
        {"field": "set_minutes", "before": 60.0, "after": 90.0},
    ]
    assert (confirmed.kind, confirmed.by) == ("confirmed", "Nell")
    assert confirmed.changes == [
        {"field": "source", "before": READY_MADE_SOURCE, "after": "sheet"},
        {"field": "sheet_date", "before": None, "after": "2026-03-02"},
        {"field": "confirmed_by", "before": "", "after": "Nell"},
    ]
    assert again.changes == [
        {"field": "density_a", "before": 1.1, "after": None},
        {"field": "confirmed_by", "before": "Nell", "after": ""},
    ]
    assert [change.id for change in last_changes(session, item.id, 2)] == [again.id, confirmed.id]
