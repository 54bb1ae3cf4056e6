"""A cup before it is mixed: what it takes, and each reason not to mix it, with the boundary figure."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest

from shop.craft.cure import Sheet
from shop.rules.cup import (
    CupFacts,
    CupHold,
    CupPlan,
    Product,
    Serving,
    cup_amounts,
    faults_of_plan,
    judge_cup,
    warnings_of,
)
from shop.rules.holds import ClearedBy, ShutHold
from shop.rules.hours import Hours
from shop.rules.lots import LotFact, LotLeft
from shop.rules.sequences import HoldKind

# A Friday, and a shop that is open on weekdays from eight to five.
NOW = datetime(2026, 3, 6, 14, 0, tzinfo=UTC)
WEEK = Hours((*((time(8), time(17)),) * 5, None, None))
SHEET = Sheet(24.0, 40.0, 480.0, 1440.0, coldest_c=13.0)
# Two parts of A to one of B, with the densities of a common resin and hardener; the product is made up.
BOND = Product(7, "Riverbed", "bond", 2.0, 1.0, 1.16, 1.00, SHEET)
COAT = replace(BOND, name="Stillwater", use="finish", parts_a=1.0)
SERVED = (Serving("26-001", "rear grip", 3.0, 10.0), Serving("26-002", "rear grip", 4.5, 12.0))
PLAN = CupPlan(BOND, SERVED)
FREE = CupFacts(NOW, NOW.date(), "bench", 20.0, NOW + timedelta(minutes=40), WEEK, UTC)
LOT = LotFact(3, 7, "A", "R-118", date(2026, 1, 1), None, date(2026, 3, 6), None, None, "")
HARD = replace(LOT, id=4, part="B", number="H-20")


def kinds(holds: tuple[CupHold, ...]) -> list[HoldKind]:
    return [hold.kind for hold in holds]


def test_a_cup_that_nothing_speaks_against_may_be_mixed() -> None:
    assert judge_cup(replace(PLAN, lot_a=LOT, lot_b=HARD), FREE) == ()
    assert warnings_of(PLAN, FREE) == []


def test_the_amounts_follow_from_the_places_by_volume_and_by_mass() -> None:
    # Worked by hand: 3.0 + 4.5 + 1.5 mL = 9 mL, two to one 6 + 3 mL, and 6 × 1.16 = 6.96 g.
    amounts = cup_amounts(replace(PLAN, leftover_ml=1.5))
    assert amounts is not None
    assert amounts.volume_ml == 9.0
    assert (amounts.parts.volume_a_ml, amounts.parts.volume_b_ml) == pytest.approx((6.0, 3.0))
    assert (amounts.parts.mass_a_g, amounts.parts.mass_b_g) == pytest.approx((6.96, 3.0))
    assert not amounts.is_least


def test_no_cup_is_smaller_than_can_be_measured_unless_somebody_says_so() -> None:
    # Common practice, no source: at least 3 mL a part, so 9 mL of two to one.
    small = cup_amounts(replace(PLAN, servings=SERVED[:1]))
    assert small is not None
    assert (small.volume_ml, small.least_ml, small.is_least) == (9.0, 9.0, True)
    stated = cup_amounts(replace(PLAN, volume_ml=3.0))
    assert stated is not None
    assert (stated.volume_ml, stated.is_least) == (3.0, True)


def test_an_amount_that_nobody_knows_is_not_made_up() -> None:
    assert cup_amounts(replace(PLAN, servings=(*SERVED, Serving("26-003", "butt cap")))) is None
    assert cup_amounts(CupPlan(BOND)) is None


@pytest.mark.parametrize(
    ("lot", "sentence"),
    [
        (replace(LOT, use_by=date(2026, 3, 5)), "out of date"),
        (replace(LOT, quarantined_reason="It is cloudy."), "quarantined: It is cloudy."),
        (replace(LOT, part="B"), "cannot serve as part A"),
        (replace(LOT, adhesive_id=8), "belongs to another adhesive"),
    ],
)
def test_a_lot_that_may_not_be_used_holds_the_cup(lot: LotFact, sentence: str) -> None:
    (hold,) = judge_cup(replace(PLAN, lot_a=lot, lot_b=HARD), FREE)
    assert (hold.kind, hold.waivable) == (HoldKind.LOT, True)
    assert sentence in hold.reason


def test_a_lot_nobody_named_holds_the_cup_only_where_the_shelf_has_lots() -> None:
    facts = replace(FREE, shelf_has_lots=True)
    assert kinds(judge_cup(PLAN, facts)) == [HoldKind.LOT, HoldKind.LOT]
    assert "part B" in judge_cup(replace(PLAN, lot_a=LOT), facts)[0].reason
    assert judge_cup(PLAN, FREE) == ()


@pytest.mark.parametrize(
    ("zone_c", "parts_c", "count"),
    [(13.0, None, 0), (12.9, None, 1), (20.0, 13.0, 0), (20.0, 12.9, 1), (12.0, 5.0, 2)],
)
def test_zone_and_parts_must_be_as_warm_as_the_sheet_asks(
    zone_c: float, parts_c: float | None, count: int
) -> None:
    holds = judge_cup(replace(PLAN, parts_c=parts_c), replace(FREE, zone_c=zone_c))
    assert kinds(holds) == [HoldKind.WARM] * count
    assert all(hold.waivable for hold in holds)


@pytest.mark.parametrize(
    ("minutes", "expected"),
    [(28.0, None), (28.1, True), (40.0, True), (40.1, False)],
)
def test_seventy_per_cent_of_the_pot_life_may_be_planned(minutes: float, expected: bool | None) -> None:
    holds = judge_cup(replace(PLAN, minutes=minutes), FREE)
    assert [hold.waivable for hold in holds] == ([] if expected is None else [expected])
    assert kinds(holds) == [HoldKind.POT_LIFE] * len(holds)


def test_the_minutes_of_the_places_are_added_up_where_none_are_stated() -> None:
    assert PLAN.planned_minutes == 22.0
    short = replace(FREE, pot_life_ends_at=NOW + timedelta(minutes=30))
    (hold,) = judge_cup(PLAN, short)
    assert hold.reason.startswith("22 min are planned, and at 20 °C the cup lasts 30 min")


@pytest.mark.parametrize(("free", "held"), [(3, False), (2, True), (0, True)])
def test_every_section_of_every_rod_needs_a_turner_place(free: int, held: bool) -> None:
    coats = (Serving("26-001", "guide wraps", 1.0, 5.0, 2), Serving("26-002", "guide wraps", 1.0, 5.0))
    facts = replace(FREE, free_places=free, turned_at=NOW + timedelta(hours=2))
    assert bool(judge_cup(CupPlan(COAT, coats), facts)) is held
    # Glue is not turned, and what is not turned needs no place.
    assert judge_cup(CupPlan(BOND, coats), facts) == ()
    assert judge_cup(CupPlan(COAT, coats), replace(facts, turned_at=None)) == ()


def test_what_holds_a_rod_holds_the_cup_that_is_for_it() -> None:
    set_at = NOW + timedelta(hours=3)
    soft = ShutHold(HoldKind.SET, "The rear grip has not set.", set_at, ClearedBy.TIME)
    early = ShutHold(HoldKind.ORDER, "These stages come first: fitted.", None, ClearedBy.WORK)
    rod = (
        replace(SERVED[0], holds=(soft, early)),
        Serving("26-001", "fore grip", 2.0, 5.0, 1, (soft, early)),
    )
    holds = judge_cup(CupPlan(BOND, rod), FREE)
    # Each is said once, though both places of the rod are held by it.
    assert [(hold.kind, hold.waivable, hold.clears_at) for hold in holds] == [
        (HoldKind.SET, False, set_at), (HoldKind.ORDER, True, None),
    ]  # fmt: skip
    assert holds[0].reason == "26-001: The rear grip has not set."


def test_places_promised_to_other_cups_are_named_where_too_few_are_left() -> None:
    facts = replace(FREE, free_places=0, promised_places=2, turned_at=NOW + timedelta(hours=2))
    (hold,) = judge_cup(CupPlan(COAT, (Serving("26-001", "guide wraps", 1.0, 5.0),)), facts)
    assert hold.reason == (
        "The coats need 1 turner place for the whole turning time, and none is free; 2 are promised to "
        "other cups in hand."
    )


def test_what_to_prepare_is_warned_of_by_rod() -> None:
    worn = replace(SERVED[0], prep="Wash, scuff and wipe it.")
    assert warnings_of(CupPlan(BOND, (worn, SERVED[1])), FREE) == ["26-001: Wash, scuff and wipe it."]


KIT = replace(LOT, part="kit", number="K-7")


@pytest.mark.parametrize(
    ("lots", "left", "short"),
    [
        # 9 mL of two to one take 6 mL of A and 3 mL of B.
        ((LOT, HARD), (LotLeft(6.0), LotLeft(3.0)), []),
        ((LOT, HARD), (LotLeft(5.9), LotLeft(3.0)), ["R-118"]),
        ((LOT, HARD), (LotLeft(5.9), LotLeft(2.9)), ["R-118", "H-20"]),
        ((LOT, HARD), (LotLeft(None), LotLeft(None)), []),
        ((LOT, None), (LotLeft(5.9), None), ["R-118"]),
        # A kit gives both parts, and is said once.
        ((KIT, KIT), (LotLeft(9.0), LotLeft(9.0)), []),
        ((KIT, KIT), (LotLeft(8.9), LotLeft(8.9)), ["K-7"]),
    ],
)
def test_each_lot_must_last_for_its_part_of_the_cup(
    lots: tuple[LotFact | None, ...], left: tuple[LotLeft | None, ...], short: list[str]
) -> None:
    plan = replace(PLAN, volume_ml=9.0, lot_a=lots[0], lot_b=lots[1])
    facts = replace(FREE, left_a=left[0], left_b=left[1])
    assert [warning.split()[1] for warning in warnings_of(plan, facts)] == short
    assert judge_cup(plan, facts) == ()


def window(start: str, end: str) -> CupFacts:
    first, last = (datetime.fromisoformat(f"2026-03-{text}").replace(tzinfo=UTC) for text in (start, end))
    return replace(FREE, recoat_from=first, recoat_until=last)


@pytest.mark.parametrize(
    ("facts", "held", "warned"),
    [
        # The whole of it lies in the weekend.
        (window("06 17:00", "09 07:59"), True, False),
        # Somebody is there at its very last minute, or was when it opened.
        (window("06 17:00", "09 08:01"), False, False),
        (window("06 16:59", "07 10:00"), False, True),
        # It opens and shuts while somebody is there.
        (window("09 08:00", "09 12:00"), False, False),
    ],
)
def test_a_window_that_nobody_can_use_holds_the_cup(facts: CupFacts, held: bool, warned: bool) -> None:
    assert kinds(judge_cup(PLAN, facts)) == [HoldKind.RECOAT] * held
    assert bool(warnings_of(PLAN, facts)) is warned


def test_a_turner_left_alone_is_warned_of() -> None:
    (warning,) = warnings_of(PLAN, replace(FREE, turned_at=NOW + timedelta(hours=5)))
    assert "must turn until Fri 06 Mar 19:00" in warning
    assert warnings_of(PLAN, replace(FREE, turned_at=NOW + timedelta(hours=2))) == []


def test_a_shop_that_never_said_its_hours_is_judged_by_none() -> None:
    facts = replace(window("06 18:00", "08 07:00"), hours=Hours())
    assert judge_cup(PLAN, facts) == ()
    assert warnings_of(PLAN, facts) == []


@pytest.mark.parametrize(
    ("plan", "field"),
    [
        (replace(PLAN, volume_ml=0.0), "volume_ml"),
        (replace(PLAN, volume_ml=1e-300), "volume_ml"),
        (replace(PLAN, volume_ml=0.0999), "volume_ml"),
        (replace(PLAN, minutes=1e-300), "minutes"),
        (replace(PLAN, minutes=0.0999), "minutes"),
        (replace(PLAN, volume_ml=float("nan")), "volume_ml"),
        (replace(PLAN, minutes=1440.1), "minutes"),
        (replace(PLAN, parts_c=-40.1), "parts_c"),
        (replace(PLAN, parts_c=float("nan")), "parts_c"),
        (replace(PLAN, servings=SERVED[:1] * 61), "serves"),
    ],
)
def test_a_plan_that_cannot_be_says_which_figure(plan: CupPlan, field: str) -> None:
    assert list(faults_of_plan(plan)) == [field]
    assert faults_of_plan(PLAN) == {}
    assert faults_of_plan(replace(PLAN, volume_ml=0.1, minutes=0.1)) == {}
