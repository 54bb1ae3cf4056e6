"""Times as loggers write them: what can be read in one way only is read, all else is refused."""

from datetime import UTC, datetime, timedelta, timezone, tzinfo

import pytest

from shop.rules.logger_times import TimeError, read_time

NINE = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
EAST = timezone(timedelta(hours=1))


@pytest.mark.parametrize(
    ("text", "zone"),
    [
        ("2026-03-02 09:00", None),
        ("2026-03-02T09:00:00", None),
        ("2026-03-02T09:00:00Z", UTC),
        ("2026-03-02t09:00:00z", UTC),
        ("2026-03-02 09:00:00 UTC", UTC),
        ("2026-03-02T09:00:00+01:00", EAST),
        ("2026-03-02T09:00:00.000+0100", EAST),
        ("2026-03-02 9:00:00,000", None),
        ("20260302T0900", None),
        ("20260302T090000+01:00", EAST),
        ("2026/03/02 09:00", None),
        ("2026.3.2 09:00", None),
        ("02.03.2026 09:00", None),
        ("2.3.2026, 09:00:00", None),
        ("2 Mar 2026 09:00", None),
        ("02-Mar-2026 09:00:00", None),
        ("2 march 2026, 9:00 am", None),
        ("Mar 2, 2026 9:00:00 AM", None),
        ("March 2 2026 09:00", None),
    ],
)
def test_a_time_that_is_read_in_one_way(text: str, zone: tzinfo | None) -> None:
    assert read_time(text) == NINE.replace(tzinfo=zone)


@pytest.mark.parametrize(
    ("text", "hour"),
    [("12:05 AM", 0), ("12:05 pm", 12), ("1:05 p.m.", 13), ("11:05PM", 23), ("23:05", 23)],
)
def test_halves_of_the_day(text: str, hour: int) -> None:
    assert read_time(f"2026-03-02 {text}").hour == hour


def test_parts_of_a_second_are_kept() -> None:
    assert read_time("2026-03-02 09:00:00.25").microsecond == 250_000
    assert read_time("2026-03-02 09:00:00.123456789").microsecond == 123_456


@pytest.mark.parametrize("text", ["03/04/2026 10:00", "3-4-2026 10:00", "25/12/2026 10:00", "03/04/26 10:00"])
def test_a_day_that_may_be_a_month_is_refused_with_the_way_out(text: str) -> None:
    with pytest.raises(TimeError, match="day and month or month and day; export the file with ISO 8601"):
        read_time(text)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "no time"),
        ("noon", "not a date and time that is read here"),
        ("2026-03-02", "not a date and time that is read here"),
        ("09:00", "not a date and time that is read here"),
        ("2026-W10-1T09:00", "not a date and time that is read here"),
        ("02.03.26 09:00", "not a date and time that is read here"),
        ("1772442000", "not a date and time that is read here"),
        ("2026-02-29 09:00", "that there was"),
        ("2026-13-02 09:00", "that there was"),
        ("2026-03-02 24:00", "that there was"),
        ("2026-03-02 13:00 pm", "that there was"),
        ("2026-03-02 0:30 am", "that there was"),
        ("2 Mxx 2026 09:00", "that there was"),
        ("2026-03-02 09:00+99:00", "that there was"),
        ("20260302T2500", "that there was"),
        ("1969-12-31 09:00", "that there was"),
        ("9999-12-31 23:00-14:00", "that there was"),
        ("٢٠٢٦-03-02 09:00", "not a date and time that is read here"),
    ],
)
def test_a_time_that_cannot_be_read(text: str, says: str) -> None:
    with pytest.raises(TimeError, match=says):
        read_time(text)
