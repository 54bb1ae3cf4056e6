"""Two quick taps at the same time, on each engine: one cup is mixed, and its puddle is touched once."""

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from shop.db.mixes import Mix, PuddleCheck
from shop.db.sessions import Database
from shop.queries.cup import CupWish
from shop.services.cups import CupSaid
from shop.services.mixes import make_mix, touch_puddle
from shop.services.servings import cup_just_started
from tests.api.filled import BOND, ZONE, fill
from tests.conftest import START
from tests.db.test_sequences_at_once import at_once
from tests.lot_shop import bench_at

WISH = CupWish(BOND, ZONE, volume_ml=6.0)


@pytest.fixture
def shop(database: Database) -> Database:
    with database.writing(START) as session:
        fill(session, START)
    return database


def mix(session: Session) -> None:
    """What a tap of the Cup does."""
    bench = bench_at(session, START)
    if cup_just_started(session, bench, WISH) is None:
        said = CupSaid(amount_a_ml=3.0, amount_b_ml=3.0)
        make_mix(session, bench, adhesive_id=BOND, zone_id=ZONE, mixed_at=None, cup=said)


def touch(session: Session) -> None:
    touch_puddle(session, bench_at(session, START), 1, state="tacky", at=None)


def test_two_taps_mix_one_cup_and_touch_its_puddle_once(shop: Database) -> None:
    at_once(shop, mix, mix)
    at_once(shop, touch, touch)
    with shop.reading() as session:
        assert session.scalar(select(func.count()).select_from(Mix)) == 1
        assert session.scalar(select(func.count()).select_from(PuddleCheck)) == 1
