"""What a calendar is told of the bench: ready times and recoat windows.

Pure. A cure that is stalled has no time and so no entry; one in doubt, by its puddle or under suspicion, is
promised to nobody. Of several cups in a joint the last speaks for all. Checks of puddles and pot lives are
the bench's own and too short-lived for a calendar.
"""

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from typing import NamedTuple

from shop.rules.soft import SoftCure

# How long an instant is drawn in a calendar, so that it can be seen and tapped.
SHOWN_FOR = timedelta(minutes=15)
# How long what is over stays in the feed, so that yesterday does not vanish overnight.
KEPT_FOR = timedelta(days=7)
_SECOND = timedelta(seconds=1)


class Entry(NamedTuple):
    """One entry, in whole seconds: nothing begins before it is so, and no window ends after it has shut.

    `key` stays when the instants move, so that a calendar moves the entry instead of adding one.
    """

    key: str
    rod: str
    place: str
    adhesive: str
    says: str
    begins: datetime
    ends: datetime

    @property
    def summary(self) -> str:
        """The title of the entry: rod, place and what happens."""
        return f"{self.rod} {self.place}: {self.says}"


def entries_of(cures: Iterable[SoftCure]) -> list[Entry]:
    """The entries of cures, by when they begin."""
    found = [entry for soft in cures for entry in _entries(soft)]
    return sorted(found, key=lambda entry: (entry.begins, entry.rod, entry.key))


def _entries(soft: SoftCure) -> Iterator[Entry]:
    cure = soft.cure
    if cure.tacky or cure.failed or soft.is_suspect or soft.is_topped_up:
        return

    def entry(what: str, says: str, begins: datetime, ends: datetime) -> Entry:
        key = f"cure-{cure.id}-{what}"
        return Entry(key, soft.number, cure.place, cure.adhesive, says, begins, ends)

    for what, says, at in (("set", "set", cure.set_at), ("full", "fully cured", cure.full_at)):
        if at is not None:
            yield entry(what, says, _up(at), _up(at) + SHOWN_FOR)
    if not soft.takes_a_coat or cure.recoat_from is None:
        return
    begins, until = _up(cure.recoat_from), cure.recoat_until
    if until is None:
        yield entry("window", "next coat from", begins, begins + SHOWN_FOR)
    elif begins < until.replace(microsecond=0):
        # A window of no length would be an event that ends before it begins, which no calendar takes.
        yield entry("window", "recoat window", begins, until.replace(microsecond=0))


def _up(at: datetime) -> datetime:
    """The first whole second that is not before an instant."""
    return at if at.microsecond == 0 else at.replace(microsecond=0) + _SECOND
