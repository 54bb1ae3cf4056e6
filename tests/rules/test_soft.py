"""Cures that are not hard yet: in which order they are looked after, and how their recoat windows stand."""

from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from itertools import permutations
from typing import Any

import pytest

from shop.rules.facts import CureFact, Facts, Suspect
from shop.rules.hours import Hours
from shop.rules.sequences import Hold, HoldKind, Sequence, Stage
from shop.rules.soft import (
    Concern,
    Shutting,
    SoftCure,
    WindowState,
    in_order,
    is_soft,
    looked_at,
    next_instant,
    shuts_unattended,
    soft_cures,
    window_state,
)
from tests.rules.builders import (
    CLOSED,
    MINUTE,
    SECOND,
    WRAPS,
    after,
    coat,
    cure,
    failed,
    hours,
    reached,
    tacky,
    with_cures,
)

STALLED: dict[str, Any] = {"set_at": None, "full_at": None, "recoat_from": None, "recoat_until": None}
COATED = Sequence(
    "coats",
    "casting",
    (
        Stage("first coat"),
        Stage("second coat", holds=(Hold(HoldKind.RECOAT, place=WRAPS),)),
        Stage("handed over"),
    ),
)
# Monday to Friday from eight to five; CLOSED is a Monday, nine o'clock.
WEEKDAYS = Hours(((time(8), time(17)),) * 5 + (None, None))


@pytest.mark.parametrize(
    ("one", "now", "soft"),
    [
        (cure(), after(24) - MINUTE, True),
        (cure(), after(24), False),
        (cure(), after(24) + MINUTE, False),
        (tacky(cure()), after(99), True),
        (cure(**STALLED), after(999), True),
        (failed(cure()), after(1), False),
        (failed(tacky(cure())), after(1), False),
    ],
)
def test_a_cure_is_soft_until_it_is_hard(one: CureFact, now: datetime, soft: bool) -> None:
    assert is_soft(one, now) is soft


@pytest.mark.parametrize(
    ("one", "now", "state"),
    [
        (cure(), after(1), WindowState.NONE),
        (coat(**STALLED), after(1), WindowState.NEVER),
        (coat(), after(6) - MINUTE, WindowState.OPENS),
        (coat(), after(6), WindowState.OPEN),
        (coat(), after(20), WindowState.OPEN),
        (coat(), after(20) + MINUTE, WindowState.SHUT),
        (coat(recoat_until=None), after(999), WindowState.OPEN),
    ],
)
def test_both_ends_belong_to_a_window(one: CureFact, now: datetime, state: WindowState) -> None:
    assert window_state(one, now) is state


@pytest.mark.parametrize(
    ("one", "takes_a_coat", "now", "concern"),
    [
        (coat(), True, after(1), Concern.SHUTS),
        (coat(), True, after(20), Concern.SHUTS),
        (coat(), True, after(20) + MINUTE, Concern.WAITS),
        (coat(), False, after(1), Concern.WAITS),
        (coat(full_at=None), True, after(20), Concern.SHUTS),
        (coat(full_at=None), True, after(20) + MINUTE, Concern.NO_TIME),
        (coat(recoat_until=None), True, after(1), Concern.WAITS),
        (coat(recoat_until=None, full_at=None), True, after(1), Concern.NO_TIME),
        (tacky(coat()), True, after(7), Concern.NO_TIME),
        (cure(), False, after(1), Concern.WAITS),
        (cure(**STALLED), False, after(1), Concern.NO_TIME),
        (cure(full_at=None), False, after(1), Concern.NO_TIME),
        (coat(recoat_until=after(30)), True, after(25), Concern.SHUTS),
        (coat(recoat_from=None, recoat_until=None), True, after(24) - MINUTE, Concern.WAITS),
        (coat(recoat_from=None, recoat_until=None), True, after(24), Concern.NO_TIME),
    ],
)
def test_what_shuts_comes_before_what_no_time_frees(
    one: CureFact, takes_a_coat: bool, now: datetime, concern: Concern
) -> None:
    assert looked_at(SoftCure("26-001", one, takes_a_coat), now)[0] is concern


@pytest.mark.parametrize(
    ("one", "takes_a_coat", "now", "expected"),
    [
        (cure(), False, after(10) - MINUTE, after(10)),
        (cure(), False, after(10), after(24)),
        (cure(), False, after(24), None),
        (cure(**STALLED), False, after(1), None),
        (coat(turned_at=after(4)), False, after(4) - MINUTE, after(4)),
        (coat(turned_at=after(4)), False, after(4), after(5)),
        (coat(), True, after(5), after(6)),
        (coat(), False, after(5), after(24)),
        (coat(), True, after(6), after(20)),
        (coat(), True, after(20), after(24)),
    ],
)
def test_the_next_instant_that_matters(
    one: CureFact, takes_a_coat: bool, now: datetime, expected: datetime | None
) -> None:
    assert next_instant(SoftCure("26-001", one, takes_a_coat), now) == expected


def test_what_a_suspect_mix_holds_is_freed_by_no_time() -> None:
    assert looked_at(SoftCure("26-001", coat(), True, is_suspect=True), after(7))[0] is Concern.NO_TIME
    streaks = (Suspect(5, "Riverbed", "streaks"),)
    facts = with_cures(cure(1, mix_id=4), cure(2, "reel seat", mix_id=5), suspects=streaks)
    found = soft_cures("26-001", COATED, facts, after(1))
    assert {soft.cure.id: soft.is_suspect for soft in found} == {1: False, 2: True}
    one_joint = with_cures(cure(1, mix_id=4), cure(2, mix_id=5), suspects=streaks)
    assert all(soft.is_suspect for soft in soft_cures("26-001", COATED, one_joint, after(1)))


def test_what_is_told_of_a_cup_is_when_its_whole_joint_gets_there() -> None:
    slow, quick = cure(1), cure(2, closed_at=after(0.1), set_at=after(0.4), full_at=after(2))
    found = {soft.cure.id: soft for soft in soft_cures("26-001", COATED, with_cures(slow, quick), after(3))}
    assert [found[number].cure.set_at for number in (1, 2)] == [after(10), after(10)]
    assert [found[number].cure.full_at for number in (1, 2)] == [after(24), after(24)]
    assert [found[number].is_topped_up for number in (1, 2)] == [True, False]
    alone = with_cures(failed(slow), quick)
    assert list(soft_cures("26-001", COATED, alone, after(3))) == []
    (wet,) = soft_cures("26-001", COATED, with_cures(slow, failed(quick)), after(3))
    assert (wet.cure, wet.is_topped_up) == (slow, False)


def test_one_tacky_cup_keeps_its_whole_joint_soft() -> None:
    for first, second in ((tacky(cure(1)), cure(2, closed_at=after(1))), (cure(1), tacky(cure(2)))):
        found = list(soft_cures("26-001", COATED, with_cures(first, second), after(99)))
        assert [soft.cure.tacky for soft in found] == [True, True]
        assert {looked_at(soft, after(99))[0] for soft in found} == {Concern.NO_TIME}


def test_a_coat_of_two_cups_takes_the_next_one_in_the_window_of_both() -> None:
    quick = coat(2, after(0.5), set_at=after(1), recoat_from=after(2), recoat_until=after(3))
    facts = with_cures(coat(1), quick, reached=reached("first coat"))
    found = list(soft_cures("26-001", COATED, facts, after(1)))
    assert [soft.takes_a_coat for soft in found] == [False, True]
    last = found[-1].cure
    # It shuts before it opens: told to shut as it opens, when the preparing is asked for.
    assert (last.recoat_from, last.recoat_until) == (after(6), after(6))
    assert window_state(last, after(4)) is WindowState.OPENS
    assert window_state(last, after(7)) is WindowState.SHUT


def test_the_order_in_which_to_look_after_them_however_they_are_given() -> None:
    now = after(2)
    soon = SoftCure("26-004", coat(1, CLOSED - hours(3)), True)
    later = SoftCure("26-003", coat(2), True)
    wet = SoftCure("26-002", tacky(cure(3)), False)
    cold = SoftCure("26-009", cure(4, closed_at=CLOSED - hours(1), **STALLED), False)
    next_up = SoftCure("26-008", cure(5, closed_at=CLOSED - hours(7)), False)
    same = SoftCure("26-001", cure(6), False)
    twin = SoftCure("26-001", cure(7), False)
    expected = [
        (Concern.SHUTS, [soon, later]), (Concern.NO_TIME, [cold, wet]), (Concern.WAITS, [next_up, same, twin])
    ]  # fmt: skip
    for given in permutations((twin, same, next_up, wet, cold, later, soon)):
        assert in_order(given, now) == expected
    assert in_order([], now) == []
    assert in_order([wet], now) == [(Concern.NO_TIME, [wet])]


@pytest.mark.parametrize(
    ("facts", "takes"),
    [
        (with_cures(coat(1)), {1: True}),
        (with_cures(coat(1), reached=reached("first coat")), {1: True}),
        # The second coat is laid, so no coat is to come and the first is under it.
        (with_cures(coat(1), reached=reached("first coat", "second coat")), {1: False}),
        (with_cures(coat(1), coat(2, after(7))), {1: False, 2: True}),
        (with_cures(coat(2, after(7)), coat(1)), {1: False, 2: True}),
        (with_cures(coat(1), failed(coat(2, after(7)))), {1: True}),
        (with_cures(cure(1), coat(2)), {1: False, 2: True}),
        (with_cures(cure(1)), {1: False}),
        (with_cures(), {}),
    ],
)
def test_a_coat_goes_onto_the_last_one_of_its_place_while_the_sequence_has_one_to_come(
    facts: Facts, takes: dict[int, bool]
) -> None:
    found = soft_cures("26-001", COATED, facts, after(8))
    assert {soft.cure.id: soft.takes_a_coat for soft in found} == takes


@pytest.mark.parametrize(
    ("one", "now", "listed"),
    [
        (coat(recoat_until=after(30)), after(24), True),
        (coat(recoat_until=after(30)), after(30), True),
        (coat(recoat_until=after(30)), after(30) + MINUTE, False),
        (coat(recoat_from=after(26), recoat_until=None), after(26) - MINUTE, True),
        (coat(recoat_from=after(26), recoat_until=None), after(26), False),
        (coat(recoat_from=None, recoat_until=None), after(99), True),
        (coat(), after(24), False),
        (failed(coat(recoat_until=after(30))), after(25), False),
    ],
)
def test_a_window_that_outlives_the_full_cure_keeps_its_coat_here(
    one: CureFact, now: datetime, listed: bool
) -> None:
    assert bool([*soft_cures("26-001", COATED, with_cures(one), now)]) is listed
    # Where no coat is to come, nobody waits for the window.
    laid = with_cures(one, reached=reached("first coat", "second coat"))
    assert not [*soft_cures("26-001", COATED, laid, now)]


def test_a_joint_of_a_suspect_mix_stays_until_the_verdict_however_hard() -> None:
    facts = with_cures(cure(1, mix_id=4), failed(cure(2, mix_id=4)), cure(3, "reel seat", mix_id=5))
    doubted = replace(facts, suspects=(Suspect(4, "Riverbed", "streaks"),))
    assert [*soft_cures("26-001", COATED, facts, after(99))] == []
    (kept,) = soft_cures("26-001", COATED, doubted, after(99))
    assert (kept.cure.id, kept.is_suspect) == (1, True)


def test_a_coat_that_is_hard_still_lies_over_the_one_under_it() -> None:
    under = coat(1, full_at=None)
    over = coat(2, after(7), full_at=after(8))
    found = soft_cures("26-001", COATED, with_cures(under, over), after(9))
    assert {soft.cure.id: soft.takes_a_coat for soft in found} == {1: False, 2: True}


@pytest.mark.parametrize(
    ("until", "now", "expected"),
    [
        (after(8) - SECOND, after(6), None),  # a second before five, while somebody is there
        (after(8), after(6), Shutting(after(8))),  # at five sharp nobody is
        (after(13), after(6), Shutting(after(8))),
        (after(13), after(8) - MINUTE, Shutting(after(8))),
        (after(13), after(8), Shutting(None)),
        (after(24), after(6), None),
        (after(22), after(9), Shutting(None)),  # open again at eight, an hour after it shuts
        (datetime(2026, 3, 7, 12, tzinfo=UTC), after(6), Shutting(datetime(2026, 3, 6, 17, tzinfo=UTC))),
        (None, after(6), None),
    ],
)
def test_a_window_that_shuts_while_the_shop_is_closed(
    until: datetime | None, now: datetime, expected: Shutting | None
) -> None:
    assert shuts_unattended(coat(recoat_until=until), WEEKDAYS, now, UTC) == expected
    assert shuts_unattended(coat(recoat_until=until), Hours(), now, UTC) is None


def test_a_window_that_opens_after_closing_time_has_no_last_chance() -> None:
    night = coat(recoat_from=after(8), recoat_until=after(20))
    assert shuts_unattended(night, WEEKDAYS, after(1), UTC) == Shutting(None)
    evening = coat(recoat_from=after(8) - timedelta(minutes=1), recoat_until=after(20))
    assert shuts_unattended(evening, WEEKDAYS, after(1), UTC) == Shutting(after(8))
