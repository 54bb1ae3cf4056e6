"""Two people at one shelf at the same time, on each engine: the last part is set aside once."""

from collections.abc import Callable

import pytest
from sqlalchemy.orm import Session

from shop.db.sessions import Database
from shop.queries.build_parts import parts_of_build
from shop.queries.builds import build_view
from shop.queries.stocks import stock_view
from shop.rules.deliveries import DeliveryDays
from shop.rules.refusals import Overtaken
from shop.services.build_parts import put_back, set_aside, set_aside_all_that_is_there
from shop.services.deliveries import DeliverySaid, LineSaid, receive_delivery
from shop.services.stocks import count_stock
from tests.conftest import START
from tests.db.test_sequences_at_once import at_once
from tests.lot_shop import TODAY, bench_at
from tests.stock_shop import RINGS, ROD, SEATS, SECOND, fill_with_stock


@pytest.fixture
def shop(database: Database) -> Database:
    with database.writing(START) as session:
        fill_with_stock(session, START)
    return database


def levels(database: Database, *stock_ids: int) -> list[tuple[int, int]]:
    with database.reading() as session:
        found = [stock_view(session, stock_id) for stock_id in stock_ids]
    return [(item.on_shelf, item.set_aside) for item in found]


def part_id(session: Session, number: str, name: str) -> int:
    parts = parts_of_build(session, build_view(session, number).id)
    return next(part.id for part in parts if part.name == name)


def taking(number: str, name: str = "Casting seat") -> Callable[[Session], object]:
    def do(session: Session) -> object:
        return set_aside(session, number, bench_at(session, START), part_id=part_id(session, number, name))

    return do


def taking_all(number: str) -> Callable[[Session], object]:
    return lambda session: set_aside_all_that_is_there(session, number, bench_at(session, START))


def test_the_last_part_goes_to_one_rod(shop: Database) -> None:
    with pytest.raises(Overtaken, match="the one on the shelf is set aside for another rod"):
        at_once(shop, taking(ROD), taking(SECOND))
    assert levels(shop, SEATS) == [(1, 1)]


def test_two_who_take_all_that_is_there_get_each_part_once(shop: Database) -> None:
    at_once(shop, taking_all(ROD), taking_all(SECOND))
    assert levels(shop, RINGS, SEATS) == [(6, 6), (1, 1)]
    with shop.reading() as session:
        seats = [
            part.set_aside
            for number in (ROD, SECOND)
            for part in parts_of_build(session, build_view(session, number).id)
            if part.name == "Casting seat"
        ]
    assert seats == [1, 0]


def test_one_rod_takes_its_part_once(shop: Database) -> None:
    with pytest.raises(Overtaken, match="26-002 has all of Ring guide 8 that it takes"):
        at_once(shop, taking(ROD, "Ring guide 8"), taking(ROD, "Ring guide 8"))
    assert levels(shop, RINGS) == [(6, 3)]


def test_a_part_is_put_back_once(shop: Database) -> None:
    with shop.writing(START) as session:
        taking(ROD)(session)

    def back(session: Session) -> object:
        seat = part_id(session, ROD, "Casting seat")
        return put_back(session, ROD, bench_at(session, START), part_id=seat)

    with pytest.raises(Overtaken, match="No Casting seat is set aside"):
        at_once(shop, back, back)
    assert levels(shop, SEATS) == [(1, 0)]


def test_a_stock_take_sees_what_was_set_aside_meanwhile(shop: Database) -> None:
    def count(session: Session) -> object:
        return count_stock(session, bench_at(session, START), SEATS, counted=0, reason="Not found.")

    with pytest.raises(Overtaken, match="1 × Casting seat is set aside for rods"):
        at_once(shop, taking(ROD), count)
    with pytest.raises(Overtaken, match="1 × Casting seat is set aside for rods"):
        at_once(shop, taking(ROD, "Ring guide 8"), count)
    assert levels(shop, SEATS) == [(1, 1)]


def test_two_presses_take_a_delivery_in_once(shop: Database) -> None:
    said = DeliverySaid(DeliveryDays(TODAY), (LineSaid(SEATS, 2),))

    def press(session: Session) -> object:
        return receive_delivery(session, bench_at(session, START), said, newest=0)

    with pytest.raises(Overtaken, match="A delivery was taken in since this form was opened"):
        at_once(shop, press, press)
    assert levels(shop, SEATS) == [(3, 0)]
