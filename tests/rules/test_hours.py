"""When the shop is open: the hours of a week, closed days, summer time, and what cannot be."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from shop.rules.hours import (
    Hours,
    faults_of_hours,
    hours_from,
    is_open,
    kept_days,
    kept_week,
    last_open,
    next_opening,
    parse_time,
)

PARIS = ZoneInfo("Europe/Paris")
DAY = (time(8), time(17))
# Closed on the Saturdays and Sundays, and on Christmas Day, a Friday in 2026.
WEEK = Hours((DAY, DAY, DAY, DAY, (time(8), time(12, 30)), None, None), frozenset({date(2026, 12, 25)}))
MINUTE = timedelta(minutes=1)


def paris(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=PARIS).astimezone(UTC)


@pytest.mark.parametrize(
    ("at", "expected"),
    [
        ("2026-12-23 07:59", False), ("2026-12-23 08:00", True), ("2026-12-23 16:59", True),
        ("2026-12-23 17:00", False), ("2026-12-18 12:29", True), ("2026-12-18 12:30", False),
        ("2026-12-19 10:00", False), ("2026-12-25 10:00", False),
    ],
)  # fmt: skip
def test_somebody_is_there_from_the_opening_until_just_before_the_closing(at: str, expected: bool) -> None:
    assert is_open(WEEK, paris(at), PARIS) is expected


@pytest.mark.parametrize(
    ("at", "opens", "was_open"),
    [
        ("2026-12-23 10:00", "2026-12-23 10:00", "2026-12-23 10:00"),
        ("2026-12-23 07:00", "2026-12-23 08:00", "2026-12-22 17:00"),
        ("2026-12-23 17:00", "2026-12-24 08:00", "2026-12-23 17:00"),
        # Thursday evening before Christmas: the Friday is closed, then the weekend.
        ("2026-12-24 18:00", "2026-12-28 08:00", "2026-12-24 17:00"),
        ("2026-12-27 12:00", "2026-12-28 08:00", "2026-12-24 17:00"),
        # The clocks go forward on the Sunday between: eight on Monday is an hour earlier in UTC.
        ("2026-03-27 13:00", "2026-03-30 08:00", "2026-03-27 12:30"),
    ],
)  # fmt: skip
def test_the_next_opening_and_the_last_open_instant(at: str, opens: str, was_open: str) -> None:
    assert next_opening(WEEK, paris(at), PARIS) == paris(opens)
    assert last_open(WEEK, paris(at), PARIS) == paris(was_open)


def test_a_shop_that_never_said_its_hours_is_judged_by_none() -> None:
    night = paris("2026-12-23 03:00")
    assert is_open(Hours(), night, PARIS)
    assert next_opening(Hours(), night, PARIS) == last_open(Hours(), night, PARIS) == night


def test_a_shop_closed_for_more_than_a_year_has_no_next_opening() -> None:
    days = frozenset(date(2026, 1, 1) + timedelta(days=day) for day in range(1200))
    shut = Hours(WEEK.week, days)
    assert next_opening(shut, paris("2026-06-01 03:00"), PARIS) is None
    assert last_open(shut, paris("2027-06-01 03:00"), PARIS) is None


def test_hours_come_back_as_they_were_kept() -> None:
    assert hours_from(kept_week(WEEK), kept_days(WEEK)) == WEEK
    assert hours_from([], []) == Hours()


@pytest.mark.parametrize(
    ("text", "expected"),
    [("8:00", time(8)), ("08.30", time(8, 30)), (" 23:59 ", time(23, 59)), ("24:00", None), ("8", None)],
)
def test_times_of_the_day_as_people_write_them(text: str, expected: time | None) -> None:
    assert parse_time(text) == expected


def test_hours_that_cannot_be_are_named_by_their_day() -> None:
    backwards = Hours(((time(17), time(8)), *WEEK.week[1:]))
    assert faults_of_hours(backwards) == {"monday": "On Monday the shop closes at 08:00, before it opens."}
    many = frozenset(date(2026, 1, 1) + timedelta(days=day) for day in range(401))
    assert list(faults_of_hours(Hours(WEEK.week, many))) == ["closed_on"]
    assert faults_of_hours(WEEK) == {}


def test_every_minute_of_a_fortnight_agrees_with_the_opening_that_follows() -> None:
    at = paris("2026-12-20 00:00")
    for _ in range(14 * 24 * 4):
        opens, was = next_opening(WEEK, at, PARIS), last_open(WEEK, at, PARIS)
        assert opens is not None
        assert was is not None
        assert was <= at <= opens
        assert is_open(WEEK, opens, PARIS)
        assert is_open(WEEK, was - MINUTE, PARIS) or was == at
        at += 15 * MINUTE
