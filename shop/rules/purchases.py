"""What to buy: what open builds are short of, and what brings each count back to its least.

Pure. What is free goes to the builds that are promised soonest; what is then missing is bought, and enough
besides that the least is left when every open build has its parts. A delivery is on the shelf from the day it
came, so nothing is ever expected: an order that was placed is not known here until it arrives.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

# A rod is on the bench for one to two weeks, since most of it has to be left alone to harden; the longer of
# the two is reckoned with. Common practice, no source.
MAKING_DAYS = 14
_LATEST = date(9999, 12, 31)


@dataclass(frozen=True, slots=True)
class Wanted:
    """How many of an item an open build still waits for."""

    build: str
    promised_on: date | None
    missing: int


@dataclass(frozen=True, slots=True)
class Counted:
    """What is counted of an item. `lead_days` is how long an order takes, none where nobody said."""

    free: int
    least: int
    lead_days: int | None = None


@dataclass(frozen=True, slots=True)
class Purchase:
    """What to buy of an item: `count` in all, `short` of it for builds that have no free one.

    `builds` are those, by number. `order_by` is the last day to order it so that the first promise can still
    be kept; none where no promise hangs on it. It may lie in the past: `is_late`.
    """

    count: int
    short: int
    builds: tuple[str, ...]
    order_by: date | None
    is_late: bool


def what_to_buy(counted: Counted, wanted: Iterable[Wanted], today: date) -> Purchase | None:
    """What to buy of one item; none where enough is there."""
    queue = sorted(wanted, key=lambda want: (want.promised_on or _LATEST, want.build))
    missing = sum(want.missing for want in queue)
    count = missing + counted.least - counted.free
    if count <= 0:
        return None
    waiting = _without(queue, counted.free)
    days = [
        order_day(want.promised_on, counted.lead_days) for want in waiting if want.promised_on is not None
    ]
    order_by = min(days, default=None)
    return Purchase(
        count=count,
        short=max(0, missing - counted.free),
        builds=tuple(want.build for want in waiting),
        order_by=order_by,
        is_late=order_by is not None and order_by < today,
    )


def _without(queue: Sequence[Wanted], free: int) -> list[Wanted]:
    """The builds that do not get all they wait for when what is free is given out in this order."""
    waiting = []
    for want in queue:
        if want.missing > free:
            waiting.append(want)
        free = max(0, free - want.missing)
    return waiting


def order_day(promised_on: date, lead_days: int | None) -> date:
    """The last day to order a part for a rod that is promised: less its making, less the lead time.

    Where nobody said how long an order takes, only the making is taken off.
    """
    days = MAKING_DAYS + (lead_days or 0)
    return date.fromordinal(max(1, promised_on.toordinal() - days))


def here_by(today: date, lead_days: int | None) -> date | None:
    """When a part could be here that is ordered today; none where nobody said how long that takes."""
    return None if lead_days is None else today + timedelta(days=lead_days)
