"""Which times are offered for a place that was closed: the latest first, none that cannot be."""

from datetime import UTC, datetime, timedelta

import pytest

from shop.rules.closing import closing_choices

MIXED = datetime(2026, 3, 6, 14, 0, tzinfo=UTC)
ENDS = MIXED + timedelta(minutes=40)


@pytest.mark.parametrize(
    ("minutes", "keys"),
    [
        (0, ["now"]),
        (9.9, ["now"]),
        (10, ["now", "10"]),
        (19.9, ["now", "10"]),
        (20, ["now", "10", "20"]),
        (40, ["now", "10", "20"]),
        (40.1, ["end", "10", "20"]),
        (50, ["end", "20"]),
        (60, ["end"]),
        (600, ["end"]),
    ],
)
def test_only_times_between_the_mixing_and_the_end_of_the_pot_life_are_offered(
    minutes: float, keys: list[str]
) -> None:
    choices = closing_choices(MIXED + timedelta(minutes=minutes), MIXED, ENDS)
    assert [choice.key for choice in choices] == keys
    assert all(MIXED <= choice.at <= ENDS for choice in choices)
    assert choices == sorted(choices, key=lambda choice: choice.at, reverse=True)
