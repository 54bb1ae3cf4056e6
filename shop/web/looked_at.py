"""Files that somebody has looked at and may yet take in: kept in memory, few and not for long.

Between the look and the button that stores it a file must come from somewhere, and a browser without
scripts does not send it twice. A restart forgets what was looked at; nothing is lost but a choice of file.
"""

from collections import OrderedDict
from datetime import datetime, timedelta
from threading import Lock
from typing import Generic, NamedTuple, Protocol, TypeVar

from shop.rules.imports import ImportKind
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


class ListFile(NamedTuple):
    """A file of customers, blanks, components or stock as it came; `taken` says how many lines went in."""

    kind: ImportKind
    name: str
    body: bytes
    looked_at: datetime
    taken: int = 0


class Dated(Protocol):
    """A file with the instant at which it was looked at."""

    @property
    def looked_at(self) -> datetime:
        """That instant."""


F = TypeVar("F", bound=Dated)


class LookedAtFiles(Generic[F]):
    """The files of one kind that were looked at last, by a token. Safe to share between threads."""

    def __init__(self, most: int = MOST_FILES) -> None:
        self._most = most
        self._kept: OrderedDict[str, F] = OrderedDict()
        self._lock = Lock()

    def keep(self, file: F) -> str:
        """Keep a file; gives the token it is found by."""
        token = new_token()
        with self._lock:
            self._kept[token] = file
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
        return token

    def find(self, token: str, now: datetime) -> F | None:
        """The file of a token, unless it is kept no longer."""
        with self._lock:
            for old in [key for key, file in self._kept.items() if now - file.looked_at > KEPT_FOR]:
                del self._kept[old]
            return self._kept.get(token)

    def replace(self, token: str, file: F) -> None:
        """Keep another file in the place of the one of this token, if that is kept still."""
        with self._lock:
            if token in self._kept:
                self._kept[token] = file
