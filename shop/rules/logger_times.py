"""Times as loggers write them, read only where they can be read in one way.

ISO 8601 first of all; then days with the month's name, days with dots (day first wherever dots are used:
common practice, no source) and years first. A day like 03/04/2026 is refused: half the world means March.
"""

import re
from datetime import UTC, datetime, timedelta, timezone, tzinfo

_NAMES = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september", "october",
    "november", "december",
)  # fmt: skip
MONTHS = {word: number for number, name in enumerate(_NAMES, 1) for word in (name, name[:3])} | {"sept": 9}
# No logger was running before, and instants of the last year of all cannot be moved to another zone.
YEARS = range(1970, 9999)
_TIME = (
    r"[T,\s]\s*(?P<hour>\d{1,2}):(?P<minute>\d\d)(?::(?P<second>\d\d)(?:[.,](?P<part>\d{1,9}))?)?"
    r"\s*(?P<half>[ap]\.?m\.?)?\s*(?P<offset>z|utc|gmt|[+-]\d\d:?\d\d)?"
)
_FORMS = [
    re.compile(day + _TIME, re.IGNORECASE | re.ASCII)
    for day in (
        r"(?P<year>\d{4})([-/.])(?P<month>\d{1,2})\2(?P<day>\d{1,2})",
        r"(?P<day>\d{1,2})\.(?P<month>\d{1,2})\.(?P<year>\d{4})",
        r"(?P<day>\d{1,2})[-\s.]+(?P<name>[a-z]{3,9})[-\s.,]+(?P<year>\d{4})",
        r"(?P<name>[a-z]{3,9})\.?\s+(?P<day>\d{1,2}),?\s+(?P<year>\d{4})",
    )
]
_BASIC = re.compile(r"\d{8}T\d{4,6}(?:[.,]\d+)?(?:Z|[+-]\d\d:?\d\d)?", re.ASCII)
_EITHER_WAY = re.compile(r"(\d{1,2})[/-](\d{1,2})[/-](?:\d{4}|\d\d)\b.*", re.ASCII)
EXPORT = "export the file with ISO 8601 times, such as 2026-03-14 09:30"


class TimeError(ValueError):
    """A time that cannot be read; its text is a sentence for a person."""


def read_time(text: str) -> datetime:
    """The time that a text says, naive where it names no offset. Raises `TimeError`."""
    if not text:
        raise TimeError("It has no time.")
    if _EITHER_WAY.fullmatch(text):
        raise TimeError(f"“{text[:40]}” may mean day and month or month and day; {EXPORT}.")
    if _BASIC.fullmatch(text):
        return _iso(text)
    for form in _FORMS:
        found = form.fullmatch(text)
        if found:
            return _made(text, found.groupdict())
    raise TimeError(f"“{text[:40]}” is not a date and time that is read here; {EXPORT}.")


def _iso(text: str) -> datetime:
    try:
        return _checked(text, datetime.fromisoformat(text))
    except ValueError as fault:
        raise TimeError(_impossible(text)) from fault


def _checked(text: str, at: datetime) -> datetime:
    if at.year not in YEARS:
        raise TimeError(_impossible(text))
    return at


def _made(text: str, said: dict[str, str | None]) -> datetime:
    name = said.get("name")
    month = MONTHS.get(name.lower(), 0) if name else int(said["month"] or 0)
    hour = int(said["hour"] or 0)
    if said["half"]:
        if not 1 <= hour <= 12:
            raise TimeError(_impossible(text))
        hour = hour % 12 + (12 if said["half"][0] in "pP" else 0)
    try:
        made = datetime(
            int(said["year"] or 0), month, int(said["day"] or 0), hour, int(said["minute"] or 0),
            int(said["second"] or 0), int((said["part"] or "")[:6].ljust(6, "0")), _offset(said["offset"]),
        )  # fmt: skip
    except (ValueError, OverflowError) as fault:
        raise TimeError(_impossible(text)) from fault
    return _checked(text, made)


def _offset(text: str | None) -> tzinfo | None:
    if not text:
        return None
    if text[0] not in "+-":
        return UTC
    ahead = timedelta(hours=int(text[1:3]), minutes=int(text[-2:]))
    return timezone(-ahead if text[0] == "-" else ahead)


def _impossible(text: str) -> str:
    return f"“{text[:40]}” is not a date and time that there was."
