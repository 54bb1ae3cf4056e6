"""Warranty of a new rod: until which day it runs, and whether a day lies within it."""

from datetime import date, timedelta

MOST_MONTHS = 600


def months_later(day: date, months: int) -> date:
    """The same day of the month, so many months later; the month's last day where there is no such day."""
    last = _first_of(day, months + 1) - timedelta(days=1)
    return last.replace(day=min(day.day, last.day))


def _first_of(day: date, months: int) -> date:
    """The first day of the month that is so many months after a day's own."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, 1)


def warranty_until(handed_over: date, months: int) -> date | None:
    """The last day of a warranty of so many months; none where the shop gives none."""
    return months_later(handed_over, months) if months > 0 else None


def is_under_warranty(until: date | None, on: date) -> bool:
    """Whether a day lies within a warranty; its last day does."""
    return until is not None and on <= until
