"""The engine and the two session contexts: one for reading, one for writing.

The writing context is the only place that commits. It leaves to its caller what is written and when
(`now`), and to `services` every rule about it.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from types import ModuleType
from typing import Any

from sqlalchemy import Connection, Engine, bindparam, create_engine, event, make_url, update
from sqlalchemy.exc import IntegrityError, OperationalError
from sqlalchemy.orm import Session as Session
from sqlalchemy.orm.exc import StaleDataError
from sqlalchemy.pool import ConnectionPoolEntry

from shop.db.shop import Change
from shop.db.types import UtcDateTime

try:
    from pysqlite3 import dbapi2 as newest_sqlite
except ImportError:  # not packaged for this machine: Python's own library serves
    newest_sqlite = sqlite3

# SQLite 3.7.0 to 3.51.2 can, rarely, corrupt a WAL database that has two connections.
FIRST_SAFE_WAL = (3, 51, 3)
BUSY_SECONDS = 5.0


# What the driver raises when the database is locked, gone or full; named here for `web`.
DatabaseFault = OperationalError
# What the driver raises when two writes cannot both stand, as two zones of one name made at once.
Clash = IntegrityError
# What a flush before the commit raises when the record was changed meanwhile.
LostUpdate = StaleDataError


class ChangedMeanwhile(Exception):
    """Somebody else changed the same record between our reading and our writing."""


class Database:
    """One engine and the ways into it. Safe to share between threads."""

    def __init__(self, url: str) -> None:
        self.url = make_url(url)
        self.embedded = self.url.get_backend_name() == "sqlite"
        self.engine = _embedded_engine(url) if self.embedded else create_engine(url)
        # Readers must not queue behind a writer, so they do not ask for SQLite's write lock. PostgreSQL would
        # show each statement another moment: a page of several, or an export, would not fit together.
        self._reading_engine = self.engine.execution_options(
            **{"begin": "DEFERRED"} if self.embedded else {"isolation_level": "REPEATABLE READ"}
        )
        self._watch: Any = None

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """A session that sees one moment of the database; whatever it changes is thrown away."""
        with Session(self._reading_engine, autoflush=False) as session:
            yield session

    def begin(self) -> Session:
        """A session for writing, the lock already taken. Give it to `finish` or `abandon`."""
        session = Session(self.engine, expire_on_commit=False)
        try:
            session.connection()
        except BaseException:
            session.close()
            raise
        return session

    def finish(self, session: Session, now: datetime) -> None:
        """Note the instant and commit; translate a lost update into `ChangedMeanwhile`."""
        try:
            session.flush()
            session.execute(MARK_INSTANT, {"at": now})
            session.commit()
        except StaleDataError as lost:
            session.rollback()
            raise ChangedMeanwhile from lost
        except BaseException:
            session.rollback()
            raise
        finally:
            session.close()

    def abandon(self, session: Session) -> None:
        """Throw away what a session has written."""
        session.rollback()
        session.close()

    @contextmanager
    def writing(self, now: datetime) -> Iterator[Session]:
        """A session whose work is committed when the block ends well, and dropped when it does not."""
        session = self.begin()
        try:
            yield session
        except StaleDataError as lost:
            self.abandon(session)
            raise ChangedMeanwhile from lost
        except BaseException:
            self.abandon(session)
            raise
        self.finish(session, now)

    def data_version(self) -> int:
        """A number that moves with every commit of anybody, by a connection kept for this alone.

        For the embedded database; call it from one thread. It means nothing to another process.
        """
        if self._watch is None:
            self._watch = self.engine.raw_connection()
        number: int = self._watch.cursor().execute("PRAGMA data_version").fetchone()[0]
        return number

    def close(self) -> None:
        """Close every connection."""
        if self._watch is not None:
            self._watch.close()
            self._watch = None
        self.engine.dispose()


MARK_INSTANT = update(Change).values(last_at=bindparam("at", type_=UtcDateTime))


def sqlite_library() -> tuple[str, bool]:
    """The version of the SQLite library in use, and whether its WAL journal is safe."""
    version: str = newest_sqlite.sqlite_version
    return version, tuple(int(part) for part in version.split(".")) >= FIRST_SAFE_WAL


def _embedded_engine(url: str) -> Engine:
    module: ModuleType = newest_sqlite
    engine = create_engine(
        url, module=module, connect_args={"timeout": BUSY_SECONDS, "check_same_thread": False}
    )
    journal = "WAL" if sqlite_library()[1] else "DELETE"

    @event.listens_for(engine, "connect")
    def prepare(connection: Any, _entry: ConnectionPoolEntry) -> None:
        # The driver must not begin transactions behind our back: see `begin` below.
        connection.isolation_level = None
        for pragma in ("foreign_keys=ON", f"journal_mode={journal}", "synchronous=FULL", "cache_size=-16000"):
            connection.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        # A plain BEGIN takes the write lock at the first write, too late for read-then-write.
        connection.exec_driver_sql("BEGIN " + connection.get_execution_options().get("begin", "IMMEDIATE"))

    return engine
