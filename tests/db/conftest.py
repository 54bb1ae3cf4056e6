"""Migrated databases on both engines; PostgreSQL as a throw-away cluster that lives as long as the run.

The cluster is Debian's own `postgresql`, owned by its user (it refuses to run as root), reached over a
socket in its folder and never over the network. Where it is not installed, its tests are skipped
on a person's machine and fail in CI.
"""

import importlib.util
import itertools
import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from shop.db.sessions import Database
from shop.outside.migrations import migrate

OWNER = "postgres"
# Generous, for a loaded machine: only ever waited out when the cluster does not come up at all.
START_SECONDS = 90


def server_tools() -> Path | None:
    """The folder of the newest `initdb` and `pg_ctl` on this machine, or none."""
    on_path = shutil.which("pg_ctl")
    folders = sorted(
        Path("/usr/lib/postgresql").glob("*/bin"),
        key=lambda folder: float(folder.parent.name) if folder.parent.name.isdecimal() else 0.0,
    )
    candidates = [*reversed(folders), *([Path(on_path).parent] if on_path else [])]
    return next((f for f in candidates if (f / "initdb").exists() and (f / "pg_ctl").exists()), None)


def why_not() -> str:
    """Why PostgreSQL cannot be tried here, as a sentence; empty where it can."""
    if server_tools() is None:
        return "PostgreSQL is not installed here: there is no initdb and pg_ctl."
    if importlib.util.find_spec("psycopg") is None:
        return "psycopg is not installed: install the extra `postgres`."
    if os.geteuid() == 0 and not _has_user(OWNER):
        return f"PostgreSQL refuses to run as root, and there is no user {OWNER} to run it."
    return ""


def _has_user(name: str) -> bool:
    return any(entry.pw_name == name for entry in pwd.getpwall())


class Cluster:
    """A running server with a socket in `folder`; databases are made by `new_database`."""

    def __init__(self, folder: Path, tools: Path) -> None:
        self.folder = folder
        self._tools = tools
        self._as_owner: dict[str, Any] = {"user": OWNER, "group": OWNER} if os.geteuid() == 0 else {}
        self._names = (f"shop_{number}" for number in itertools.count(1))

    def run(self, tool: str, *words: str) -> None:
        """Run one of the server's tools as its owner; fails with what it said."""
        log = self.folder / f"{tool}.txt"
        with log.open("wb") as output:
            done = subprocess.run(
                [str(self._tools / tool), *words],
                cwd="/", stdin=subprocess.DEVNULL, stdout=output, stderr=output, check=False,
                timeout=START_SECONDS, extra_groups=[] if self._as_owner else None, **self._as_owner,
            )  # fmt: skip
        assert done.returncode == 0, log.read_text()

    def start(self) -> None:
        data = str(self.folder / "data")
        self.run("initdb", "-D", data, "-U", OWNER, "-A", "trust", "-E", "UTF8", "--locale=C", "-N")
        options = f"-k {self.folder} -c listen_addresses= -c fsync=off -c timezone=Asia/Kolkata"
        self.run("pg_ctl", "-D", data, "-w", "-l", str(self.folder / "server.txt"), "-o", options, "start")

    def stop(self) -> None:
        self.run("pg_ctl", "-D", str(self.folder / "data"), "-m", "immediate", "-w", "stop")

    def new_database(self) -> str:
        """The URL of a fresh, empty database."""
        name = next(self._names)
        self.run("createdb", "-h", str(self.folder), "-U", OWNER, name)
        return f"postgresql+psycopg://{OWNER}@/{name}?host={self.folder}"


@pytest.fixture(scope="session")
def cluster() -> Iterator[Cluster]:
    """The cluster, stopped and wiped at the end of the run."""
    if reason := why_not():
        if os.environ.get("CI") == "true":
            pytest.fail(reason)
        pytest.skip(reason)
    tools = server_tools()
    assert tools is not None
    # Below the system's folder for such things: a socket's path may have 107 characters at most, and the
    # folders that pytest makes for root cannot be entered by the owner of the cluster.
    with tempfile.TemporaryDirectory(prefix="tackfree-pg-") as folder:
        if os.geteuid() == 0:
            shutil.chown(folder, OWNER, OWNER)
        cluster = Cluster(Path(folder), tools)
        cluster.start()
        yield cluster
        cluster.stop()


@pytest.fixture
def postgresql_url(cluster: Cluster) -> str:
    """The URL of a fresh, empty PostgreSQL database."""
    return cluster.new_database()


@pytest.fixture(params=["sqlite", "postgresql"])
def empty_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The URL of a fresh, empty database, on each engine in turn."""
    if request.param == "postgresql":
        url: str = request.getfixturevalue("postgresql_url")
        return url
    return f"sqlite:///{tmp_path / 'shop.sqlite3'}"


@pytest.fixture
def opened() -> Iterator[Callable[[str], Database]]:
    """Opens a database, brings its tables up to date, and closes it at the end of the test."""
    databases = []

    def open_(url: str) -> Database:
        database = Database(url)
        databases.append(database)
        with database.engine.begin() as connection:
            migrate(connection)
        return database

    yield open_
    for database in databases:
        database.close()


@pytest.fixture
def database(empty_url: str, opened: Callable[[str], Database]) -> Database:
    """A migrated database, on each engine in turn."""
    return opened(empty_url)


@pytest.fixture
def embedded(tmp_path: Path, opened: Callable[[str], Database]) -> Database:
    """A migrated SQLite database."""
    return opened(f"sqlite:///{tmp_path / 'shop.sqlite3'}")
