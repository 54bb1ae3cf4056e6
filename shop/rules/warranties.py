"""Warranty of a new rod: until which day it runs, and whether a day lies within it."""

from calendar import monthrange
from datetime import date

MOST_MONTHS = 600


def months_later(day: date, months: int) -> date:
    """The same day of the month, so many months later; the month's last day where there is no such day."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def warranty_until(handed_over: date, months: int) -> date | None:
    """The last day of a warranty of so many months; none where the shop gives none."""
    return months_later(handed_over, months) if months > 0 else None


def is_under_warranty(until: date | None, on: date) -> bool:
    """Whether a day lies within a warranty; its last day does."""
    return until is not None and on <= until
