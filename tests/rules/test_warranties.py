"""Warranty: month ends, leap years, the last day, and a shop that gives none."""

from datetime import date

import pytest

from shop.rules.warranties import is_under_warranty, months_later, warranty_until


@pytest.mark.parametrize(
    ("day", "months", "later"),
    [
        ("2026-03-02", 12, "2027-03-02"),
        ("2026-01-31", 1, "2026-02-28"),
        ("2028-01-31", 1, "2028-02-29"),
        ("2028-02-29", 12, "2029-02-28"),
        ("2028-02-29", 48, "2032-02-29"),
        ("2026-02-28", 12, "2027-02-28"),
        ("2026-08-31", 6, "2027-02-28"),
        ("2026-12-31", 2, "2027-02-28"),
        ("2026-12-15", 1, "2027-01-15"),
        ("2026-11-30", 1, "2026-12-30"),
        ("2026-05-31", 0, "2026-05-31"),
        ("2026-05-31", 600, "2076-05-31"),
    ],
)
def test_the_same_day_so_many_months_later(day: str, months: int, later: str) -> None:
    assert months_later(date.fromisoformat(day), months) == date.fromisoformat(later)


def test_no_months_are_no_warranty() -> None:
    assert warranty_until(date(2026, 3, 2), 0) is None
    assert warranty_until(date(2026, 3, 2), 24) == date(2028, 3, 2)


@pytest.mark.parametrize(
    ("until", "on", "runs"),
    [
        (date(2027, 3, 2), date(2027, 3, 2), True),
        (date(2027, 3, 2), date(2027, 3, 3), False),
        (None, date(2026, 3, 2), False),
    ],
)
def test_its_last_day_lies_within_it(until: date | None, on: date, runs: bool) -> None:
    assert is_under_warranty(until, on) is runs
