"""What In hand says of a rod that waits in a recoat window: by when a coat can be laid, not when it shuts."""

from datetime import UTC, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from shop.queries.bench import BenchRow
from shop.rules.decide import Decision
from shop.rules.facts import Facts
from shop.rules.hours import Hours
from shop.rules.sequences import Hold, HoldKind, Sequence
from shop.web.rods import state_of
from tests.rules.builders import WRAPS, coat, stage

UTC_ZONE = ZoneInfo("UTC")
NOW = datetime(2026, 3, 2, 16, 0, tzinfo=UTC)
# Monday to Friday from eight to five.
WEEK = Hours((*((time(8), time(17)),) * 5, None, None))


def waiting(recoat_until: datetime | None) -> BenchRow:
    """A rod that may get its next coat, whose window shuts at an instant. Nothing is asked of its build."""
    held = stage(Hold(HoldKind.RECOAT, place=WRAPS), place=WRAPS)
    one = coat(1, recoat_until=recoat_until)
    build: Any = None
    return BenchRow(
        build, Sequence("short", "casting", (held,)), Facts(cures=(one,)), Decision(held, ()), (one,)
    )


@pytest.mark.parametrize(
    ("until", "hours", "says"),
    [
        ("2026-03-02 16:59", WEEK, "window shuts 16:59"),
        (
            "2026-03-02 17:00", WEEK, "window shuts 17:00",
        ),
        (
            "2026-03-02 17:01", WEEK,
            "coat by 17:00; the window shuts 17:01, when nobody is there",
        ),
        (
            "2026-03-03 05:00", WEEK,
            "coat by 17:00; the window shuts Tue 3 Mar 05:00, when nobody is there",
        ),
        ("2026-03-03 08:00", WEEK, "window shuts Tue 3 Mar 08:00"),
        ("2026-03-03 05:00", Hours(), "window shuts Tue 3 Mar 05:00"),
    ],
)  # fmt: skip
def test_a_coat_is_wanted_while_somebody_is_there(until: str, hours: Hours, says: str) -> None:
    row = waiting(datetime.fromisoformat(until).replace(tzinfo=UTC))
    assert state_of(row, NOW, UTC_ZONE, hours) == ("free", says)


def test_after_hours_the_window_s_own_end_is_all_there_is_to_say() -> None:
    row = waiting(datetime(2026, 3, 3, 5, 0, tzinfo=UTC))
    evening = NOW.replace(hour=18)
    assert state_of(row, evening, UTC_ZONE, WEEK).says == "window shuts Tue 3 Mar 05:00"
    assert state_of(waiting(None), evening, UTC_ZONE, WEEK).says == ""
