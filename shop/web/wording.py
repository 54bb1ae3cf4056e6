"""How instants, spans and days are written for people, in the shop's time zone."""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from shop.craft.lengths import format_inches, format_mm
from shop.rules.masses import grams_of

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def when(instant: datetime, now: datetime, zone: ZoneInfo) -> str:
    """An instant as a person of the shop says it: `14:20` today, else `Thu 26 Nov 14:20`."""
    local, today = instant.astimezone(zone), now.astimezone(zone).date()
    clock = f"{local.hour:02d}:{local.minute:02d}"
    return clock if local.date() == today else f"{day(local.date(), today)} {clock}"


def dated(instant: datetime, zone: ZoneInfo) -> str:
    """An instant on paper, which outlives the day: `Thu 26 Nov 14:20`, whichever day it is printed on."""
    local = instant.astimezone(zone)
    return f"{day(local.date(), local.date())} {local.hour:02d}:{local.minute:02d}"


def not_before(instant: datetime, now: datetime, zone: ZoneInfo) -> str:
    """An instant to wait for, rounded up to the minute: nobody is told one in which it is too early."""
    return when(instant + timedelta(minutes=1) - timedelta(microseconds=1), now, zone)


def day(value: date, today: date) -> str:
    """A day as `Thu 26 Nov`, with the year where it is not this one."""
    year = "" if value.year == today.year else f" {value.year}"
    return f"{DAYS[value.weekday()]} {value.day} {MONTHS[value.month - 1]}{year}"


def span(length: timedelta) -> str:
    """A length of time, rounded up to the minute: `3 d 4 h`, `4 h 05 min` or `12 min`."""
    minutes = -(-length // timedelta(minutes=1))
    if minutes >= 1440:
        return f"{minutes // 1440} d {minutes % 1440 // 60} h"
    return f"{minutes // 60} h {minutes % 60:02d} min" if minutes >= 60 else f"{minutes} min"


def for_input(instant: datetime, zone: ZoneInfo) -> str:
    """An instant as a `datetime-local` field wants it."""
    return instant.astimezone(zone).strftime("%Y-%m-%dT%H:%M")


def minutes(value: float) -> str:
    """A number of minutes as a length of time."""
    return span(timedelta(minutes=value))


def both_units(nm: int) -> str:
    """A length as a person of the shop reads it: `84 in (2133.6 mm)`."""
    return f"{format_inches(nm)} in ({format_mm(nm)} mm)"


def grams(mass_mg: int | None) -> str:
    """A mass as a form shows and takes it: `58.125`; nothing where there is none."""
    return "" if mass_mg is None else grams_of(mass_mg)


def weight(mass_mg: int | None) -> str:
    """A mass or a load with its unit: `58.125 g`; nothing where there is none."""
    return "" if mass_mg is None else f"{grams_of(mass_mg)} g"


def amount(cents: int | None, currency: str) -> str:
    """Whole cents with their currency: `18.50 EUR`; a dash where there is none."""
    if cents is None:
        return "–"
    whole, rest = divmod(abs(cents), 100)
    return f"{'-' if cents < 0 else ''}{whole}.{rest:02d} {currency}"
