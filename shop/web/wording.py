"""How instants, spans and days are written for people, in the shop's time zone."""

from datetime import date, datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

from shop.craft.lengths import format_inches, format_mm
from shop.rules.masses import grams_of
from shop.rules.warranties import is_under_warranty

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_MINUTE = 60_000_000
# A page says hundreds of instants, and looking digits up takes a fifth of the time of formatting them.
_TWO_DIGITS = tuple(f"{number:02d}" for number in range(60))


def when(instant: datetime, now: datetime, zone: ZoneInfo) -> str:
    """An instant as a person of the shop says it: `14:20` today, else `Thu 26 Nov 14:20`."""
    return _said_on(now.astimezone(zone).date(), instant.astimezone(zone))


def _said_on(today: date, local: datetime) -> str:
    clock, on = f"{_TWO_DIGITS[local.hour]}:{_TWO_DIGITS[local.minute]}", local.date()
    return clock if on == today else f"{day(on, today)} {clock}"


def dated(instant: datetime, zone: ZoneInfo) -> str:
    """An instant on paper, which outlives the day: `Thu 26 Nov 14:20`, whichever day it is printed on."""
    local = instant.astimezone(zone)
    return f"{day(local.date(), local.date())} {local.hour:02d}:{local.minute:02d}"


def warranty_words(until: date | None, on: date) -> str:
    """What a rod's warranty is on a day, as a sentence."""
    if until is None:
        return "No warranty was given."
    if is_under_warranty(until, on):
        return f"The warranty runs until {until.isoformat()}."
    return f"The warranty ran out: it ran until {until.isoformat()}."


def not_before(instant: datetime, now: datetime, zone: ZoneInfo) -> str:
    """An instant to wait for, rounded up to the minute: nobody is told one in which it is too early."""
    return when(instant + timedelta(minutes=1) - timedelta(microseconds=1), now, zone)


class QuickWords:
    """`when` and `not_before` at one instant, for many instants in microseconds since 1970.

    The words are the same; each minute is put into them once. No zone has had an offset with seconds in it
    since 1972 (from memory), so every instant of a minute has the same words.
    """

    def __init__(self, now: datetime, zone: ZoneInfo) -> None:
        self._zone = zone
        self._today = now.astimezone(zone).date()
        self._said: dict[int, str] = {}

    def when(self, instant: int) -> str:
        """An instant as a person of the shop says it."""
        return self._say(instant // _MINUTE)

    def not_before(self, instant: int) -> str:
        """An instant to wait for, rounded up to the minute."""
        return self._say(-(-instant // _MINUTE))

    def _say(self, minute: int) -> str:
        said = self._said.get(minute)
        if said is None:
            local = datetime.fromtimestamp(60 * minute, self._zone)
            said = self._said[minute] = _said_on(self._today, local)
        return said


@lru_cache(maxsize=256)
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
