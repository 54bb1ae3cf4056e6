"""What every test may ask for: a database brought up to date once, an app around it, people and keys.

Each test gets its own copy of the migrated database file; copying it costs a millisecond and lets the
app commit for real.
"""

import shutil
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
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

START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
PASSWORD = "a long enough password"


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
    folder = tmp_path_factory.mktemp("migrated")
    open_hub(quick_settings(folder), Clock(Hands().wall, Hands().steady)).database.close()
    return folder


def quick_settings(folder: Path) -> Settings:
    """Settings for a folder, with passwords hashed as fast as the library allows."""
    return Settings(data=folder, database_url="", mqtt_url="", password_time_cost=1, password_memory_kib=8)


@pytest.fixture
def hub(migrated: Path, tmp_path: Path, hands: Hands) -> Iterator[Hub]:
    folder = tmp_path / "data"
    shutil.copytree(migrated, folder)
    hub = open_hub(quick_settings(folder), Clock(hands.wall, hands.steady))
    yield hub
    hub.database.close()


@pytest.fixture
def session(hub: Hub, hands: Hands) -> Iterator[Session]:
    """A writing session; what it wrote is committed at the end of the test."""
    with hub.database.writing(hands.wall_at) as session:
        yield session


@pytest.fixture
def client(hub: Hub) -> Iterator[TestClient]:
    """A program without a key, or a browser that nobody has signed in with."""
    with TestClient(create_app(hub), base_url="https://testserver", follow_redirects=False) as client:
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
