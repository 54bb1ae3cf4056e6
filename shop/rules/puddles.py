"""When the puddle of a mix is to be touched, and whether what was felt puts the mix in doubt.

The puddle is thicker than a joint and warms itself, so it is no later than the joints: found tacky when
they should have set, it says that the mix is wrong; found firm it is needed, but proves nothing.
"""

from collections.abc import Iterable
from datetime import datetime, timedelta
from enum import StrEnum
from typing import NamedTuple

# How long to wait before a tacky puddle is touched again: a share of the sheet's set time between two
# limits. Common practice, no source.
SHARE_OF_SET = 0.25
LEAST_WAIT = timedelta(hours=1)
MOST_WAIT = timedelta(hours=6)
# A puddle that nobody has touched for so long is gone with the card; common practice, no source.
KEPT_FOR = timedelta(days=7)


class PuddleState(StrEnum):
    """How the leftover of a mix was found."""

    FIRM = "firm"
    TACKY = "tacky"


class Touch(NamedTuple):
    """The last touch of a puddle: how it was found, and when."""

    state: PuddleState
    at: datetime


class Why(StrEnum):
    """Why a puddle is to be touched, or why no time is given."""

    SET = "set"  # its joints should have set
    TACKY = "tacky"  # it was tacky when they should have
    RECHECK = "recheck"  # an owner said to wait and look again
    FIRM = "firm"  # it was found firm in its time: no more
    STALLED = "stalled"  # its joints will not set: too cold
    NO_JOINT = "no joint"  # no joint of it counts


class NextTouch(NamedTuple):
    """When a puddle is to be touched next; no time where it is not, or where cold keeps it from setting."""

    at: datetime | None
    why: Why


def next_touch(
    set_times: Iterable[datetime | None],
    set_minutes: float,
    last: Touch | None = None,
    recheck_at: datetime | None = None,
) -> NextTouch:
    """When to touch the puddle of a mix.

    `set_times` are those of its cures that count, none for a stalled one; `set_minutes` is the sheet's
    figure; `recheck_at` is when an owner said to look again. What was felt before the first cure should
    have set says nothing, so the puddle is still due then.
    """
    times = list(set_times)
    if not times:
        return NextTouch(None, Why.NO_JOINT)
    if recheck_at is not None and (last is None or last.at < recheck_at):
        return NextTouch(recheck_at, Why.RECHECK)
    due = _earliest(times)
    if due is None:
        return NextTouch(None, Why.STALLED)
    if last is None or last.at < due:
        return NextTouch(due, Why.SET)
    if last.state is PuddleState.FIRM:
        return NextTouch(None, Why.FIRM)
    return NextTouch(last.at + wait_after_tacky(set_minutes), Why.TACKY)


def is_asked_for(due: NextTouch, now: datetime) -> bool:
    """Whether anybody is asked to touch a puddle, now or later.

    One that should have been touched long ago is not asked for any more, unless it was found tacky or an
    owner wants it looked at: those hold rods.
    """
    if due.at is None:
        return False
    return due.why is not Why.SET or now < due.at + KEPT_FOR


def wait_after_tacky(set_minutes: float) -> timedelta:
    """How long to leave a tacky puddle alone before it is touched again."""
    return min(max(timedelta(minutes=set_minutes * SHARE_OF_SET), LEAST_WAIT), MOST_WAIT)


def is_in_doubt(
    set_times: Iterable[datetime | None], last: Touch | None, soonest: Iterable[datetime] = ()
) -> bool:
    """Whether a mix is in doubt by its puddle: last found tacky when its first cure should have set.

    `set_times` are those of all its cures, the failed ones too: a joint that was stripped since does not
    make the puddle any better. `soonest` are the instants of the same cures by the sheet alone, at full
    credit all the way. A touch after that counts even where it turns out that it was colder: a reading that
    comes in late must not take back a doubt, which only a firm puddle does.
    """
    due = _earliest((*set_times, *soonest))
    if last is None or due is None or last.state is PuddleState.FIRM:
        return False
    return last.at >= due


def _earliest(set_times: Iterable[datetime | None]) -> datetime | None:
    return min((at for at in set_times if at is not None), default=None)
