"""Calendars as other programs subscribe to them: iCalendar (RFC 5545), with the names of RFC 7986.

A thin module around icalendar, which escapes and folds. What is in a calendar is left to whoever asks.
"""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import NamedTuple
from unicodedata import category

from icalendar import Calendar, Event, vDuration, vText
from icalendar.enums import TRANSP

PRODUCT = "-//Tackfree//Ready times//EN"
ASK_AGAIN = timedelta(minutes=15)
# Control characters, and separators of lines and paragraphs that some readers take for the end of a line.
ODD = ("Cc", "Zl", "Zp")


class CalendarEvent(NamedTuple):
    """One event: `uid` is the same for as long as it is the same event; both instants are aware."""

    uid: str
    begins: datetime
    ends: datetime
    summary: str
    description: str


def calendar_text(uid: str, name: str, events: Iterable[CalendarEvent], changed_at: datetime) -> bytes:
    """A published calendar in UTF-8. `changed_at` is an instant since which nothing in it has changed.

    There is no SEQUENCE, which RFC 5546 3.2.1 leaves optional in what is published: no instant in here is
    stored, and so no number of its changes, and one made from the clock would go back with the clock, after
    which a reader may pass over what has moved. DTSTAMP and LAST-MODIFIED say which copy is the newer.
    """
    calendar = Calendar()
    calendar.add("VERSION", "2.0")
    calendar.add("PRODID", PRODUCT)
    calendar.add("METHOD", "PUBLISH")
    calendar.add("UID", uid)
    # NAME and REFRESH-INTERVAL are of RFC 7986; many programs know only the names from before it. Their
    # types are given, since the library escapes no text of a property that it does not know.
    for key in ("NAME", "X-WR-CALNAME"):
        calendar.add(key, vText(_plain(name)))
    calendar.add("REFRESH-INTERVAL", vDuration(ASK_AGAIN), parameters={"VALUE": "DURATION"})
    calendar.add("X-PUBLISHED-TTL", vDuration(ASK_AGAIN))
    for event in events:
        calendar.add_component(_event(event, changed_at.astimezone(UTC)))
    return bytes(calendar.to_ical())


def _event(event: CalendarEvent, changed_at: datetime) -> Event:
    return Event.new(
        uid=event.uid,
        start=event.begins.astimezone(UTC),
        end=event.ends.astimezone(UTC),
        summary=_plain(event.summary),
        description=_plain(event.description),
        stamp=changed_at,
        last_modified=changed_at,
        transparency=TRANSP.TRANSPARENT,
    )


def _plain(text: str) -> str:
    """A text without control characters (RFC 5545 3.1) and odd separators of lines; its lines are kept."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    return "".join(sign if sign == "\n" or category(sign) not in ODD else " " for sign in lines)
