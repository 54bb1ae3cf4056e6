"""When a place may have been closed: after its mix was made and within its pot life, the safe answer first.

The question is asked after the gloves come off. The later instant is the safer one, since a cure counts
from it: whoever taps without thinking waits longer, never shorter.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import NamedTuple

AGO_MINUTES = (10, 20)


class Choice(NamedTuple):
    """An instant to choose: `key` is `now`, `end` (of the pot life) or how many minutes ago, as text.

    Only `now` is meant as whenever it is answered; the others are shown, and meant, as clock times.
    """

    key: str
    at: datetime


def closing_choices(now: datetime, mixed_at: datetime, pot_life_ends_at: datetime) -> list[Choice]:
    """The instants offered at `now`, the latest first; only such as can be right.

    After the pot life its end is the latest that can be, and is offered in the place of now.
    """
    return list(_choices(now, mixed_at, pot_life_ends_at))


def _choices(now: datetime, mixed_at: datetime, pot_life_ends_at: datetime) -> Iterator[Choice]:
    if now <= pot_life_ends_at:
        yield Choice("now", now)
    else:
        yield Choice("end", pot_life_ends_at)
    for minutes in AGO_MINUTES:
        at = now - timedelta(minutes=minutes)
        if mixed_at <= at < pot_life_ends_at:
            yield Choice(str(minutes), at)
