"""Calendars read back by the library that wrote them and by another: texts, instants, ids and lines."""

from datetime import UTC, datetime, timedelta, timezone
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import vobject
from hypothesis import given, settings
from hypothesis import strategies as st
from icalendar import Calendar

from shop.outside.calendars import CalendarEvent, calendar_text

AT = datetime(2026, 3, 2, 19, 0, tzinfo=UTC)
CHANGED = datetime(2026, 3, 2, 9, 30, 15, tzinfo=UTC)
QUARTER = timedelta(minutes=15)
EVENT = CalendarEvent("cure-17-set@feed", AT, AT + QUARTER, "26-014 rear grip: set", "7 ft casting\nRiverbed")


def written(*events: CalendarEvent, name: str = "The shop: ready times") -> bytes:
    return calendar_text("feed", name, events, CHANGED)


def read_back(text: bytes) -> Any:
    """The calendar by the library's strict reader; it keeps a list of what it could not read."""
    calendar = Calendar.from_ical(text)
    assert calendar.errors == []
    assert all(event.errors == [] for event in calendar.events)
    return calendar


def test_the_calendar_says_what_it_is_and_when_to_ask_again() -> None:
    calendar = read_back(written(EVENT))
    said = {name: str(calendar[name]) for name in ("VERSION", "METHOD", "NAME", "X-WR-CALNAME", "UID")}
    assert said == {
        "VERSION": "2.0", "METHOD": "PUBLISH", "NAME": "The shop: ready times",
        "X-WR-CALNAME": "The shop: ready times", "UID": "feed",
    }  # fmt: skip
    lines = written(EVENT).decode().split("\r\n")
    assert "REFRESH-INTERVAL;VALUE=DURATION:PT15M" in lines
    assert "X-PUBLISHED-TTL:PT15M" in lines


def test_an_event_has_all_that_a_reader_needs() -> None:
    lines = written(EVENT).decode().split("\r\n")
    for line in (
        "UID:cure-17-set@feed", "DTSTART:20260302T190000Z", "DTEND:20260302T191500Z",
        "DTSTAMP:20260302T093015Z", "LAST-MODIFIED:20260302T093015Z", "SUMMARY:26-014 rear grip: set",
        "DESCRIPTION:7 ft casting\\nRiverbed", "TRANSP:TRANSPARENT",
    ):  # fmt: skip
        assert line in lines, line


def test_no_sequence_can_go_back_with_the_clock_and_the_stamps_tell_the_newer() -> None:
    before, after = (
        read_back(calendar_text("feed", "shop", [EVENT], at)).events[0]
        for at in (CHANGED, CHANGED + timedelta(seconds=1))
    )
    assert "SEQUENCE" not in before
    assert before.stamp < after.stamp
    assert before.last_modified < after.last_modified


def test_instants_are_in_utc_wherever_they_come_from() -> None:
    away = AT.astimezone(timezone(timedelta(hours=-7)))
    assert written(EVENT._replace(begins=away)) == written(EVENT)


def test_an_empty_calendar_is_one() -> None:
    assert read_back(written()).events == []
    assert vobject.readOne(written().decode()).name == "VCALENDAR"


# Every character that a database holds; what a calendar may not hold is taken out of it.
TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=200)
ODD_TEXTS = st.one_of(
    TEXTS,
    st.text("\\,;:\"'\n\t^%=|", min_size=1, max_size=40),
    st.sampled_from(
        ["🎣" * 100, "é" * 200, "a," * 100, "\\n", "\\\\,", " ", "END:VEVENT\nBEGIN:VEVENT", "‏גוּף"]
    ),
)


def as_kept(text: str) -> str:
    """A text with what no calendar may hold, made a space, its lines ended in one way."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    return "".join(
        " " if sign != "\n" and (ord(sign) < 32 or 127 <= ord(sign) < 160 or sign in "\u2028\u2029") else sign
        for sign in lines
    )


@settings(max_examples=150, deadline=None)
@given(ODD_TEXTS, ODD_TEXTS)
def test_any_title_comes_through_whole(summary: str, description: str) -> None:
    text = written(EVENT._replace(summary=summary, description=description), EVENT)
    assert all(len(line) <= 75 for line in text.split(b"\r\n"))
    first, second = read_back(text).events
    assert (str(first["SUMMARY"]), str(first["DESCRIPTION"])) == (as_kept(summary), as_kept(description))
    assert str(second["SUMMARY"]) == EVENT.summary
    other = vobject.readOne(text.decode()).vevent_list
    assert [event.summary.value for event in other] == [as_kept(summary), EVENT.summary]
    assert other[0].description.value == as_kept(description)


@settings(max_examples=50, deadline=None)
@given(st.integers(0, 10**9), st.timezones())
def test_any_instant_comes_through_to_the_second(seconds: int, zone: ZoneInfo) -> None:
    begins = (AT + timedelta(seconds=seconds)).astimezone(zone)
    text = written(EVENT._replace(begins=begins, ends=begins + QUARTER))
    (event,) = read_back(text).events
    assert event.start == begins
    assert vobject.readOne(text.decode()).vevent.dtstart.value == begins


@pytest.mark.parametrize("name", ["Rods, reels; and \\ more", "a\nb", "🎣"])
def test_any_name_of_a_shop_comes_through_whole(name: str) -> None:
    found = vobject.readOne(written(name=name).decode()).contents
    assert [found[key][0].value for key in ("name", "x-wr-calname")] == [name, name]
