"""What is read of lots: order and amounts left, recall both ways, and the hold that a wrong lot makes."""

import re
from datetime import date, timedelta

import pytest
from sqlalchemy.orm import Session

from shop.queries.builds import build_record, build_view
from shop.queries.cure_clock import CureClock
from shop.queries.cures import cure_facts, open_cure_facts
from shop.queries.lots import (
    LotUse,
    builds_of_lot,
    lot_fact,
    lot_view,
    lots_after,
    lots_alike,
    lots_of_adhesive,
    lots_of_build,
    lots_on_file,
    mixes_in_hand,
    mixes_of_lot,
)
from shop.rules.lots import fault_of_lot
from shop.rules.refusals import NotOnFile
from shop.services.adhesives import change_adhesive
from shop.services.corrections import CureAnew, MixAnew, correct_cure, correct_mix
from shop.services.lots import change_lot, empty_lot, quarantine_lot, release_lot
from shop.services.mixes import suspect_mix
from shop.web.deps import Hub
from tests.api.filled import BOND, FINISH
from tests.conftest import START, Hands
from tests.lot_shop import CAME, TODAY, LotShop
from tests.queries.test_plans import asked


@pytest.fixture
def shop(session: Session) -> LotShop:
    return LotShop(session, START)


def left(shop: LotShop, lot_id: int) -> float | None:
    return lot_view(shop.session, lot_id, TODAY).left_ml


def places(uses: list[LotUse]) -> list[tuple[str, str, str, str]]:
    return [(use.build, use.place, use.lot, use.parts) for use in uses]


def test_the_life_is_the_lots_own_or_else_its_adhesives(shop: LotShop) -> None:
    own, other = shop.lot(opened_on=CAME, opened_life_days=10), shop.lot(opened_on=CAME)
    change_adhesive(shop.session, BOND, now=shop.now, by="Nell", opened_life_days=40)
    assert [lot_fact(shop.session, lot.id).opened_life_days for lot in (own, other)] == [10, 40]
    assert lot_view(shop.session, other.id, TODAY).opened_life_days is None
    assert lot_view(shop.session, other.id, TODAY).last_day == CAME + timedelta(days=40)
    for read in (lot_fact, lambda session, lot_id: lot_view(session, lot_id, TODAY)):
        with pytest.raises(NotOnFile):
            read(shop.session, 9)


def test_what_may_be_used_comes_first_and_of_it_what_ends_soonest(shop: LotShop) -> None:
    empty = shop.lot(number="empty", use_by=date(2026, 3, 3))
    late, soon, ever = (
        shop.lot(number="late", use_by=date(2026, 9, 1)), shop.lot(number="soon", use_by=TODAY),
        shop.lot(number="ever"),
    )  # fmt: skip
    over = shop.lot(number="over", use_by=TODAY - timedelta(days=1))
    finish = shop.lot(number="finish", adhesive_id=FINISH)
    empty_lot(shop.session, shop.bench(), empty.id)
    numbers = [lot.number for lot in lots_of_adhesive(shop.session, BOND, TODAY)]
    assert numbers == ["soon", "late", "ever", "over", "empty"]
    assert [lot.usable for lot in lots_of_adhesive(shop.session, BOND, TODAY)] == [True] * 3 + [False] * 2
    assert lots_on_file(shop.session, TODAY)[0].number == "soon"
    pages = lots_after(shop.session, 0, 2, TODAY, None), lots_after(shop.session, soon.id, 9, TODAY, BOND)
    assert [[lot.id for lot in page] for page in pages] == [[empty.id, late.id], [ever.id, over.id]]
    assert [lot.id for lot in lots_after(shop.session, 0, 9, TODAY, FINISH)] == [finish.id]


def test_used_up_today_counts_this_morning_but_nobody_can_take_it_now(shop: LotShop) -> None:
    lot = shop.lot()
    mix = shop.mix(lot.id)
    shop.close(mix)
    empty_lot(shop.session, shop.bench(), lot.id)
    assert lot_view(shop.session, lot.id, TODAY).fault == "It was used up on 2026-03-02."
    assert fault(shop) == ""


def test_the_other_bottles_of_a_number(shop: LotShop) -> None:
    one, two, _ = shop.lot(), shop.lot(), shop.lot(number="R-2")
    shop.lot(adhesive_id=FINISH)
    alike = lots_alike(shop.session, lot_view(shop.session, one.id, TODAY), TODAY)
    assert [lot.id for lot in alike] == [two.id]


def test_what_mixes_drew_is_taken_off(shop: LotShop) -> None:
    a, b = shop.lot(amount_ml=100.0), shop.lot("B", amount_ml=50.0)
    kit, unknown = shop.lot("kit", amount_ml=30.0), shop.lot()
    shop.mix(a.id, b.id, (10.0, 5.0))
    shop.mix(a.id, b.id, (None, None))
    wrong = shop.mix(a.id, b.id, (20.0, 10.0))
    shop.mix(kit.id, kit.id, (4.0, 2.0))
    shop.mix(unknown.id, kit.id, (4.0, 40.0))
    assert [left(shop, lot.id) for lot in (a, b, kit, unknown)] == [70.0, 35.0, 0.0, None]
    right = correct_mix(
        shop.session,
        shop.bench(),
        wrong.id,
        anew=MixAnew(mixed_at=START - timedelta(minutes=1)),
        reason="clock",
    )
    right.lot_a_id, right.lot_b_id, right.amount_a_ml, right.amount_b_ml = a.id, b.id, 30.0, 15.0
    shop.session.flush()
    assert [left(shop, lot.id) for lot in (a, b)] == [60.0, 30.0]


def test_what_nobody_stated_makes_the_amount_left_the_most_it_can_be(shop: LotShop) -> None:
    kit, a = shop.lot("kit", amount_ml=30.0), shop.lot(amount_ml=100.0)
    half = shop.mix(kit.id, kit.id, (4.0, None))
    other_half, whole, none = (
        shop.mix(kit.id, kit.id, (None, 2.0)), shop.mix(kit.id, kit.id, (4.0, 2.0)), shop.mix(kit.id, kit.id),
    )  # fmt: skip
    of_a = shop.mix(a.id, kit.id, (None, 1.0))
    drawn = {mix.id: mix.drawn_ml for mix in mixes_of_lot(shop.session, kit.id)}
    assert drawn == {half.id: 4.0, other_half.id: 2.0, whole.id: 6.0, none.id: None, of_a.id: 1.0}
    views = [lot_view(shop.session, lot.id, TODAY) for lot in (kit, a)]
    assert [(view.left_ml, view.unsaid_mixes) for view in views] == [(17.0, 3), (100.0, 1)]
    correct_mix(shop.session, shop.bench(), of_a.id, anew=MixAnew(lot_a_id=shop.lot().id), reason="misread")
    assert lot_view(shop.session, a.id, TODAY).unsaid_mixes == 0


def test_recall_finds_every_place_both_ways(shop: LotShop) -> None:
    a, b, kit = shop.lot(), shop.lot("B", "H-1"), shop.lot("kit", "K-1")
    pair, whole, unnamed, b_only = (
        shop.mix(a.id, b.id), shop.mix(kit.id, kit.id), shop.mix(), shop.mix(None, b.id),
    )  # fmt: skip
    shop.close(pair, "rear grip")
    shop.close(pair, "rear grip", rod=1)
    shop.close(whole, "reel seat")
    shop.close(unnamed, "fore grip")
    shop.close(b_only, "butt cap")
    one, two = shop.numbers
    assert places(builds_of_lot(shop.session, a.id)) == [
        (one, "rear grip", "R-1", "A"), (two, "rear grip", "R-1", "A"),
    ]  # fmt: skip
    assert places(builds_of_lot(shop.session, b.id)) == [
        (one, "rear grip", "H-1", "B"), (one, "butt cap", "H-1", "B"), (two, "rear grip", "H-1", "B"),
    ]  # fmt: skip
    assert places(builds_of_lot(shop.session, kit.id)) == [(one, "reel seat", "K-1", "A and B")]
    found = lots_of_build(shop.session, build_view(shop.session, one).id)
    assert places(found.uses) == [
        (one, "rear grip", "R-1", "A"), (one, "rear grip", "H-1", "B"), (one, "reel seat", "K-1", "A and B"),
        (one, "butt cap", "H-1", "B"),
    ]  # fmt: skip
    assert found.unnamed == ["fore grip"]
    use = found.uses[0]
    assert (use.customer, use.handed_over, use.mix_id, use.failed) == ("Ada Thorn", False, pair.id, "")


def test_recall_leaves_corrected_entries_out_and_keeps_failed_ones(shop: LotShop) -> None:
    lot, right_lot = shop.lot(), shop.lot(number="R-2")
    mix, moved = shop.mix(lot.id), shop.mix(lot.id)
    wrong, loose = shop.close(mix, "rear grip"), shop.close(mix, "fore grip")
    shop.close(moved, "reel seat")
    correct_cure(shop.session, shop.bench(), wrong, anew=CureAnew(place="butt cap"), reason="misread")
    correct_cure(shop.session, shop.bench(), loose, anew=CureAnew(failed=True), reason="came loose")
    anew = correct_mix(
        shop.session,
        shop.bench(),
        moved.id,
        anew=MixAnew(mixed_at=START - timedelta(minutes=1)),
        reason="clock",
    )
    anew.lot_a_id = right_lot.id
    build_record(shop.session, shop.numbers[0]).closed_at = START
    shop.session.flush()
    uses = builds_of_lot(shop.session, lot.id)
    assert {(use.place, use.failed) for use in uses} == {("butt cap", ""), ("fore grip", "came loose")}
    assert all(use.handed_over for use in uses)
    assert [use.mix_id for use in builds_of_lot(shop.session, right_lot.id)] == [moved.id]


def test_the_mixes_of_a_lot_say_what_they_drew_and_what_they_served(shop: LotShop) -> None:
    lot, kit = shop.lot(), shop.lot("kit")
    first, second = shop.mix(lot.id, kit.id, (3.0, 1.5)), shop.mix(kit.id, kit.id, (3.0, 1.5))
    shop.close(first)
    suspect_mix(shop.session, shop.bench(), second.id, reason="Poured by eye.")
    of_kit = mixes_of_lot(shop.session, kit.id)
    assert [(mix.id, mix.parts, mix.drawn_ml, mix.cures, mix.suspect) for mix in of_kit] == [
        (first.id, "B", 1.5, 1, ""), (second.id, "A and B", 4.5, 0, "Poured by eye."),
    ]  # fmt: skip
    assert [(mix.id, mix.parts, mix.drawn_ml) for mix in mixes_of_lot(shop.session, lot.id)] == [
        (first.id, "A", 3.0)
    ]


def fault(shop: LotShop, clock: CureClock | None = None) -> str:
    """The fault of the first rod's only cure; the way of one rod and that of all open ones must agree."""
    warmth = (clock or CureClock()).warmth(shop.session)
    build = build_view(shop.session, shop.numbers[0])
    (fact,) = cure_facts(shop.session, build.id, build.pass_number, warmth)
    assert open_cure_facts(shop.session, warmth)[build.id] == [fact]
    return fact.lot_fault


def test_a_mix_is_judged_by_its_lots_at_its_own_day(shop: LotShop) -> None:
    a, b = shop.lot(use_by=TODAY), shop.lot("B", "H-1", use_by=TODAY)
    shop.close(shop.mix(a.id, b.id))
    shop.now += timedelta(days=30)
    assert fault(shop) == ""
    change_lot(shop.session, shop.bench(), a.id, use_by=TODAY - timedelta(days=1))
    assert fault(shop) == "Lot R-1 (part A) is out of date: its use-by date was 2026-03-01."
    change_lot(shop.session, shop.bench(), b.id, part="A")
    assert fault(shop).endswith("2026-03-01. Lot H-1 (part A) cannot serve as part B.")


def test_the_day_is_the_shops_own(shop: LotShop) -> None:
    lot = shop.lot(use_by=TODAY)
    shop.now += timedelta(hours=14, minutes=59)
    shop.close(shop.mix(lot.id))
    assert fault(shop) == ""
    shop.session.connection().exec_driver_sql("UPDATE shop SET time_zone = 'Europe/Oslo'")
    assert "out of date" in fault(shop)


def test_a_quarantine_counts_at_once_and_until_it_is_lifted(shop: LotShop) -> None:
    lot = shop.lot("kit")
    shop.close(shop.mix(lot.id, lot.id))
    # One clock for all: what it keeps must not outlive what it was made from.
    clock = CureClock()
    assert fault(shop, clock) == ""
    quarantine_lot(shop.session, shop.bench(), lot.id, reason="brown", suspect_mixes=False)
    assert fault(shop, clock) == "Lot R-1 (kit) is quarantined: brown."
    release_lot(shop.session, shop.bench(), lot.id, reason="It was the light.")
    assert fault(shop, clock) == ""


@pytest.mark.parametrize(("kind", "is_released"), [("lot", True), ("warm", False)])
def test_a_rule_that_an_owner_released_for_the_cup_has_no_fault(
    shop: LotShop, kind: str, is_released: bool
) -> None:
    mix = shop.mix(shop.lot(use_by=CAME).id)
    shop.close(mix)
    assert "out of date" in fault(shop)
    mix.releases = [{"kind": kind, "reason": "The trial cup was hard."}]
    shop.session.flush()
    assert (fault(shop) == "") == is_released


def test_a_release_covers_what_it_was_given_for_and_nothing_later(shop: LotShop) -> None:
    lot = shop.lot(use_by=CAME)
    given_for = fault_of_lot(lot_fact(shop.session, lot.id), "A", BOND, TODAY)
    mix = shop.mix(lot.id)
    shop.close(mix)
    mix.releases = [
        {"kind": "lot", "reason": "The trial cup was hard.", "by": "Nell", "faults": [given_for]},
        {"kind": "warm", "reason": "The heater is on.", "by": "Nell", "faults": ["It is cold."]},
    ]
    shop.session.flush()
    assert fault(shop) == ""
    quarantine_lot(shop.session, shop.bench(), lot.id, reason="brown", suspect_mixes=False)
    assert fault(shop) == "Lot R-1 (part A) is quarantined: brown."
    release_lot(shop.session, shop.bench(), lot.id, reason="It was the light.")
    assert fault(shop) == ""
    mix.lot_b_id = shop.lot("B", "H-1", use_by=CAME).id
    shop.session.flush()
    assert fault(shop).startswith("Lot H-1 (part B) is out of date"), (
        "the other bottle was released by nobody"
    )


def test_a_mix_that_names_no_lot_has_no_fault(shop: LotShop) -> None:
    shop.close(shop.mix())
    assert fault(shop) == ""


def test_more_lots_ask_for_no_more_statements(hub: Hub, hands: Hands) -> None:
    counts = []
    with hub.database.writing(hands.wall_at) as session:
        shop = LotShop(session, START)
        for lots in (2, 8):
            for _ in range(lots):
                shop.close(shop.mix(shop.lot(use_by=CAME).id, shop.lot("B").id))
            warmth = CureClock().warmth(session)
            with asked(hub) as statements:
                facts = open_cure_facts(session, warmth)
            assert all(fact.lot_fault for fact in facts[1])
            counts.append(len(statements))
    assert counts[0] == counts[1] > 0


def test_a_recall_walks_no_history(hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        shop = LotShop(session, START)
        lot = shop.lot()
        shop.close(shop.mix(lot.id))
        with asked(hub) as statements:
            builds_of_lot(session, lot.id)
            lots_of_build(session, 1)
            mixes_of_lot(session, lot.id)
            lot_view(session, lot.id, TODAY)
            lots_of_adhesive(session, BOND, TODAY)
            mixes_in_hand(session, lot.id, START)
            cure_facts(session, 1, 1, CureClock().warmth(session))
        steps = [
            str(row[3])
            for text, values in statements
            for row in session.connection().exec_driver_sql("EXPLAIN QUERY PLAN " + text, values)
        ]
    assert [
        step
        for step in steps
        if re.match(r"SCAN (builds|cures|mixes|lots|lot_events|suspicions|servings)\b", step)
    ] == []
    assert steps
