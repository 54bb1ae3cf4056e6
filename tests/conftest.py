"""What every test may ask for: a database brought up to date once, an app around it, people and keys.

Each test gets its own copy of the migrated database file; copying it costs a millisecond and lets the
app commit for real.
"""

import gc
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy.orm import Session

from shop.app import create_app, open_hub
from shop.clock import Clock
from shop.config import Settings
from shop.rules.people import Role, Scope
from shop.services.keys import add_key
from shop.services.tokens import hash_of, new_token
from shop.services.users import add_user, start_session
from shop.web.deps import Hub
from shop.web.memory import Memory

START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
PASSWORD = "a long enough password"
IN_MEMORY = Path("/dev/shm")
HERE = Path(__file__).parent
# The folders whose tests start programs: a browser, servers, a database.
WITH_PROCESSES = {"browser", "packaging", "commands", "db"}


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Long tests first: what the workers share out between them at the end is then short."""
    items.sort(key=lambda item: item.path.relative_to(HERE).parts[0] not in WITH_PROCESSES)


def pytest_collection_finish() -> None:
    """Leave what was collected out of every later round of Python's collector: it lives to the end."""
    gc.freeze()


class Hands:
    """A clock that a test moves by hand; its steady time keeps pace unless told otherwise."""

    def __init__(self) -> None:
        self.wall_at = START
        self.steady_at = 1000.0

    def wall(self) -> datetime:
        return self.wall_at

    def steady(self) -> float:
        return self.steady_at

    def forward(self, **span: float) -> datetime:
        """Let time pass as it should; gives the new instant."""
        step = timedelta(**span)
        self.wall_at += step
        self.steady_at += step.total_seconds()
        return self.wall_at


@pytest.fixture
def hands() -> Hands:
    return Hands()


@pytest.fixture(scope="session")
def migrated(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with a secret and an empty database that is up to date."""
    folder = tmp_path_factory.mktemp("migrated")
    open_hub(quick_settings(folder), Clock(Hands().wall, Hands().steady)).database.close()
    return folder


def quick_settings(folder: Path) -> Settings:
    """Settings for a folder, with passwords hashed as fast as the library allows."""
    return Settings(data=folder, database_url="", mqtt_url="", password_time_cost=1, password_memory_kib=8)


class House:
    """What takes longer to make than most tests take, and knows nothing of any shop; made once a process.

    It is the engine with the statements it has compiled, and the app with the routes it has worked out. The
    data folder and all that remembers come anew with each hub: its parts, and the middleware's kept pages.
    """

    def __init__(self, migrated: Path, folder: Path) -> None:
        self._migrated = migrated
        self._folder = folder
        self._hub = self._open(Clock(Hands().wall, Hands().steady))
        self.app = create_app(self._hub)

    @contextmanager
    def opened(self, clock: Clock) -> Iterator[Hub]:
        """A hub as `open_hub` makes it for a copy of the migrated folder; one at a time."""
        fresh = self._open(clock)
        database = self._hub.database
        hub = replace(fresh, database=database, memory=Memory(database))
        yield hub
        database.close()

    def around(self, hub: Hub) -> FastAPI:
        """The app as `create_app(hub)` would make it; it serves that hub until it is asked for again."""
        vars(self._hub).update(vars(hub))
        self.app.middleware_stack = None
        return self.app

    def _open(self, clock: Clock) -> Hub:
        shutil.rmtree(self._folder, ignore_errors=True)
        shutil.copytree(self._migrated, self._folder)
        hub = open_hub(quick_settings(self._folder), clock)
        hub.database.close()
        return hub


@pytest.fixture(scope="session")
def house(migrated: Path) -> Iterator[House]:
    """The house of this process, on a disk that is memory where there is one: every commit waits for it."""
    beside = IN_MEMORY if os.access(IN_MEMORY, os.W_OK) else None
    with tempfile.TemporaryDirectory(prefix="tackfree-house-", dir=beside) as folder:
        yield House(migrated, Path(folder) / "data")


@pytest.fixture
def hub(house: House, hands: Hands) -> Iterator[Hub]:
    with house.opened(Clock(hands.wall, hands.steady)) as hub:
        yield hub


@pytest.fixture
def session(hub: Hub, hands: Hands) -> Iterator[Session]:
    """A writing session; what it wrote is committed at the end of the test."""
    with hub.database.writing(hands.wall_at) as session:
        yield session


@pytest.fixture
def client(hub: Hub, house: House) -> Iterator[TestClient]:
    """A program without a key, or a browser that nobody has signed in with."""
    with TestClient(house.around(hub), base_url="https://testserver", follow_redirects=False) as client:
        yield client


@pytest.fixture
def signed_in(hub: Hub, hands: Hands, client: TestClient) -> Callable[[Role], TestClient]:
    """Signs the client in as somebody of a role; the person is called after the role."""

    def sign_in(role: Role) -> TestClient:
        token = new_token()
        with hub.database.writing(hands.wall_at) as session:
            user = add_user(
                session, hub.passwords, now=hands.wall_at, name=f"{role}", role=role, password=PASSWORD
            )
            start_session(session, now=hands.wall_at, user_id=user.id, token_hash=hash_of(token))
        client.cookies.set("tackfree", token)
        return client

    return sign_in


@pytest.fixture
def keyed(hub: Hub, hands: Hands, client: TestClient) -> Callable[[Scope], TestClient]:
    """Gives the client a key of a scope."""

    def give(scope: Scope) -> TestClient:
        key = new_token()
        with hub.database.writing(hands.wall_at) as session:
            add_key(session, now=hands.wall_at, name=f"{scope} key", scope=scope, key_hash=hash_of(key))
        client.headers["authorization"] = f"Bearer {key}"
        return client

    return give
