"""From when a turner can have stood still: nobody saw it turning since, and a rod was on it by then."""

from datetime import timedelta

import pytest
from sqlalchemy.orm import Session

from shop.queries.cure_clock import CureClock
from shop.queries.turner_stops import stops_to_see
from shop.rules.refusals import BadInput
from shop.services.turner_stops import end_stop
from shop.services.turners import note_turning
from tests.conftest import START
from tests.turner_shop import RODS, TURNER, TurnerShop

FIRST, SECOND, *_ = RODS
HOUR, MS = timedelta(hours=1), timedelta(milliseconds=1)


@pytest.fixture
def shop(session: Session) -> TurnerShop:
    return TurnerShop(session, START)


def test_a_stop_is_no_earlier_than_it_was_seen_turning_or_than_the_first_rod_on_it(shop: TurnerShop) -> None:
    shop.forward(hours=1)
    shop.coated(FIRST, 1)
    put_on_at = shop.now
    shop.forward(minutes=20)
    note_turning(shop.session, shop.bench(), TURNER)
    looked = shop.now
    shop.forward(minutes=10)
    shop.coated(SECOND, 2)
    for at, says in (
        (looked - MS, "before Rack was last seen turning"),
        (put_on_at, "before Rack was last seen turning"),
    ):
        with pytest.raises(BadInput, match=says):
            shop.stop(at)
    assert stops_to_see(shop.session, CureClock().warmth(shop.session)) == []
    assert shop.stop(looked).stopped_at == looked, "the second rod went on without a look"


def test_a_stop_before_any_rod_was_on_it_is_refused(shop: TurnerShop) -> None:
    assert shop.stop(START).stopped_at == START, "an empty turner may stand still since whenever"
    end_stop(shop.session, shop.bench(), 1)
    shop.forward(hours=1)
    shop.coated(FIRST, 1)
    shop.forward(minutes=10)
    with pytest.raises(BadInput, match="before the first rod was put on Rack"):
        shop.stop(START + HOUR - MS)
    assert shop.stop(START + HOUR).stopped_at == START + HOUR
