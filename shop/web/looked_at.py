"""Files that somebody has looked at and may yet take in: kept in memory, few and not for long.

Between the look and the button that stores it a file must come from somewhere, and a browser without
scripts does not send it twice. A restart forgets what was looked at; nothing is lost but a choice of file.
"""

from collections import OrderedDict
from datetime import datetime, timedelta
from threading import Lock
from typing import NamedTuple

from shop.services.tokens import new_token

MOST_FILES = 8
KEPT_FOR = timedelta(minutes=30)


class LookedAt(NamedTuple):
    """A file as it would be taken in, and for which zone and sensor (empty for none)."""

    zone_id: int
    sensor: str
    name: str
    readings: list[tuple[datetime, float]]
    looked_at: datetime


class LookedAtFiles:
    """The files that were looked at last, by a token. Safe to share between threads."""

    def __init__(self) -> None:
        self._kept: OrderedDict[str, LookedAt] = OrderedDict()
        self._lock = Lock()

    def keep(self, file: LookedAt) -> str:
        """Keep a file; gives the token it is found by."""
        token = new_token()
        with self._lock:
            self._kept[token] = file
            while len(self._kept) > MOST_FILES:
                self._kept.popitem(last=False)
        return token

    def find(self, token: str, zone_id: int, now: datetime) -> LookedAt | None:
        """The file of a token, unless it was another zone's or is kept no longer."""
        with self._lock:
            for old in [key for key, file in self._kept.items() if now - file.looked_at > KEPT_FOR]:
                del self._kept[old]
            file = self._kept.get(token)
        return file if file is not None and file.zone_id == zone_id else None
