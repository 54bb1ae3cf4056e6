"""When a puddle is to be touched, to the second, and when what was felt puts its mix in doubt."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.cure import Sheet, ZoneClock
from shop.craft.warmth import TemperatureLine
from shop.rules.puddles import (
    NextTouch,
    PuddleState,
    Touch,
    Why,
    is_asked_for,
    is_in_doubt,
    next_touch,
    wait_after_tacky,
)
from tests.rules.builders import CLOSED, SECOND, after, hours

SET_MINUTES = 600.0
FIRM, TACKY = PuddleState.FIRM, PuddleState.TACKY
# Two cures of one mix; the one on the next rod was closed a quarter of an hour later.
TIMES = (after(10.25), after(10))
JUST_BEFORE = after(10) - SECOND


@pytest.mark.parametrize(
    ("set_times", "last", "due"),
    [
        ((), None, NextTouch(None, Why.NO_JOINT)),
        ((), Touch(TACKY, after(11)), NextTouch(None, Why.NO_JOINT)),
        (TIMES, None, NextTouch(after(10), Why.SET)),
        ((None, after(12)), None, NextTouch(after(12), Why.SET)),
        ((None, None), None, NextTouch(None, Why.STALLED)),
        ((None,), Touch(TACKY, after(30)), NextTouch(None, Why.STALLED)),
        (TIMES, Touch(TACKY, JUST_BEFORE), NextTouch(after(10), Why.SET)),
        (TIMES, Touch(FIRM, JUST_BEFORE), NextTouch(after(10), Why.SET)),
        (TIMES, Touch(TACKY, after(10)), NextTouch(after(12.5), Why.TACKY)),
        (TIMES, Touch(FIRM, after(10)), NextTouch(None, Why.FIRM)),
        (TIMES, Touch(TACKY, after(40)), NextTouch(after(42.5), Why.TACKY)),
    ],
)
def test_a_puddle_is_due_when_its_first_cure_should_have_set(
    set_times: tuple[datetime | None, ...], last: Touch | None, due: NextTouch
) -> None:
    assert next_touch(set_times, SET_MINUTES, last) == due


@pytest.mark.parametrize(
    ("last", "due"),
    [
        (None, NextTouch(after(20), Why.RECHECK)),
        (Touch(TACKY, after(10)), NextTouch(after(20), Why.RECHECK)),
        (Touch(TACKY, after(20) - SECOND), NextTouch(after(20), Why.RECHECK)),
        (Touch(FIRM, after(19)), NextTouch(after(20), Why.RECHECK)),
        (Touch(TACKY, after(20)), NextTouch(after(22.5), Why.TACKY)),
        (Touch(FIRM, after(20)), NextTouch(None, Why.FIRM)),
    ],
)
def test_an_owner_who_said_to_wait_says_when_to_look_again(last: Touch | None, due: NextTouch) -> None:
    assert next_touch(TIMES, SET_MINUTES, last, recheck_at=after(20)) == due
    assert next_touch((), SET_MINUTES, last, recheck_at=after(20)).at is None


def test_a_touch_at_the_time_said_does_not_stand_for_one_at_the_set_time() -> None:
    early = next_touch(TIMES, SET_MINUTES, Touch(TACKY, after(4)), recheck_at=after(4))
    assert early == NextTouch(after(10), Why.SET)
    stalled = next_touch((None,), SET_MINUTES, None, recheck_at=after(4))
    assert stalled == NextTouch(after(4), Why.RECHECK)


@pytest.mark.parametrize(
    ("set_minutes", "waits"),
    [(30.0, 1), (239.9, 1), (240.0, 1), (600.0, 2.5), (1440.0, 6), (1440.1, 6), (7200.0, 6)],
)
def test_a_tacky_puddle_is_left_alone_for_an_hour_to_six(set_minutes: float, waits: float) -> None:
    assert wait_after_tacky(set_minutes) == hours(waits)


@pytest.mark.parametrize(
    ("set_times", "last", "doubted"),
    [
        (TIMES, None, False),
        (TIMES, Touch(TACKY, JUST_BEFORE), False),
        (TIMES, Touch(TACKY, after(10)), True),
        (TIMES, Touch(FIRM, after(10)), False),
        ((None, after(10)), Touch(TACKY, after(10)), True),
        ((None,), Touch(TACKY, after(10)), False),
        ((), Touch(TACKY, after(10)), False),
    ],
)
def test_a_mix_is_in_doubt_once_its_first_cure_should_have_set(
    set_times: tuple[datetime | None, ...], last: Touch | None, doubted: bool
) -> None:
    assert is_in_doubt(set_times, last) is doubted


@pytest.mark.parametrize(
    ("set_times", "last", "doubted"),
    [
        # Colder than the sheet: it sets at 14 h, the sheet alone says 10 h.
        ((after(14),), Touch(TACKY, JUST_BEFORE), False),
        ((after(14),), Touch(TACKY, after(10)), True),
        ((after(14),), Touch(FIRM, after(12)), False),
        ((None,), Touch(TACKY, after(10)), True),
        # Never later than the set time that was worked out.
        ((after(8),), Touch(TACKY, after(8) - SECOND), False),
        ((after(8),), Touch(TACKY, after(8)), True),
        ((after(14),), None, False),
    ],
)
def test_a_late_cold_reading_takes_back_no_doubt(
    set_times: tuple[datetime | None, ...], last: Touch | None, doubted: bool
) -> None:
    assert is_in_doubt(set_times, last, soonest=(after(12), after(10))) is doubted


@pytest.mark.parametrize(
    ("due", "now", "asked"),
    [
        (NextTouch(after(10), Why.SET), after(0), True),
        (NextTouch(after(10), Why.SET), after(10 + 7 * 24) - SECOND, True),
        (NextTouch(after(10), Why.SET), after(10 + 7 * 24), False),
        (NextTouch(after(10), Why.TACKY), after(10 + 30 * 24), True),
        (NextTouch(after(10), Why.RECHECK), after(10 + 30 * 24), True),
        (NextTouch(None, Why.FIRM), after(0), False),
        (NextTouch(None, Why.STALLED), after(0), False),
    ],
)
def test_a_puddle_that_nobody_touched_for_a_week_is_not_asked_for(
    due: NextTouch, now: datetime, asked: bool
) -> None:
    assert is_asked_for(due, now) is asked


MINUTES = st.integers(0, 5_000).map(lambda count: timedelta(minutes=count))
SOME_TIMES = st.lists(st.one_of(st.none(), MINUTES.map(lambda span: after(0) + span)), min_size=1, max_size=5)
TOUCHES = st.builds(Touch, st.sampled_from(PuddleState), MINUTES.map(lambda span: after(0) + span))


@given(SOME_TIMES, TOUCHES, st.floats(1, 20_000), MINUTES.map(lambda span: after(0) + span))
def test_a_mix_in_doubt_is_always_to_be_touched_again(
    set_times: list[datetime | None], last: Touch, set_minutes: float, soonest: datetime
) -> None:
    due = next_touch(set_times, set_minutes, last)
    if is_in_doubt(set_times, last, (soonest,)) and due.why is not Why.STALLED:
        assert due.at is not None
        assert due.at > last.at
    assert (due.at is None) == (due.why in (Why.FIRM, Why.STALLED))


SHEET = Sheet(20.0, 30.0, 600.0, 1440.0)
CLOSED_S = CLOSED.timestamp()
READINGS = st.lists(
    st.tuples(st.integers(0, 3_000).map(lambda minutes: CLOSED_S + minutes * 60.0), st.floats(0.0, 40.0)),
    max_size=12, unique_by=lambda reading: reading[0],
)  # fmt: skip


@given(READINGS, READINGS, st.sampled_from((1.0, 1.5, 2.0)), TOUCHES)
def test_a_reading_never_takes_back_a_doubt(
    known: list[tuple[float, float]], late: list[tuple[float, float]], credit_cap: float, last: Touch
) -> None:
    clock = ZoneClock(TemperatureLine(20.0, 6 * 3600.0, known))
    soonest = (CLOSED + timedelta(minutes=SHEET.set_minutes / credit_cap),)

    def doubted() -> bool:
        set_at = clock.times(SHEET, CLOSED_S, credit_cap).set_at
        return is_in_doubt((None if set_at is None else datetime.fromtimestamp(set_at, UTC),), last, soonest)

    before = doubted()
    clock.take_in({None: late})
    assert doubted() or not before
