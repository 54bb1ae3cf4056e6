"""Two tablets that say at once what was seen, on each engine: both are heard, and no mark goes back."""

from collections.abc import Callable
from datetime import datetime, timedelta

import pytest
from sqlalchemy.orm import Session

from shop.db.sessions import Database
from shop.queries.moments import seen_moments
from shop.rules.moments import Kind, Moment
from shop.services.moments import mark_seen
from tests.conftest import START
from tests.db.test_sequences_at_once import at_once
from tests.turner_shop import bench_at, fill_with_turner

HOUR = timedelta(hours=1)
TOLD = [Moment(Kind.SET, number, START, (("26-001", "rear grip"),), "has set") for number in range(1, 501)]
EARLIER = [moment._replace(at=START - HOUR) for moment in TOLD]


@pytest.fixture
def shop(database: Database) -> Database:
    with database.writing(START) as session:
        fill_with_turner(session, START)
    return database


def marks(database: Database) -> dict[str, datetime]:
    with database.reading() as session:
        return seen_moments(session, START)


def seeing(told: list[Moment], **named: object) -> Callable[[Session], object]:
    def do(session: Session) -> object:
        return mark_seen(session, bench_at(session, START), told, **{"keys": [], **named})  # type: ignore[arg-type]

    return do


def test_two_tablets_see_five_hundred_moments_at_once(shop: Database) -> None:
    all_seen = seeing(TOLD, all_until=START.isoformat())
    at_once(shop, all_seen, seeing(TOLD[::-1], all_until=START.isoformat()))
    assert marks(shop) == {moment.key: START for moment in TOLD}


def test_two_tablets_see_the_same_moment_at_once(shop: Database) -> None:
    one = seeing(TOLD, keys=[f"set-2@{START.isoformat()}", f"set-1@{START.isoformat()}"])
    other = seeing(TOLD, keys=[f"set-1@{START.isoformat()}", f"set-2@{START.isoformat()}"])
    at_once(shop, one, other)
    assert marks(shop) == {"set-1": START, "set-2": START}


def test_a_mark_never_goes_back_nor_past_its_moment(shop: Database) -> None:
    for told, at, kept in (
        (TOLD, START + 9 * HOUR, START), (TOLD, START - HOUR, START), (EARLIER, START, START),
    ):  # fmt: skip
        with shop.writing(START) as session:
            seeing(told, keys=[f"set-1@{at.isoformat()}"])(session)
        assert marks(shop) == {"set-1": kept}
