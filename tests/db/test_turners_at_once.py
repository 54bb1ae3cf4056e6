"""Two people at one turner at the same time, on each engine: one place takes one rod, one rod one place."""

from collections.abc import Callable

import pytest
from sqlalchemy.orm import Session

from shop.db.sessions import Database
from shop.queries.cure_clock import CureClock
from shop.queries.turner_stops import stops_to_see
from shop.queries.turners import stays_on
from shop.rules.refusals import Overtaken
from shop.services.turner_stops import stop_turner
from shop.services.turners import put_on, take_off
from tests.conftest import START
from tests.db.test_sequences_at_once import at_once
from tests.turner_shop import RODS, TURNER, bench_at, fill_with_turner, lay_coat

FIRST, SECOND, *_ = RODS


@pytest.fixture
def shop(database: Database) -> Database:
    with database.writing(START) as session:
        fill_with_turner(session, START)
        lay_coat(session, bench_at(session, START), FIRST)
    return database


def rods_on(database: Database) -> list[tuple[str, int]]:
    with database.reading() as session:
        return [(stay.build, stay.place_number) for stay in stays_on(session, CureClock().warmth(session))]


def putting(number: str, place: int) -> Callable[[Session], object]:
    def do(session: Session) -> object:
        return put_on(session, bench_at(session, START), TURNER, build=number, place_number=place)

    return do


def test_one_place_takes_one_rod(shop: Database) -> None:
    with pytest.raises(Overtaken, match=f"is taken: {FIRST} is on it"):
        at_once(shop, putting(FIRST, 1), putting(SECOND, 1))
    assert rods_on(shop) == [(FIRST, 1)]


def test_one_rod_goes_on_one_place(shop: Database) -> None:
    with pytest.raises(Overtaken, match=f"The whole rod of {FIRST} is on Rack, place 1, already"):
        at_once(shop, putting(FIRST, 1), putting(FIRST, 2))
    assert rods_on(shop) == [(FIRST, 1)]


def test_a_rod_is_taken_off_once(shop: Database) -> None:
    with shop.writing(START) as session:
        stay_id = put_on(session, bench_at(session, START), TURNER, build=FIRST, place_number=1).id

    def take(session: Session) -> object:
        return take_off(session, bench_at(session, START), stay_id, reason="The chuck slips.")

    with pytest.raises(Overtaken, match="off already"):
        at_once(shop, take, take)
    assert rods_on(shop) == []


def test_a_stop_is_noted_once_with_every_wet_rod(shop: Database) -> None:
    def stop(session: Session) -> object:
        return stop_turner(session, bench_at(session, START), TURNER)

    with pytest.raises(Overtaken, match="on record already"):
        at_once(shop, stop, stop)
    with shop.writing(START) as session:
        assert [found.rods for found in stops_to_see(session, CureClock().warmth(session))] == [()]


def test_a_rod_put_on_while_the_stop_is_noted_is_refused(shop: Database) -> None:
    def stop(session: Session) -> object:
        return stop_turner(session, bench_at(session, START), TURNER)

    with pytest.raises(Overtaken, match="stands still since"):
        at_once(shop, stop, putting(FIRST, 1))
    assert rods_on(shop) == []
