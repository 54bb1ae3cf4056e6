"""Corrections of mixes and cures: which lots a cup can have had, who did it, and what the record says."""

from datetime import timedelta

import pytest
from sqlalchemy.orm import Session

from shop.db.mixes import Mix
from shop.queries.builds import build_view
from shop.queries.events import EventView, events_of_build
from shop.queries.lots import lot_view
from shop.queries.mixes import mix_record
from shop.rules.refusals import BadInput
from shop.services.corrections import CureAnew, MixAnew, correct_cure, correct_mix
from shop.services.lots import quarantine_lot
from tests.api.filled import BOND, FINISH
from tests.conftest import START
from tests.lot_shop import CAME, TODAY, LotShop


@pytest.fixture
def shop(session: Session) -> LotShop:
    return LotShop(session, START)


def put_right(shop: LotShop, mix: Mix, reason: str = "Read it wrong.", **said: object) -> Mix:
    return correct_mix(
        shop.session,
        shop.bench(),
        mix.id,
        anew=MixAnew(**said),  # type: ignore[arg-type]
        reason=reason,
    )


def last_event(shop: LotShop) -> EventView:
    build = build_view(shop.session, shop.numbers[0])
    return max(events_of_build(shop.session, build.id), key=lambda event: event.id)


def test_a_mix_is_put_right_to_a_lot_that_it_can_have_had_alone(shop: LotShop) -> None:
    a, b, kit = shop.lot(), shop.lot("B", "H-1"), shop.lot("kit", "K-1")
    finish = shop.lot("A", "F-1", adhesive_id=FINISH)
    mix = shop.mix(a.id, b.id)
    with pytest.raises(BadInput) as refused:
        put_right(shop, mix, lot_a_id=b.id, lot_b_id=finish.id)
    assert refused.value.errors == {
        "lot_a_id": "Lot H-1 (part B) cannot serve as part A.",
        "lot_b_id": "Lot F-1 (part A) belongs to another adhesive.",
    }
    assert mix_record(shop.session, mix.id).id == mix.id, "nothing was written down"
    right = put_right(shop, mix, lot_a_id=kit.id, lot_b_id=kit.id)
    assert (right.lot_a_id, right.lot_b_id) == (kit.id, kit.id)


def test_that_a_lot_was_out_of_date_or_is_quarantined_is_a_fact(shop: LotShop) -> None:
    over, brown = shop.lot(use_by=CAME), shop.lot("B", "H-1")
    quarantine_lot(shop.session, shop.bench(), brown.id, reason="brown", suspect_mixes=False)
    right = put_right(shop, shop.mix(), lot_a_id=over.id, lot_b_id=brown.id)
    assert (right.lot_a_id, right.lot_b_id) == (over.id, brown.id)


def test_with_another_adhesive_its_lots_are_said_anew(shop: LotShop) -> None:
    a, finish = shop.lot(), shop.lot("A", "F-1", adhesive_id=FINISH)
    mix = shop.mix(a.id)
    with pytest.raises(BadInput) as refused:
        put_right(shop, mix, adhesive_id=FINISH)
    assert refused.value.errors == {
        "lot_a_id": "The lot of part A on record is one of Riverbed; say which lot of Stillwater it was."
    }
    right = put_right(shop, mix, adhesive_id=FINISH, lot_a_id=finish.id)
    assert (right.adhesive_id, right.lot_a_id, right.lot_b_id) == (FINISH, finish.id, None)
    assert put_right(shop, shop.mix(), adhesive_id=FINISH).lot_a_id is None


def test_a_correction_of_a_mix_leaves_who_mixed_and_says_what_changed(shop: LotShop) -> None:
    wrong_lot, right_lot = shop.lot(number="R-118"), shop.lot(number="R-119")
    mix = shop.mix(wrong_lot.id, by="Ott")
    shop.close(mix)
    shop.now += timedelta(minutes=10)
    right = put_right(shop, mix, lot_a_id=right_lot.id, mixed_at=START - timedelta(minutes=5))
    assert right.by == "Ott"
    event = last_event(shop)
    assert (event.kind, event.by) == ("correction", "Nell")
    assert event.note == (
        "The mix of Riverbed was put right: mixed 2026-03-02 08:55, was 2026-03-02 09:00; "
        "lot of part A R-119, was R-118. Read it wrong."
    )
    put_right(shop, mix, lot_b_id=shop.lot("B", "H-1").id, adhesive_id=BOND, reason="Not said")
    assert last_event(shop).note == (
        "The mix of Riverbed was put right: lot of part B H-1, was not said. Not said."
    )


def test_amounts_and_minutes_are_put_right_and_the_lot_has_so_much_left(shop: LotShop) -> None:
    lot = shop.lot(amount_ml=100.0)
    mix = shop.mix(lot.id, amounts=(80.0, None))
    shop.close(mix)
    assert lot_view(shop.session, lot.id, TODAY).left_ml == 20.0
    right = put_right(shop, mix, amount_a_ml=8.0, planned_minutes=20.0, reason="A slip")
    assert (right.amount_a_ml, right.amount_b_ml, right.planned_minutes) == (8.0, None, 20.0)
    assert (right.lot_a_id, right.mixed_at, mix.amount_a_ml) == (lot.id, START, 80.0)
    assert lot_view(shop.session, lot.id, TODAY).left_ml == 92.0
    assert last_event(shop).note == (
        "The mix of Riverbed was put right: amount of part A 8 mL, was 80 mL; planned 20 min, was not said. "
        "A slip."
    )
    put_right(shop, mix, amount_b_ml=4.5)
    assert last_event(shop).note == (
        "The mix of Riverbed was put right: amount of part B 4.5 mL, was not said. Read it wrong."
    )


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("amount_a_ml", 0.0), ("amount_a_ml", 2000.1), ("amount_b_ml", float("nan")),
        ("planned_minutes", 0.0), ("planned_minutes", 1440.1),
    ],
)  # fmt: skip
def test_an_amount_that_cannot_be_is_not_put_down_anew(shop: LotShop, field: str, value: float) -> None:
    mix = shop.mix(amounts=(8.0, 8.0))
    with pytest.raises(BadInput) as refused:
        put_right(shop, mix, "A slip.", **{field: value})
    assert list(refused.value.errors) == [field]
    assert mix_record(shop.session, mix.id).id == mix.id, "nothing was written down"


def test_a_correction_of_a_cure_leaves_who_closed_it_and_says_what_changed(shop: LotShop) -> None:
    mix, other = shop.mix(), shop.mix()
    cure = shop.close(mix)
    shop.session.connection().exec_driver_sql("UPDATE cures SET by = 'Ott'")
    shop.session.expire_all()
    anew = CureAnew(place="reel seat", mix_id=other.id, zone_id=1, failed=True)
    right = correct_cure(shop.session, shop.bench(), cure, anew=anew, reason="Wrong line.")
    assert right.by == "Ott"
    event = last_event(shop)
    assert event.by == "Nell"
    assert event.note == (
        f"The rear grip was put right: place reel seat, was rear grip; mix {other.id}, was {mix.id}; "
        "zone bench, was that of its mix; on record as failed, was standing. Wrong line."
    )
