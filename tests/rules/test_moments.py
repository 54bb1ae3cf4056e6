"""Moments: which there are, from when until when each is told, and in which order."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest

from shop.rules.facts import CureFact
from shop.rules.hours import Hours
from shop.rules.moments import (
    LEAST_TOLD,
    LOOK_AHEAD,
    LOOK_BACK,
    MOST_BACK,
    WINDOW_BACK,
    Cup,
    Kind,
    Moment,
    around,
    coming,
    cup_moments,
    cure_moments,
    dated_key,
    due,
    in_order,
    look_moment,
    puddle_moment,
    stopped_moment,
    told_since,
)
from shop.rules.soft import SoftCure
from tests.rules.builders import CLOSED, MINUTE, SECOND, after, coat, cure, failed, hours, tacky

ROD = "26-014"
ALWAYS_OPEN = Hours()
# Open from eight to five on weekdays; `CLOSED` is a Monday at nine.
WEEKDAYS = Hours(((time(8), time(17)),) * 5 + (None, None))
STALLED: dict[str, Any] = {"set_at": None, "full_at": None, "recoat_from": None, "recoat_until": None}
ENDS = CLOSED + timedelta(minutes=25)
REAR, SEAT = (ROD, "rear grip"), (ROD, "reel seat")


def of(one: CureFact, takes_a_coat: bool = False, hours: Hours = ALWAYS_OPEN, **other: Any) -> list[Moment]:
    return list(cure_moments([SoftCure(ROD, one, takes_a_coat, **other)], hours, UTC))


def times(moments: list[Moment]) -> dict[Kind, datetime]:
    return {moment.kind: moment.at for moment in moments}


def test_of_several_cups_in_a_joint_the_last_speaks() -> None:
    assert of(cure(), is_topped_up=True) == []
    assert times(of(cure(), is_topped_up=False)) == {Kind.SET: after(10), Kind.FULL: after(24)}


@pytest.mark.parametrize(
    ("one", "takes_a_coat", "expected"),
    [
        (cure(), False, {Kind.SET: after(10), Kind.FULL: after(24)}),
        (coat(), False, {Kind.SET: after(5), Kind.FULL: after(24)}),
        (
            coat(), True,
            {Kind.SET: after(5), Kind.FULL: after(24), Kind.OPENS: after(6), Kind.SHUTS: after(19),
             Kind.SHUT: after(20)},
        ),
        (coat(recoat_until=None), True, {Kind.SET: after(5), Kind.FULL: after(24), Kind.OPENS: after(6)}),
        # A window shorter than an hour is not said to shut before it opens.
        (
            coat(recoat_until=after(6.5)), True,
            {Kind.SET: after(5), Kind.FULL: after(24), Kind.OPENS: after(6), Kind.SHUTS: after(6),
             Kind.SHUT: after(6.5)},
        ),
        (cure(full_at=None), False, {Kind.SET: after(10)}),
        (cure(**STALLED), False, {}),
        (coat(**STALLED), True, {}),
        (tacky(coat()), True, {}),
        (failed(cure()), False, {}),
    ],
)  # fmt: skip
def test_the_moments_of_a_cure(one: CureFact, takes_a_coat: bool, expected: dict[Kind, datetime]) -> None:
    found = of(one, takes_a_coat)
    assert times(found) == expected
    assert len(found) == len(expected)


def test_what_is_in_doubt_is_never_said_to_be_set() -> None:
    assert of(tacky(cure())) == []
    assert of(cure(), is_suspect=True) == []


@pytest.mark.parametrize(
    ("until", "called", "by"),
    [
        (after(7), after(6), after(7)),  # at four, while somebody is there
        (after(8) - SECOND, after(7) - SECOND, after(8) - SECOND),
        (after(13), after(7), after(8)),  # at ten in the evening: the last to lay a coat go at five
        (after(22), after(7), after(8)),
        (after(47), after(46), after(47)),
    ],
)
def test_a_window_that_shuts_at_night_is_called_before_people_go_home(
    until: datetime, called: datetime, by: datetime
) -> None:
    one = coat(recoat_from=after(2), recoat_until=until)
    opens, shuts = (m for m in of(one, True, WEEKDAYS) if m.kind in (Kind.OPENS, Kind.SHUTS))
    assert (opens.by, opens.lapses_at) == (by, until)
    assert (shuts.at, shuts.by, shuts.lapses_at) == (called, by, until)
    assert ("closed" in shuts.says) == (by != until)
    assert times(of(one, True, WEEKDAYS))[Kind.SHUT] == until


def test_a_window_that_nobody_is_there_for_is_called_by_its_own_end() -> None:
    night = coat(recoat_from=after(9), recoat_until=after(20))
    found = times(of(night, True, WEEKDAYS))
    assert (found[Kind.OPENS], found[Kind.SHUTS]) == (after(9), after(19))


CUP = Cup(7, "Riverbed", ENDS)


@pytest.mark.parametrize(
    ("cup", "who"),
    [
        (CUP._replace(to_close=(REAR, SEAT), is_planned=True), "26-014 rear grip, 26-014 reel seat"),
        (CUP._replace(to_close=(SEAT,), closed=(REAR,), is_planned=True), "26-014 reel seat"),
        (CUP._replace(closed=(REAR,), is_planned=True), None),
        (CUP._replace(is_planned=True), None),
        (CUP._replace(closed=(REAR,)), "26-014 rear grip"),
        (CUP, "Cup 7"),
    ],
)
def test_a_cup_in_use_names_the_rods_that_it_is_for(cup: Cup, who: str | None) -> None:
    found = list(cup_moments([cup]))
    expected = {} if who is None else {Kind.POT_ENDS: ENDS - 5 * MINUTE, Kind.POT_OVER: ENDS}
    assert times(found) == expected
    assert {moment.who for moment in found} == ({who} if who else set())


@pytest.mark.parametrize(
    ("now", "told"),
    [
        (ENDS - 5 * MINUTE - SECOND, []),
        (ENDS - 5 * MINUTE, [Kind.POT_ENDS]),
        (ENDS - SECOND, [Kind.POT_ENDS]),
        (ENDS, [Kind.POT_OVER]),
        (ENDS + LEAST_TOLD - SECOND, [Kind.POT_OVER]),
        (ENDS + LEAST_TOLD, []),
    ],
)
def test_the_end_of_a_pot_life_is_told_before_and_after(now: datetime, told: list[Kind]) -> None:
    assert [moment.kind for moment in due(cup_moments([CUP]), now, now - LOOK_BACK, {})] == told
    planned = CUP._replace(to_close=(REAR,), is_planned=True)
    longer = [*told] if now < ENDS + LEAST_TOLD else [Kind.POT_OVER]
    assert [moment.kind for moment in due(cup_moments([planned]), now, now - LOOK_BACK, {})] == longer


ONE = Moment(Kind.SET, 17, after(10), (REAR,), "has set")


@pytest.mark.parametrize(
    ("now", "seen_at", "is_due", "is_coming"),
    [
        (after(10) - LOOK_AHEAD - SECOND, None, False, False),
        (after(10) - LOOK_AHEAD, None, False, True),
        (after(10) - SECOND, None, False, True),
        (after(10), None, True, False),
        (after(10) + LOOK_BACK, None, True, False),
        (after(10) + LOOK_BACK + SECOND, None, False, False),
        (after(11), after(10), False, False),
        (after(11), after(11), False, False),
        # Seen before it had come, or before the cold moved it to later: it is told again.
        (after(11), after(10) - SECOND, True, False),
    ],
)
def test_a_moment_is_told_from_its_instant_until_it_is_seen_or_old(
    now: datetime, seen_at: datetime | None, is_due: bool, is_coming: bool
) -> None:
    seen = {} if seen_at is None else {"set-17": seen_at}
    assert due([ONE], now, now - LOOK_BACK, seen) == ([ONE] if is_due else [])
    assert coming([ONE], now) == ([ONE] if is_coming else [])


@pytest.mark.parametrize(
    ("now", "seen"),
    [
        (after(10) - LOOK_AHEAD - SECOND, False), (after(10) - LOOK_AHEAD, True), (after(10), True),
        (after(10) + WINDOW_BACK, True), (after(10) + WINDOW_BACK + SECOND, False),
    ],
)  # fmt: skip
def test_an_instant_sees_so_far_back_and_ahead(now: datetime, seen: bool) -> None:
    far = [ONE._replace(at=after(-1000)), ONE._replace(at=after(1000))]
    assert list(around(in_order([far[1], ONE, far[0]]), now)) == ([ONE] if seen else [])


def test_what_is_of_no_use_any_more_is_not_told() -> None:
    window = of(coat(set_at=None, recoat_from=after(10), full_at=None), True)

    def kinds(now: datetime) -> list[Kind]:
        return [moment.kind for moment in due(window, now, now - LOOK_BACK, {})]

    assert kinds(after(19) - SECOND) == [Kind.OPENS]
    assert kinds(after(19)) == [Kind.SHUTS, Kind.OPENS]
    assert kinds(after(20) - SECOND) == [Kind.SHUTS, Kind.OPENS]
    assert kinds(after(20)) == [Kind.SHUT]


def test_a_turner_that_stands_still_is_told_for_as_long_as_it_does() -> None:
    stopped = stopped_moment(3, "North", CLOSED, ((ROD, "on place 2"),))
    assert due([stopped], after(40), after(28), {}) == [stopped]
    assert due([stopped], after(40), after(28), {"stopped-3": after(1)}) == []


def test_the_most_pressing_is_told_first_and_what_comes_is_in_order_of_time() -> None:
    look = look_moment(2, "North", after(1), ((ROD, "on place 2"),))
    puddle = puddle_moment(5, "Riverbed", after(1), (REAR,))
    stopped = stopped_moment(3, "North", after(1), ((ROD, "on place 2"),))
    early = ONE._replace(number=1, at=after(0.5))
    late = ONE._replace(number=2, at=after(1))
    full = late._replace(kind=Kind.FULL)
    pot = next(iter(cup_moments([CUP._replace(to_close=(REAR,), is_planned=True)])))._replace(lapses_at=None)
    given = [full, late, early, puddle, look, pot, stopped]
    assert due(given, after(2), CLOSED, {}) == [stopped, pot, look, puddle, early, late, full]
    later = [replace_at(moment, hours(3)) for moment in (late, early, pot)]
    assert [moment.at for moment in coming(later, after(2))] == sorted(moment.at for moment in later)


def replace_at(moment: Moment, step: timedelta) -> Moment:
    return moment._replace(at=moment.at + step)


def test_each_names_rod_and_place_and_all_but_a_full_cure_sound() -> None:
    found = of(coat(), True) + of(cure())
    assert all(moment.words.startswith(f"{ROD} ") for moment in found)
    assert {moment.kind for moment in found if not moment.sounds} == {Kind.FULL}
    assert of(cure())[0].words == "26-014 rear grip: has set; the next joint may push on it"
    assert of(coat())[0].words == "26-014 guide wraps: the coat has set"


def test_a_key_is_the_same_after_the_temperature_has_moved_its_moment() -> None:
    warm, cold = of(cure())[0], of(replace(cure(), set_at=after(14)))[0]
    assert warm.at != cold.at
    assert warm.key == cold.key


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("set-17@2026-03-02T19:00:00+00:00", ("set-17", after(10))),
        ("pot-over-1@2026-03-02T20:00:00+01:00", ("pot-over-1", after(10))),
        ("set-17", None), ("set-17@", None), ("set-17@2026-03-02T19:00:00", None), ("set-17@soon", None),
        ("set-0@2026-03-02T19:00:00Z", None), ("sat-1@2026-03-02T19:00:00Z", None), ("", None),
        ("set-1\n@2026-03-02T19:00:00Z", None), (f"set-{'9' * 20}@2026-03-02T19:00:00Z", None),
    ],
)  # fmt: skip
def test_what_was_seen_is_a_key_and_the_instant_of_its_moment(text: str, expected: object) -> None:
    assert dated_key(text) == expected


# `CLOSED` is a Monday at nine; the shop was last open on the Friday before, at five in the afternoon.
FRIDAY = after(-64)


@pytest.mark.parametrize(
    ("hours", "now", "expected"),
    [
        (ALWAYS_OPEN, CLOSED, CLOSED - LOOK_BACK),
        (WEEKDAYS, after(-1), FRIDAY - LOOK_BACK),  # Monday at eight
        (WEEKDAYS, after(11) - SECOND, FRIDAY - LOOK_BACK),  # twelve hours ago nobody was there yet
        (WEEKDAYS, after(11), after(-1) - LOOK_BACK),
        (WEEKDAYS, after(20), after(8) - LOOK_BACK),
        (WEEKDAYS, after(24), after(8) - LOOK_BACK),  # Tuesday at nine: since Monday at five, and before it
        (replace(WEEKDAYS, closed_on=frozenset({date(2026, 2, 27)})), after(-1), FRIDAY - hours(36)),
        (replace(WEEKDAYS, closed_on=frozenset({date(2026, 2, day) for day in range(20, 28)})), CLOSED,
         CLOSED - MOST_BACK),
    ],
)  # fmt: skip
def test_what_came_while_the_shop_was_closed_is_told(hours: Hours, now: datetime, expected: datetime) -> None:
    assert told_since(hours, now, UTC) == expected


def test_an_open_window_is_told_until_it_has_shut() -> None:
    window = of(coat(set_at=None, full_at=None, recoat_from=after(2), recoat_until=after(72)), True)
    assert [moment.kind for moment in due(window, after(71) - SECOND, after(60), {})] == [Kind.OPENS]
    assert [moment.kind for moment in due(window, after(72), after(60), {})] == [Kind.SHUT]
    endless = of(coat(set_at=None, full_at=None, recoat_from=after(2), recoat_until=None), True)
    assert due(endless, after(71), after(60), {}) == []
