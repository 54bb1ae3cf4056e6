"""Instants, spans, days, lengths and money in words, in the shop's zone and over changes of the clocks.

The changes are those of the IANA time zone data; each is named beside its case.
"""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.lengths import parse_length
from shop.web.stretches import microseconds
from shop.web.wording import (
    QuickWords,
    amount,
    both_units,
    dated,
    day,
    for_input,
    minutes,
    not_before,
    span,
    when,
)

GREENWICH = ZoneInfo("UTC")
OSLO = ZoneInfo("Europe/Oslo")
NEW_YORK = ZoneInfo("America/New_York")
LORD_HOWE = ZoneInfo("Australia/Lord_Howe")
AUCKLAND = ZoneInfo("Pacific/Auckland")


def local(zone: ZoneInfo, *parts: int) -> datetime:
    return datetime(*parts, tzinfo=zone).astimezone(UTC)  # type: ignore[misc,arg-type]


@pytest.mark.parametrize(
    ("zone", "closed", "later", "says"),
    [
        # 2026-03-29 01:00 UTC: clocks go from 02:00 to 03:00 in Oslo.
        (OSLO, (2026, 3, 28, 17, 0), timedelta(hours=12), "Sun 29 Mar 06:00"),
        (OSLO, (2026, 3, 27, 17, 0), timedelta(hours=12), "Sat 28 Mar 05:00"),
        # 2026-10-25 01:00 UTC: clocks go from 03:00 back to 02:00 in Oslo.
        (OSLO, (2026, 10, 24, 17, 0), timedelta(hours=12), "Sun 25 Oct 04:00"),
        # 2026-03-08 and 2026-11-01, at 02:00 local, in New York.
        (NEW_YORK, (2026, 3, 7, 17, 0), timedelta(hours=12), "Sun 8 Mar 06:00"),
        (NEW_YORK, (2026, 10, 31, 17, 0), timedelta(hours=12), "Sun 1 Nov 04:00"),
        # Lord Howe moves by half an hour: 2026-10-04 at 02:00 to 02:30.
        (LORD_HOWE, (2026, 10, 3, 17, 0), timedelta(hours=12), "Sun 4 Oct 05:30"),
    ],
)
def test_twelve_hours_are_twelve_hours_over_a_change_of_the_clocks(
    zone: ZoneInfo, closed: tuple[int, ...], later: timedelta, says: str
) -> None:
    instant = local(zone, *closed)
    assert when(instant + later, instant, zone) == says


def test_both_passes_of_the_hour_that_comes_twice_are_told_in_order() -> None:
    first = datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    now = datetime(2026, 10, 25, 10, 0, tzinfo=UTC)
    said = [when(first + timedelta(minutes=20 * step), now, OSLO) for step in range(6)]
    assert said == ["02:30", "02:50", "02:10", "02:30", "02:50", "03:10"]


@pytest.mark.parametrize(
    ("instant", "now", "zone", "says"),
    [
        # The shop's day, not that of UTC and not the reader's.
        ((2026, 3, 2, 23, 30), (2026, 3, 2, 22, 0), GREENWICH, "23:30"),
        ((2026, 3, 2, 23, 30), (2026, 3, 2, 22, 0), OSLO, "Tue 3 Mar 00:30"),
        ((2026, 3, 2, 23, 30), (2026, 3, 2, 23, 0), OSLO, "00:30"),
        ((2026, 3, 2, 23, 30), (2026, 3, 3, 4, 0), NEW_YORK, "18:30"),
        ((2026, 3, 2, 23, 30), (2026, 3, 3, 5, 0), NEW_YORK, "Mon 2 Mar 18:30"),
        ((2026, 3, 2, 11, 30), (2026, 3, 2, 10, 59), AUCKLAND, "Tue 3 Mar 00:30"),
        ((2026, 3, 2, 9, 5), (2027, 1, 1, 0, 0), OSLO, "Mon 2 Mar 2026 10:05"),
        # On the last evening of December in UTC it is the new year in Oslo already.
        ((2026, 12, 31, 23, 0), (2026, 12, 31, 22, 59), OSLO, "Fri 1 Jan 2027 00:00"),
    ],
)
def test_today_is_the_shop_s_day(
    instant: tuple[int, ...], now: tuple[int, ...], zone: ZoneInfo, says: str
) -> None:
    in_utc, at = (datetime(*parts, tzinfo=UTC) for parts in (instant, now))  # type: ignore[misc,arg-type]
    assert when(in_utc, at, zone) == says


@pytest.mark.parametrize(
    ("seconds", "past", "ahead"),
    [(0, "14:20", "14:20"), (0.000001, "14:20", "14:21"), (59.999, "14:20", "14:21"), (60, "14:21", "14:21")],
)
def test_what_is_waited_for_is_rounded_up_so_that_nobody_comes_too_early(
    seconds: float, past: str, ahead: str
) -> None:
    instant = datetime(2026, 3, 2, 14, 20, tzinfo=UTC) + timedelta(seconds=seconds)
    assert when(instant, instant, GREENWICH) == past
    assert not_before(instant, instant, GREENWICH) == ahead


def test_on_paper_every_instant_has_its_day() -> None:
    assert dated(datetime(2026, 11, 26, 13, 20, tzinfo=UTC), OSLO) == "Thu 26 Nov 14:20"
    assert dated(datetime(2026, 11, 26, 23, 20, tzinfo=UTC), OSLO) == "Fri 27 Nov 00:20"


def test_a_wait_that_ends_with_the_day_ends_on_the_next() -> None:
    instant = datetime(2026, 3, 2, 23, 59, 1, tzinfo=UTC)
    assert not_before(instant, instant, GREENWICH) == "Tue 3 Mar 00:00"


@given(st.integers(946_684_800, 2_840_140_800).map(lambda seconds: datetime.fromtimestamp(seconds, UTC)))
def test_of_a_field_the_instant_can_be_read_again(instant: datetime) -> None:
    for zone in (OSLO, NEW_YORK, LORD_HOWE):
        typed = datetime.fromisoformat(for_input(instant, zone))
        readings = {typed.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1)}
        assert instant.replace(second=0, microsecond=0) in readings


@pytest.mark.parametrize(
    ("value", "today", "says"),
    [
        (date(2026, 11, 26), date(2026, 11, 25), "Thu 26 Nov"),
        (date(2026, 1, 1), date(2026, 12, 31), "Thu 1 Jan"),
        (date(2027, 1, 1), date(2026, 12, 31), "Fri 1 Jan 2027"),
        (date(2024, 2, 29), date(2026, 3, 1), "Thu 29 Feb 2024"),
    ],
)
def test_a_day_has_its_year_where_it_is_not_this_one(value: date, today: date, says: str) -> None:
    assert day(value, today) == says


@pytest.mark.parametrize(
    ("length", "says"),
    [
        (timedelta(0), "0 min"),
        (timedelta(seconds=1), "1 min"),
        (timedelta(seconds=60), "1 min"),
        (timedelta(seconds=61), "2 min"),
        (timedelta(microseconds=1), "1 min"),
        (timedelta(seconds=60, microseconds=1), "2 min"),
        (timedelta(minutes=59), "59 min"),
        (timedelta(minutes=59, seconds=1), "1 h 00 min"),
        (timedelta(hours=4, minutes=5), "4 h 05 min"),
        (timedelta(hours=23, minutes=59), "23 h 59 min"),
        (timedelta(hours=24), "1 d 0 h"),
        (timedelta(days=3, hours=4, minutes=59), "3 d 4 h"),
    ],
)
def test_a_span_is_rounded_up_to_the_minute(length: timedelta, says: str) -> None:
    assert span(length) == says


def test_minutes_are_said_as_a_span() -> None:
    assert [minutes(count) for count in (0.5, 35, 720, 4320)] == ["1 min", "35 min", "12 h 00 min", "3 d 0 h"]


def test_a_length_is_said_in_both_units() -> None:
    assert both_units(parse_length("84 in")) == "84 in (2133.6 mm)"
    assert both_units(parse_length("8 3/16 in")) == "8 3/16 in (207.9625 mm)"


@pytest.mark.parametrize(
    ("cents", "says"),
    [
        (None, "–"), (0, "0.00 EUR"), (5, "0.05 EUR"), (1850, "18.50 EUR"), (100_000, "1000.00 EUR"),
        (-5, "-0.05 EUR"), (-1850, "-18.50 EUR"),
    ],
)  # fmt: skip
def test_money_is_said_in_whole_cents(cents: int | None, says: str) -> None:
    assert amount(cents, "EUR") == says


@pytest.mark.parametrize("zone", [GREENWICH, OSLO, NEW_YORK, LORD_HOWE, AUCKLAND])
def test_words_for_many_instants_are_those_for_one(zone: ZoneInfo) -> None:
    # Over the changes of the clocks in October, over midnight and over whole minutes to the microsecond.
    now, step = datetime(2026, 10, 24, 21, 17, tzinfo=UTC), timedelta(minutes=37, microseconds=1)
    instants = [now + n * step for n in range(-60, 700)]
    whole = [now + n * timedelta(hours=1) for n in range(30)]
    instants += whole + [instant - timedelta(microseconds=1) for instant in whole]
    words = QuickWords(now, zone)
    for instant in instants:
        at = microseconds(instant)
        assert words.when(at) == when(instant, now, zone)
        assert words.not_before(at) == not_before(instant, now, zone)
