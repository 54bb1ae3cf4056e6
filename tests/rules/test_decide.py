"""The holds that the work, a person or warmth clears, and the shape of every answer."""

from dataclasses import replace

import pytest

from shop.craft.quantities import QuantityError, parse_quantity
from shop.rules.decide import ClearedBy, Decision, decide, next_stage
from shop.rules.facts import ApprovalFact, Facts, MoneyFact, PartFact, Suspect, Tick, ZoneFact
from shop.rules.sequences import HOUSE_RULES, Hold, HoldKind, Sequence
from tests.rules.builders import (
    CLOSED,
    SECOND,
    after,
    cure,
    hours,
    judge,
    kinds,
    reached,
    shut,
    stage,
    with_cures,
)

ORDER = Hold(HoldKind.ORDER, stages=("first", "second"))
SETS = Hold(HoldKind.SET, places=("rear grip",))
CHECKED = Hold(HoldKind.CHECK, check="orientation")
CHECKED_BY_TWO = Hold(HoldKind.CHECK, check="orientation", second_person=True)
WARM = Hold(HoldKind.WARM)
FIRST, SECOND_STAGE = stage(name="first"), stage(name="second")


def measures(nominal: str, tolerance: str) -> Hold:
    return Hold(
        HoldKind.MEASUREMENT, name="bore", nominal=parse_quantity(nominal),
        tolerance=parse_quantity(tolerance),
    )  # fmt: skip


def test_a_stage_without_holds_may_be_reached_at_once() -> None:
    decision = judge(stage(), Facts(), CLOSED)
    assert (decision.allowed, decision.holds, decision.ready_at) == (True, (), None)


def test_a_stage_that_the_sequence_does_not_have_is_an_error() -> None:
    with pytest.raises(LookupError, match=r"“polished” is not a stage of the sequence “short”\."):
        decide(Sequence("short", "casting", (stage(),)), Facts(), "polished", CLOSED)


@pytest.mark.parametrize(
    ("done", "missing"),
    [
        ((), "first, second"),
        (("first",), "second"),
        (("second",), "first"),
        (("first", "second"), None),
    ],
)
def test_order_names_every_stage_that_is_missing(done: tuple[str, ...], missing: str | None) -> None:
    holds = shut(stage(ORDER), Facts(reached=reached(*done)), CLOSED, FIRST, SECOND_STAGE)
    if missing is None:
        assert holds == ()
    else:
        assert [hold.reason for hold in holds] == [f"These stages come first: {missing}."]
        assert (holds[0].cleared_by, holds[0].clears_at, holds[0].waivable) == (ClearedBy.WORK, None, True)


def test_a_stage_reached_already_says_who_and_says_nothing_else() -> None:
    facts = Facts(reached=reached("target", by="Ott"), clock_doubt="The clock jumped.")
    decision = judge(stage(ORDER, SETS), facts, after(1), FIRST, SECOND_STAGE)
    when = f"{facts.reached['target'].at:%Y-%m-%d %H:%M} UTC"
    said = f"Ott has already logged “target” in this pass, at {when}."
    assert [hold.reason for hold in decision.holds] == [said]
    assert decision.overtaken == facts.reached["target"]
    assert (decision.holds[0].cleared_by, decision.holds[0].waivable) == (ClearedBy.NEVER, False)


def test_the_next_stage_is_the_first_that_is_not_reached() -> None:
    sequence = Sequence("short", "casting", (FIRST, SECOND_STAGE, stage()))
    assert next_stage(sequence, ()) is FIRST
    assert next_stage(sequence, {"first"}) is SECOND_STAGE
    assert next_stage(sequence, {"second", "target"}) is FIRST
    assert next_stage(sequence, {"first", "second", "target"}) is None


@pytest.mark.parametrize(
    ("hold", "ticks", "who", "says"),
    [
        (CHECKED, (), "Nell", "somebody must tick it"),
        (CHECKED, (Tick("ferrule", "Nell"),), "Nell", "somebody must tick it"),
        (CHECKED, (Tick("orientation", "Nell"),), "Nell", None),
        (CHECKED, (Tick("orientation", "Ott"),), "Nell", None),
        (CHECKED_BY_TWO, (), "Nell", "a second person must tick it"),
        (CHECKED_BY_TWO, (Tick("orientation", "Nell"),), "Nell", "not by Nell alone"),
        (CHECKED_BY_TWO, (Tick("orientation", "Nell"),) * 2, "Nell", "not by Nell alone"),
        (CHECKED_BY_TWO, (Tick("orientation", "Ott"),), "Nell", None),
        (CHECKED_BY_TWO, (Tick("orientation", "Nell"), Tick("orientation", "Ott")), "Nell", None),
        (CHECKED_BY_TWO, (Tick("orientation", "Ott"),), None, None),
    ],
)
def test_a_check_wants_a_tick_and_perhaps_a_second_person(
    hold: Hold, ticks: tuple[Tick, ...], who: str | None, says: str | None
) -> None:
    holds = shut(stage(hold), Facts(ticks=ticks, who=who), CLOSED)
    assert len(holds) == (0 if says is None else 1)
    for one in holds:
        assert says is not None
        assert says in one.reason
        assert (one.kind, one.cleared_by, one.clears_at) == (HoldKind.CHECK, ClearedBy.PERSON, None)
        assert one.waivable


@pytest.mark.parametrize(
    ("nominal", "tolerance", "measured", "open_"),
    [
        ("12 mm", "0.5 mm", "11.499999 mm", False),
        ("12 mm", "0.5 mm", "11.5 mm", True),
        ("12 mm", "0.5 mm", "12.5 mm", True),
        ("12 mm", "0.5 mm", "12.500001 mm", False),
        # 1/64 in is 396 875 nm exactly: inches against millimetres must not depend on rounding.
        ("1/2 in", "1/64 in", "13.096875 mm", True),
        ("1/2 in", "1/64 in", "13.096876 mm", False),
        ("62 g", "1 g", "63 g", True),
        ("62 g", "1 g", "63.000001 g", False),
        ("62 g", "1 g", "61 g", True),
        ("62 g", "1 g", "60.999999 g", False),
        ("0°", "5°", "-5°", True),
        ("0°", "5°", "-5.000001°", False),
        ("9", "0", "9", True),
        ("9", "0", "10", False),
    ],
)
def test_a_figure_is_held_outside_its_tolerance_and_free_on_its_very_ends(
    nominal: str, tolerance: str, measured: str, open_: bool
) -> None:
    facts = Facts(measured={"bore": parse_quantity(measured)})
    holds = shut(stage(measures(nominal, tolerance)), facts, CLOSED)
    assert (holds == ()) is open_
    for hold in holds:
        assert (hold.cleared_by, hold.clears_at, hold.waivable) == (ClearedBy.OWNER, None, True)


def test_a_figure_that_is_missing_or_of_another_kind_is_asked_for() -> None:
    held = stage(measures("12 mm", "0.5 mm"))
    for facts, says in (
        (Facts(), "“bore” has not been measured; it should be"),
        (Facts(measured={"length": parse_quantity("12 mm")}), "“bore” has not been measured"),
        (Facts(measured={"bore": parse_quantity("12 g")}), "“bore” is on record as 12 g; it should be"),
    ):
        (hold,) = shut(held, facts, CLOSED)
        assert says in hold.reason
        assert "12 mm) ± " in hold.reason
        assert "0.5 mm)" in hold.reason
        assert (hold.kind, hold.cleared_by) == (HoldKind.MEASUREMENT, ClearedBy.WORK)


def test_a_measurement_hold_with_half_a_figure_or_an_odd_one_is_an_error_of_the_sequence() -> None:
    for half in (replace(measures("9", "1"), nominal=None), replace(measures("9", "1"), tolerance=None)):
        with pytest.raises(ValueError, match="“bore” has half a figure to compare with"):
            judge(stage(half), Facts(), CLOSED)
    odd = Hold(
        HoldKind.MEASUREMENT, name="bore", nominal=parse_quantity("9"), tolerance=parse_quantity("1 mm")
    )
    with pytest.raises(QuantityError):
        judge(stage(odd), Facts(measured={"bore": parse_quantity("9")}), CLOSED)


@pytest.mark.parametrize(("celsius", "open_"), [(12.9, False), (13.0, True), (20.0, True)])
def test_before_mixing_the_zone_must_be_warm_enough_now(celsius: float, open_: bool) -> None:
    facts = Facts(mixing_zone=ZoneFact("bench", celsius, 13.0))
    holds = shut(stage(WARM, place="rear grip"), facts, CLOSED)
    assert (holds == ()) is open_
    for hold in holds:
        assert hold.reason == "The bench is at 12.9 °C; mixing needs 13 °C."
        assert (hold.cleared_by, hold.waivable) == (ClearedBy.WORK, True)


@pytest.mark.parametrize(("celsius", "open_"), [(12.99, False), (13.0, True)])
def test_once_a_joint_is_on_record_its_own_mixing_counts(celsius: float, open_: bool) -> None:
    warm_now = ZoneFact("bench", 25.0, 13.0)
    facts = with_cures(cure(mixing_c=celsius), mixing_zone=warm_now)
    holds = shut(stage(WARM, place="rear grip"), facts, after(1))
    assert (holds == ()) is open_
    for hold in holds:
        assert "when the Riverbed was mixed; it needs 13 °C." in hold.reason
        assert (hold.cleared_by, hold.waivable) == (ClearedBy.OWNER, True)


def test_an_earlier_coat_mixed_in_warmth_does_not_vouch_for_the_next() -> None:
    coats = stage(name="first coat", place="guide wraps")
    cold = ZoneFact("bench", 5.0, 13.0)
    facts = with_cures(cure(place="guide wraps"), mixing_zone=cold, reached=reached("first coat"))
    (hold,) = shut(stage(WARM, place="guide wraps"), facts, after(12), coats)
    assert hold.reason == "The bench is at 5.0 °C; mixing needs 13 °C."
    second = cure(2, "guide wraps", after(12), mixing_c=20.0)
    facts = with_cures(*facts.cures, second, mixing_zone=cold, reached=facts.reached)
    assert shut(stage(WARM, place="guide wraps"), facts, after(12), coats) == ()


def test_without_a_zone_there_is_no_warmth_to_judge() -> None:
    assert shut(stage(WARM, place="rear grip"), Facts(), CLOSED) == ()


def test_suspicion_and_the_clock_stand_on_every_stage_listed_or_not() -> None:
    doubt = "The server's clock went back by 3 s; an owner must confirm the time."
    two = (Suspect(4, "Riverbed", "It stayed soft."), Suspect(7, "Stillwater", "Two parts A."))
    facts = Facts(clock_doubt=doubt, suspects=two)
    for held in (stage(), stage(Hold(HoldKind.SUSPECT), Hold(HoldKind.CLOCK))):
        decision = judge(held, facts, CLOSED)
        assert kinds(decision) == [HoldKind.CLOCK, HoldKind.SUSPECT, HoldKind.SUSPECT]
        assert decision.holds[0].reason == doubt
        assert decision.holds[2].reason == (
            "The mix of Stillwater used on this rod is under suspicion: Two parts A."
        )
        assert {hold.cleared_by for hold in decision.holds} == {ClearedBy.OWNER}
        assert not any(hold.waivable for hold in decision.holds)
        assert decision.ready_at is None


ALL = stage(
    ORDER, SETS, Hold(HoldKind.FULL_CURE, places=("reel seat",)), CHECKED, measures("12 mm", "1 mm"),
    Hold(HoldKind.RECOAT, place="guide wraps"), Hold(HoldKind.POT_LIFE, places=("fore grip",)),
    Hold(HoldKind.TURNER), WARM,
    *map(Hold, (HoldKind.PARTS, HoldKind.APPROVAL, HoldKind.DEPOSIT, HoldKind.BALANCE)),
)  # fmt: skip
EVERYTHING_WRONG = with_cures(
    cure(1), cure(2, "reel seat"), cure(3, "fore grip", pot_life_ends_at=CLOSED - SECOND),
    clock_doubt="The clock jumped.", suspects=(Suspect(1, "Riverbed", "It is soft."),),
    mixing_zone=ZoneFact("bench", 5.0, 13.0), parts=(PartFact("guide", "Ring guide", 1, on_shelf=0),),
    approval=ApprovalFact(1), money=MoneyFact("EUR", 100, 50),
)  # fmt: skip


def test_every_hold_that_is_shut_is_returned_in_the_sequence_s_order() -> None:
    decision = judge(ALL, EVERYTHING_WRONG, after(1), FIRST, SECOND_STAGE)
    assert kinds(decision) == [
        HoldKind.CLOCK, HoldKind.SUSPECT, HoldKind.ORDER, HoldKind.SET, HoldKind.FULL_CURE, HoldKind.CHECK,
        HoldKind.MEASUREMENT, HoldKind.RECOAT, HoldKind.POT_LIFE, HoldKind.TURNER, HoldKind.WARM,
        HoldKind.PARTS, HoldKind.APPROVAL, HoldKind.DEPOSIT, HoldKind.BALANCE,
    ]  # fmt: skip
    assert not decision.allowed
    assert decision.ready_at is None
    assert decision.time_clears_at == after(24)
    assert {hold.kind for hold in decision.holds if hold.waivable} == HOUSE_RULES - {HoldKind.LOT}


def test_releases_take_away_the_house_rules_of_that_stage_and_nothing_else() -> None:
    released = frozenset(("target", kind) for kind in HoldKind)
    facts = with_cures(
        *EVERYTHING_WRONG.cures, clock_doubt="The clock jumped.", suspects=EVERYTHING_WRONG.suspects,
        mixing_zone=EVERYTHING_WRONG.mixing_zone, releases=released,
    )  # fmt: skip
    decision = judge(ALL, facts, after(1), FIRST, SECOND_STAGE)
    assert kinds(decision) == [
        HoldKind.CLOCK, HoldKind.SUSPECT, HoldKind.SET, HoldKind.FULL_CURE, HoldKind.RECOAT,
        HoldKind.POT_LIFE,
    ]  # fmt: skip
    elsewhere = Facts(releases=frozenset({("other", HoldKind.ORDER)}))
    assert kinds(judge(stage(ORDER), elsewhere, CLOSED, FIRST, SECOND_STAGE)) == [HoldKind.ORDER]


def test_it_is_ready_when_the_last_of_several_waits_is_over() -> None:
    held = stage(SETS, Hold(HoldKind.FULL_CURE, places=("reel seat",)))
    facts = with_cures(cure(1), cure(2, "reel seat", closed_at=CLOSED - hours(20)))
    decision = judge(held, facts, after(1))
    assert [hold.clears_at for hold in decision.holds] == [after(10), after(4)]
    assert decision.ready_at == after(10)
    assert judge(held, facts, after(10) - SECOND).ready_at == after(10)
    assert judge(held, facts, after(10)).allowed


def test_time_alone_does_not_make_ready_what_a_person_must_clear() -> None:
    decision = judge(stage(SETS, CHECKED), with_cures(cure()), after(1))
    assert decision.ready_at is None
    assert decision.time_clears_at == after(10)


def test_the_end_of_a_sequence_is_not_allowed_and_has_no_hold() -> None:
    end = Decision(None, ())
    assert (end.allowed, end.ready_at, end.overtaken) == (False, None, None)
