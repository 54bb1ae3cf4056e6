"""A joint through a cold night, and through the hour that summer time takes or gives."""

from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from shop.craft.cure import Sheet, ZoneClock
from shop.craft.warmth import TemperatureLine
from tests.craft.figures import figure, figures

HOUR = 3600.0
EVENING = datetime(2026, 3, 6, 17, 0, tzinfo=UTC)
NIGHT = figure("cure-cold-night")


def instant_of(local: str) -> datetime:
    """The next time after the closing at which a clock on the wall shows this."""
    hour, minute = (int(part) for part in local.split(":"))
    at = EVENING.replace(hour=hour, minute=minute)
    return at if at >= EVENING else at + timedelta(days=1)


def to_the_minute(seconds: float) -> str:
    return f"{datetime.fromtimestamp(seconds + 30, UTC):%H:%M}"


def the_night() -> list[tuple[float, float]]:
    """Readings that hold each temperature until a second before the next; the last is held for a day."""
    steps = [(instant_of(step["from_local"]).timestamp(), step["T_C"]) for step in NIGHT["inputs"]["steps"]]
    ends = [*(at - 1 for at, _ in steps[1:]), steps[-1][0] + 24 * HOUR]
    return [reading for (at, c), end in zip(steps, ends, strict=True) for reading in ((at, c), (end, c))]


def test_a_cold_night_is_not_slept_through() -> None:
    # Worked by hand (the figure says how). The Arrhenius form of the same doubling, by hand too: 5 h at
    # 0.8048 and 8 h at 0.4764 are 7.836 h of 12 by six in the morning; at 0.7479 the other 4.164 h take
    # 5.568 h, which is until 11:34.
    inputs, expected = NIGHT["inputs"], NIGHT["expected"]
    needed_s = inputs["needed_h"] * HOUR
    kitchen_timer = EVENING.timestamp() + needed_s
    sheet = Sheet(
        inputs["reference_C"],
        30.0,
        needed_s / 60,
        needed_s / 60,
        coldest_c=13.0,
        doubling_c=inputs["doubling_C"],
    )
    line = TemperatureLine(assumed_c=13.0, gap_seconds=25 * HOUR, readings=the_night())
    ours = ZoneClock(line).times(sheet, EVENING.timestamp()).set_at
    assert ours is not None
    assert to_the_minute(kitchen_timer) == expected["kitchen_timer_local"] == "05:00"
    assert to_the_minute(by_doubling_rule(needed_s)) == expected["doubling_rule_local"] == "11:12"
    assert to_the_minute(ours) == "11:34"


def by_doubling_rule(needed_s: float) -> float:
    """The bench's rule of thumb: every ten degrees less double the wait, t = t_ref · 2^((T_ref − T)/10)."""
    at: float = EVENING.timestamp()
    left = needed_s
    steps = NIGHT["inputs"]["steps"]
    ends = [instant_of(step["from_local"]).timestamp() for step in steps[1:]] + [float("inf")]
    for step, end in zip(steps, ends, strict=True):
        slower: float = 2 ** ((NIGHT["inputs"]["reference_C"] - step["T_C"]) / NIGHT["inputs"]["doubling_C"])
        if left * slower <= end - at:
            return at + left * slower
        left -= (end - at) / slower
        at = end
    return at


@pytest.mark.parametrize("case", figures("cure-dst"), ids=lambda case: case["id"])
def test_summer_time_bends_no_wait(case: dict[str, Any]) -> None:
    zone = ZoneInfo(case["inputs"]["zone"])
    closed = datetime.fromisoformat(case["inputs"]["mixed_at_local"]).replace(tzinfo=zone)
    minutes = case["inputs"]["cure_elapsed_hours"] * 60
    clock = ZoneClock(TemperatureLine(assumed_c=20.0, gap_seconds=HOUR))
    set_at = clock.times(Sheet(20.0, 30.0, minutes, minutes), closed.timestamp()).set_at
    assert set_at is not None
    local = datetime.fromtimestamp(set_at, zone)
    assert f"{local:%Y-%m-%d %H:%M}" == case["expected"]["ready_at_local"]
