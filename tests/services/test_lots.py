"""Lots through the services: opened, used up, quarantined, released; what is refused, and what is noted."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from sqlalchemy.orm import Session

from shop.db.lots import Lot
from shop.queries.builds import build_record
from shop.queries.lots import LotView, lot_history, lot_view
from shop.queries.mixes import open_suspicion
from shop.queries.servings import servings_of_mix
from shop.rules.people import Role
from shop.rules.refusals import BadInput, NotAllowed, NotOnFile, Overtaken
from shop.services.bench import Bench
from shop.services.cups import CupSaid
from shop.services.lot_events import open_by_use
from shop.services.lots import (
    change_lot,
    empty_lot,
    open_lot,
    quarantine_lot,
    release_lot,
    suspect_mixes_of_lot,
)
from shop.services.mixes import suspect_mix
from shop.services.servings import leave_out
from tests.conftest import START
from tests.lot_shop import CAME, TODAY, LotShop

Verb = Callable[[Session, Bench, int], Any]


@pytest.fixture
def shop(session: Session) -> LotShop:
    return LotShop(session, START)


def seen(shop: LotShop, lot: Lot) -> LotView:
    return lot_view(shop.session, lot.id, TODAY)


def kinds(shop: LotShop, lot: Lot) -> list[str]:
    return [item.kind for item in lot_history(shop.session, lot.id)]


def test_a_lot_is_kept_as_it_came_and_its_history_begins(shop: LotShop) -> None:
    lot = shop.lot(number="  R-1 ", use_by=date(2026, 9, 1), position=" top ", amount_ml=473.0)
    view = seen(shop, lot)
    assert (view.number, view.position, view.left_ml, view.last_day) == (
        "R-1",
        "top",
        473.0,
        date(2026, 9, 1),
    )
    assert view.usable
    assert [(item.kind, item.by) for item in lot_history(shop.session, lot.id)] == [("received", "Nell")]


def test_two_bottles_may_have_one_number(shop: LotShop) -> None:
    assert shop.lot().id != shop.lot().id


def test_what_cannot_be_is_refused_and_so_is_an_unknown_adhesive(shop: LotShop) -> None:
    with pytest.raises(BadInput) as refused:
        shop.lot(part="C", received_on=TODAY + timedelta(days=1))
    assert set(refused.value.errors) == {"part", "received_on"}
    with pytest.raises(NotOnFile):
        shop.lot(adhesive_id=9)


def test_opening_starts_the_opened_life(shop: LotShop) -> None:
    lot = shop.lot(opened_life_days=30)
    assert open_lot(shop.session, shop.bench(Role.HELPER), lot.id).opened_on == TODAY
    assert seen(shop, lot).last_day == TODAY + timedelta(days=30)
    assert kinds(shop, lot) == ["received", "opened"]


@pytest.mark.parametrize(
    ("on", "says"), [(TODAY + timedelta(days=1), "future"), (CAME - timedelta(days=1), "came on 2026-02-01")]
)
def test_a_day_that_cannot_be_is_refused(shop: LotShop, on: date, says: str) -> None:
    lot = shop.lot()
    for verb, field in ((open_lot, "opened_on"), (empty_lot, "emptied_on")):
        with pytest.raises(BadInput) as refused:
            verb(shop.session, shop.bench(), lot.id, on=on)
        assert says in refused.value.errors[field]


def test_a_lot_is_not_used_up_before_it_was_opened(shop: LotShop) -> None:
    lot = shop.lot(opened_on=TODAY)
    with pytest.raises(BadInput) as refused:
        empty_lot(shop.session, shop.bench(), lot.id, on=CAME)
    assert list(refused.value.errors) == ["emptied_on"]


def test_the_day_is_the_shops_own(shop: LotShop) -> None:
    # 09:00 UTC is the evening of the same day in Auckland, and 12:00 UTC is the next day there.
    shop.session.connection().exec_driver_sql("UPDATE shop SET time_zone = 'Pacific/Auckland'")
    lot, other = shop.lot(), shop.lot()
    assert open_lot(shop.session, shop.bench(), lot.id).opened_on == TODAY
    shop.now += timedelta(hours=3)
    assert open_lot(shop.session, shop.bench(), other.id).opened_on == TODAY + timedelta(days=1)


VERBS: dict[str, Verb] = {
    "open": lambda session, bench, lot: open_lot(session, bench, lot),
    "empty": lambda session, bench, lot: empty_lot(session, bench, lot),
    "quarantine": lambda session, bench, lot: quarantine_lot(
        session, bench, lot, reason="brown", suspect_mixes=False
    ),
    "release": lambda session, bench, lot: release_lot(session, bench, lot, reason="was the light"),
}


@pytest.mark.parametrize(
    ("before", "then"),
    [
        (("open",), "open"), (("empty",), "empty"), (("empty",), "open"), (("quarantine",), "quarantine"),
        (("quarantine",), "open"), ((), "release"), (("quarantine", "release"), "release"),
    ],
)  # fmt: skip
def test_what_was_done_already_is_overtaken(shop: LotShop, before: tuple[str, ...], then: str) -> None:
    lot = shop.lot()
    for name in before:
        VERBS[name](shop.session, shop.bench(), lot.id)
    noted = kinds(shop, lot)
    with pytest.raises(Overtaken):
        VERBS[then](shop.session, shop.bench(), lot.id)
    assert kinds(shop, lot) == noted


@pytest.mark.parametrize("name", VERBS)
def test_a_lot_that_is_not_on_file(shop: LotShop, name: str) -> None:
    with pytest.raises(NotOnFile):
        VERBS[name](shop.session, shop.bench(), 9)


def test_a_quarantine_can_be_lifted_by_an_owner_alone_and_with_a_reason(shop: LotShop) -> None:
    lot = shop.lot()
    quarantine_lot(shop.session, shop.bench(Role.HELPER), lot.id, reason=" brown ", suspect_mixes=False)
    assert seen(shop, lot).fault == "Lot R-1 (part A) is quarantined: brown."
    with pytest.raises(NotAllowed):
        release_lot(shop.session, shop.bench(Role.BUILDER), lot.id, reason="looks fine")
    with pytest.raises(BadInput):
        release_lot(shop.session, shop.bench(), lot.id, reason="  ")
    release_lot(shop.session, shop.bench(), lot.id, reason="It was the light.")
    assert seen(shop, lot).usable
    notes = [(item.kind, item.note) for item in lot_history(shop.session, lot.id)][1:]
    assert notes == [("quarantined", "brown"), ("released", "It was the light.")]


@pytest.mark.parametrize("reason", ["", "  ", "x" * 401])
def test_a_quarantine_needs_a_reason_of_a_few_words(shop: LotShop, reason: str) -> None:
    lot = shop.lot()
    with pytest.raises(BadInput) as refused:
        quarantine_lot(shop.session, shop.bench(), lot.id, reason=reason, suspect_mixes=True)
    assert list(refused.value.errors) == ["reason"]
    assert seen(shop, lot).usable


def test_its_mixes_on_rods_in_hand_are_doubted_once(shop: LotShop) -> None:
    lot, hardener = shop.lot(number="R" * 60), shop.lot("B", "H-1")
    in_hand, handed_over, failed, doubted, unused, of_another = (
        shop.mix(lot.id), shop.mix(lot.id, hardener.id), shop.mix(lot.id), shop.mix(None, lot.id),
        shop.mix(lot.id), shop.mix(hardener.id),
    )  # fmt: skip
    for mix in (in_hand, doubted, of_another):
        shop.close(mix, rod=0)
    shop.close(handed_over, rod=1)
    build_record(shop.session, shop.numbers[1]).closed_at = START
    shop.close(failed, place="reel seat")
    fail(shop, failed.id)
    suspect_mix(shop.session, shop.bench(), doubted.id, reason="Poured by eye.")
    shop.now += timedelta(days=1)
    found = quarantine_lot(shop.session, shop.bench(), lot.id, reason="x" * 400, suspect_mixes=True)
    assert found == [in_hand.id]
    suspicion = open_suspicion(shop.session, in_hand.id)
    assert suspicion is not None
    assert suspicion.reason.startswith(f"Lot {'R' * 60} was quarantined: xxx")
    assert len(suspicion.reason) <= 500
    kept = open_suspicion(shop.session, doubted.id)
    assert kept is not None
    assert kept.reason == "Poured by eye."
    for mix in (handed_over, failed, unused, of_another):
        assert open_suspicion(shop.session, mix.id) is None


def fail(shop: LotShop, mix_id: int) -> None:
    shop.session.connection().exec_driver_sql(
        f"UPDATE cures SET failed_reason = 'came loose' WHERE mix_id = {mix_id}"
    )


def test_a_cup_in_somebodys_hand_is_doubted_with_its_lot(shop: LotShop) -> None:
    lot = shop.lot()
    serves = CupSaid(serves=((shop.numbers[0], "rear grip"), (shop.numbers[0], "reel seat")))
    on_closed = CupSaid(serves=((shop.numbers[1], "rear grip"),))
    meant, part_closed, left_out, handed_over, old = (
        shop.mix(lot.id, cup=serves), shop.mix(lot.id, cup=serves), shop.mix(lot.id, cup=serves),
        shop.mix(lot.id, cup=on_closed), shop.mix(lot.id),
    )  # fmt: skip
    shop.close(part_closed)
    fail(shop, part_closed.id)
    for serving in servings_of_mix(shop.session, left_out.id):
        leave_out(shop.session, shop.bench(), left_out.id, serving.id, reason="It ran out.")
    build_record(shop.session, shop.numbers[1]).closed_at = START
    shop.now += timedelta(hours=1)
    fresh = shop.mix(lot.id)
    shop.now += timedelta(hours=23)
    found = quarantine_lot(shop.session, shop.bench(), lot.id, reason="brown", suspect_mixes=True)
    assert found == [meant.id, part_closed.id, fresh.id]
    for mix in (left_out, handed_over, old):
        assert open_suspicion(shop.session, mix.id) is None


def test_the_mixes_of_a_quarantined_lot_can_be_doubted_later(shop: LotShop) -> None:
    lot = shop.lot()
    mix = shop.mix(lot.id)
    with pytest.raises(Overtaken):
        suspect_mixes_of_lot(shop.session, shop.bench(), lot.id)
    quarantine_lot(shop.session, shop.bench(), lot.id, reason="brown", suspect_mixes=False)
    assert suspect_mixes_of_lot(shop.session, shop.bench(Role.HELPER), lot.id) == [mix.id]
    suspicion = open_suspicion(shop.session, mix.id)
    assert suspicion is not None
    assert suspicion.reason == "Lot R-1 was quarantined: brown"
    assert suspect_mixes_of_lot(shop.session, shop.bench(), lot.id) == []
    notes = [(item.kind, item.note) for item in lot_history(shop.session, lot.id)][1:]
    assert notes == [("quarantined", "brown"), ("mixes doubted", "Mixes put under suspicion: 1.")]
    with pytest.raises(NotOnFile):
        suspect_mixes_of_lot(shop.session, shop.bench(), 9)


def test_without_being_asked_no_mix_is_doubted(shop: LotShop) -> None:
    lot = shop.lot()
    mix = shop.mix(lot.id)
    shop.close(mix)
    assert quarantine_lot(shop.session, shop.bench(), lot.id, reason="brown", suspect_mixes=False) == []
    assert open_suspicion(shop.session, mix.id) is None


def test_a_change_says_what_was_before(shop: LotShop) -> None:
    lot = shop.lot(use_by=date(2026, 9, 1))
    change_lot(shop.session, shop.bench(), lot.id, use_by=date(2026, 8, 1), amount_ml=100.0)
    last = lot_history(shop.session, lot.id)[-1]
    assert (last.kind, last.note) == (
        "changed", "Use by 2026-08-01, was 2026-09-01; millilitres 100, was not said.",
    )  # fmt: skip
    change_lot(shop.session, shop.bench(), lot.id, use_by=date(2026, 8, 1))
    assert kinds(shop, lot) == ["received", "changed"]


def test_used_up_can_be_taken_back(shop: LotShop) -> None:
    lot = shop.lot()
    change_lot(shop.session, shop.bench(), lot.id, not_used_up=True)
    assert kinds(shop, lot) == ["received"], "it was not used up at all"
    empty_lot(shop.session, shop.bench(), lot.id, on=CAME)
    change_lot(shop.session, shop.bench(), lot.id, not_used_up=True, opened_on=TODAY, position="top")
    assert (seen(shop, lot).emptied_on, seen(shop, lot).usable) == (None, True)
    last = lot_history(shop.session, lot.id)[-1]
    assert (last.kind, last.note) == (
        "changed",
        "Opened on 2026-03-02, was not said; position top, was not said; "
        "not used up after all, was used up on 2026-02-01.",
    )


def test_of_two_who_change_a_lot_the_second_is_told(shop: LotShop) -> None:
    lot = shop.lot()
    shown = lot.version
    change_lot(shop.session, shop.bench(), lot.id, version=shown, position="drawer")
    with pytest.raises(Overtaken):
        change_lot(shop.session, shop.bench(), lot.id, version=shown, position="box")
    assert seen(shop, lot).position == "drawer"
    change_lot(shop.session, shop.bench(), lot.id, version=shown + 1, position="box")
    assert seen(shop, lot).position == "box"


def test_a_change_is_judged_with_what_stays(shop: LotShop) -> None:
    lot = shop.lot(opened_on=CAME)
    empty_lot(shop.session, shop.bench(), lot.id, on=CAME)
    for changes, field in (
        ({"opened_on": CAME - timedelta(days=1)}, "opened_on"),
        ({"opened_on": CAME + timedelta(days=1)}, "opened_on"),
        ({"number": ""}, "number"),
    ):
        with pytest.raises(BadInput) as refused:
            change_lot(shop.session, shop.bench(), lot.id, **changes)
        assert list(refused.value.errors) == [field]


@pytest.mark.parametrize(
    ("opened_on", "used_on", "kept"),
    [
        (None, TODAY, TODAY),
        (None, CAME - timedelta(days=3), CAME),
        (TODAY, CAME, CAME),
        (CAME, TODAY, CAME),
        (TODAY, TODAY, TODAY),
    ],
)
def test_what_was_mixed_from_was_open(
    shop: LotShop, opened_on: date | None, used_on: date, kept: date
) -> None:
    lot = shop.lot(opened_on=opened_on)
    open_by_use(shop.session, shop.bench(), lot.id, on=used_on)
    assert seen(shop, lot).opened_on == kept
    assert ("opened" in kinds(shop, lot)) == (opened_on != kept)
