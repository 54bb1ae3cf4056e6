"""What was read from the database, remembered until anybody commits anything.

For small things that every page asks again: who is signed in, the shop's figures, the zones' warmth. It
goes by the database's own version number, so there is no rule for what to forget. Where there is no such
number, on PostgreSQL, nothing is remembered.
"""

from collections.abc import Callable, Hashable
from typing import Any, TypeVar

from shop.db.sessions import Database

T = TypeVar("T")
MOST_THINGS = 2000


class Memory:
    """Remembers what was read at one version of the database. For one thread, the event loop's."""

    def __init__(self, database: Database) -> None:
        self._database = database
        self._version = -1
        self._known: dict[Hashable, Any] = {}

    def recall(self, key: Hashable, read: Callable[[], T]) -> T:
        """What `read` gives, asked again only when something was committed since.

        `read` must open a session of its own: one opened before may see an older moment than the version
        that its answer would be kept under. It may recall other things; where one of them finds that
        something was committed meanwhile, what `read` gives is not kept.
        """
        if not self._database.embedded:
            return read()
        version = self._database.data_version()
        if version != self._version or len(self._known) > MOST_THINGS:
            self._known.clear()
            self._version = version
        if key in self._known:
            known: T = self._known[key]
            return known
        made = read()
        if self._version == version:
            self._known[key] = made
        return made
