"""The scale of Setting: past, next hour, today, tomorrow and later, whatever the clocks do in between."""

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.web.stretches import StretchScale, day_begins, heads_of, stretches_at, ticks_of

BERLIN, UTC_ZONE = ZoneInfo("Europe/Berlin"), ZoneInfo("UTC")
# Berlin, Lord Howe with its half hour, Santiago whose summer begins at midnight, and Kathmandu.
ZONES = [
    BERLIN, UTC_ZONE, ZoneInfo("Australia/Lord_Howe"), ZoneInfo("America/Santiago"),
    ZoneInfo("Asia/Kathmandu"), ZoneInfo("America/New_York"),
]  # fmt: skip
# Thursday 26 November 2026, 14:20 in Berlin.
NOW = datetime(2026, 11, 26, 13, 20, tzinfo=UTC)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
YEARS = timedelta(days=730)
instants = st.timedeltas(timedelta(0), YEARS).map(lambda passed: datetime(2026, 1, 1, tzinfo=UTC) + passed)
spans = st.timedeltas(timedelta(days=-3), timedelta(days=40))


def scale_of(now: datetime, last: timedelta | None, zone: ZoneInfo) -> StretchScale:
    """The scale at an instant for cures of which the last instant that matters is so far from it."""
    return stretches_at(now, None if last is None else now + last, zone)


def edges(scale: StretchScale, zone: ZoneInfo) -> dict[str, str]:
    """Each stretch with the local time at which it ends."""
    return {part.heading: f"{part.end.astimezone(zone):%a %H:%M}" for part in scale.stretches}


def test_the_stretches_of_an_afternoon() -> None:
    scale = stretches_at(NOW, NOW + 6 * DAY, BERLIN)
    assert edges(scale, BERLIN) == {
        "past": "Thu 14:20", "next hour": "Thu 15:20", "today": "Fri 00:00", "tomorrow": "Sat 00:00",
        "later": "Wed 14:20",
    }  # fmt: skip
    assert scale.start == NOW - 12 * HOUR
    assert [(part.x, part.width) for part in scale.stretches] == [
        (0.0, 12.0), (12.0, 21.0), (33.0, 20.0), (53.0, 23.0), (76.0, 24.0)
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("local", "headings", "today_width"),
    [
        ((19, 0), ["past", "next hour", "today", "tomorrow", "later"], 20.0),
        ((21, 0), ["past", "next hour", "today", "tomorrow", "later"], 10.0),
        ((22, 59), ["past", "next hour", "today", "tomorrow", "later"], 0.08),
        ((23, 0), ["past", "next hour", "tomorrow", "later"], None),
        ((23, 59), ["past", "next hour", "tomorrow", "later"], None),
        ((0, 0), ["past", "next hour", "today", "tomorrow", "later"], 20.0),
    ],
)
def test_the_rest_of_today_gives_way_as_the_day_ends(
    local: tuple[int, int], headings: list[str], today_width: float | None
) -> None:
    now = datetime(2026, 11, 26, *local, tzinfo=BERLIN).astimezone(UTC)
    scale = stretches_at(now, None, BERLIN)
    assert [part.heading for part in scale.stretches] == headings
    assert {part.heading: part.width for part in scale.stretches}.get("today") == today_width
    tomorrow = next(part for part in scale.stretches if part.heading == "tomorrow")
    assert tomorrow.end == datetime(2026, 11, 28, tzinfo=BERLIN)


@pytest.mark.parametrize(
    ("day", "today_hours", "tomorrow_hours"),
    [
        (date(2026, 3, 28), 24, 23),  # summer time begins on the 29th
        (date(2026, 3, 29), 23, 24),
        (date(2026, 10, 24), 24, 25),  # and ends on 25 October
        (date(2026, 10, 25), 25, 24),
    ],
)
def test_a_stretch_ends_at_the_shops_own_midnight_on_days_of_23_and_25_hours(
    day: date, today_hours: int, tomorrow_hours: int
) -> None:
    scale = stretches_at(day_begins(day, BERLIN), None, BERLIN)
    parts = {part.heading: part for part in scale.stretches}
    assert parts["today"].end - parts["next hour"].start == today_hours * HOUR
    assert parts["tomorrow"].end - parts["tomorrow"].start == tomorrow_hours * HOUR
    assert scale.per_cent(parts["tomorrow"].start + tomorrow_hours * HOUR / 2) == pytest.approx(
        parts["tomorrow"].x + parts["tomorrow"].width / 2, abs=0.01
    )


def test_a_day_whose_midnight_is_left_out_begins_at_its_first_instant() -> None:
    """In Santiago the clocks go from 23:59 on 5 September 2026 to 01:00 on the 6th."""
    begins = day_begins(date(2026, 9, 6), ZoneInfo("America/Santiago"))
    assert begins == datetime(2026, 9, 6, 4, tzinfo=UTC)


@pytest.mark.parametrize(
    ("last", "ends"),
    [
        (None, timedelta(days=2, hours=9, minutes=40)),  # a day after tomorrow has ended
        (timedelta(hours=1), timedelta(days=2, hours=9, minutes=40)),
        (timedelta(days=5), timedelta(days=5)),
        (timedelta(days=14), timedelta(days=14)),
        (timedelta(days=14, minutes=1), timedelta(days=14)),
        (timedelta(days=90), timedelta(days=14)),
    ],
)
def test_later_ends_with_the_last_instant_that_matters_or_after_a_fortnight(
    last: timedelta | None, ends: timedelta
) -> None:
    scale = scale_of(NOW, last, BERLIN)
    assert scale.end == NOW + ends


@given(now=instants, last=st.none() | spans, zone=st.sampled_from(ZONES), asked=st.lists(spans, min_size=2))
def test_the_scale_is_total_and_monotone_and_meets_its_edges(
    now: datetime, last: timedelta | None, zone: ZoneInfo, asked: list[timedelta]
) -> None:
    scale = scale_of(now, last, zone)
    parts = scale.stretches
    assert (parts[0].x, scale.start, scale.per_cent(scale.start)) == (0.0, now - 12 * HOUR, 0.0)
    assert scale.end <= now + 14 * DAY
    assert scale.per_cent(scale.end) == 100.0
    assert round(parts[-1].x + parts[-1].width, 6) == 100.0
    for one, following in pairwise(parts):
        assert one.start < one.end == following.start
        assert following.x == pytest.approx(one.x + one.width, abs=0.01)
        assert scale.per_cent(one.end) == following.x
    at = sorted(now + span for span in asked)
    places = [scale.per_cent(instant) for instant in at]
    assert places == sorted(places)
    assert all(0.0 <= place <= 100.0 for place in places)


@given(now=instants, last=st.none() | spans, zone=st.sampled_from(ZONES))
def test_boundaries_are_the_shops_midnights(now: datetime, last: timedelta | None, zone: ZoneInfo) -> None:
    parts = {part.heading: part for part in scale_of(now, last, zone).stretches}
    assert parts["next hour"].end == now + HOUR
    for key, days in (("today", 1), ("tomorrow", 2)):
        if key in parts:
            local = now.astimezone(zone).date() + days * DAY
            end = parts[key].end
            assert end.astimezone(zone).date() == local
            assert (end - timedelta(microseconds=1)).astimezone(zone).date() < local
    assert "today" in parts or (now + HOUR).astimezone(zone).date() > now.astimezone(zone).date()


@given(now=instants, last=st.none() | spans, zone=st.sampled_from(ZONES))
def test_ticks_stand_in_order_and_show_the_shops_clock(
    now: datetime, last: timedelta | None, zone: ZoneInfo
) -> None:
    scale = scale_of(now, last, zone)
    ticks = ticks_of(scale, zone)
    places = [tick.at for tick in ticks]
    assert places == sorted(places)
    assert len(ticks) <= 30
    for width, letter in ((330, 7.5), (700, 7.5)):
        labels = [tick.narrow if width == 330 else tick.wide for tick in ticks]
        said = [(tick.at, label) for tick, label in zip(ticks, labels, strict=True) if label]
        for (before, label), (after, _) in pairwise(said):
            assert (after - before) * width / 100 >= len(label) * letter
    # A time is cut short where there is little room, a day never is: `12`, `:30`, `Sat 28`.
    assert all(len(tick.wide) in (0, 5, 6) and len(tick.narrow) in (0, 2, 3, 5, 6) for tick in ticks)
    assert all(tick.room == "any" for tick in ticks if tick.narrow)


def test_each_stretch_of_a_narrow_screen_has_its_marks() -> None:
    morning = datetime(2026, 11, 26, 6, 14, tzinfo=BERLIN).astimezone(UTC)
    ticks = ticks_of(stretches_at(morning, morning + 6 * DAY, BERLIN), BERLIN)
    assert [tick.narrow for tick in ticks if tick.narrow] == [":30", "12", "18", "12", "Sat 28"]


def test_headings_say_the_day_where_there_is_room() -> None:
    heads = heads_of(stretches_at(NOW, NOW + 6 * DAY, BERLIN))
    assert [(head.narrow, head.wide) for head in heads] == [
        ("past", "past"), ("next hour", "next hour"), ("today", "today, Thu 26"),
        ("tomorrow", "tomorrow, Fri 27"), ("later", "later"),
    ]  # fmt: skip
    evening = datetime(2026, 11, 26, 22, 50, tzinfo=BERLIN).astimezone(UTC)
    assert [head.wide for head in heads_of(stretches_at(evening, None, BERLIN))][2] == ""
