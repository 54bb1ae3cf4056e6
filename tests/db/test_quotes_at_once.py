"""Two at one quote or payment at the same moment, on each engine: one is taken, none is doubled."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from sqlalchemy.orm import Session

from shop.db.sessions import Database
from shop.queries.builds import build_view
from shop.queries.payments import payments_of_build
from shop.queries.quotes import QuoteView, quotes_of_build
from shop.rules.refusals import Overtaken
from shop.services.payments import take_back_payment
from shop.services.quotes import CUSTOMER, answer_quote, make_quote, send_quote
from tests.conftest import START
from tests.db.test_sequences_at_once import at_once
from tests.quote_shop import NUMBER, SAID, SECRET, bench_of, fill_for_quotes
from tests.services.test_payments import pay

Work = Callable[[Session], object]


@pytest.fixture
def shop(database: Database) -> Database:
    with database.writing(START) as session:
        fill_for_quotes(session, START)
    return database


def sent(database: Database) -> str:
    with database.writing(START) as session:
        bench = bench_of(session, START)
        return send_quote(session, SECRET, make_quote(session, NUMBER, bench, SAID).id, bench)


def known(database: Database) -> list[QuoteView]:
    with database.reading() as session:
        return quotes_of_build(session, build_view(session, NUMBER).id)


def says(token: str, answer: str) -> Work:
    def do(session: Session) -> object:
        bench = replace(bench_of(session, START), actor=CUSTOMER)
        return answer_quote(session, SECRET, token, bench, answer=answer, name="Ada")

    return do


def test_two_tabs_say_yes_at_once(shop: Database) -> None:
    token = sent(shop)
    at_once(shop, says(token, "yes"), says(token, "yes"))
    with shop.reading() as session:
        count = session.connection().exec_driver_sql("SELECT COUNT(*) FROM quote_answers").scalar()
    assert (count, known(shop)[0].answer) == (1, "yes")


def test_a_yes_and_a_no_at_once_are_one_answer(shop: Database) -> None:
    token = sent(shop)
    with pytest.raises(Overtaken, match="answered with yes already"):
        at_once(shop, says(token, "yes"), says(token, "no"))
    with shop.reading() as session:
        count = session.connection().exec_driver_sql("SELECT COUNT(*) FROM quote_answers").scalar()
    assert count == 1


def test_two_quotes_made_on_the_same_page_are_one(shop: Database) -> None:
    def make(session: Session) -> object:
        return make_quote(session, NUMBER, bench_of(session, START), replace(SAID, newest=0))

    with pytest.raises(Overtaken, match="Quote 1 has been made meanwhile"):
        at_once(shop, make, make)
    assert [quote.number for quote in known(shop)] == [1]


def test_a_payment_is_written_and_taken_back_once(shop: Database) -> None:
    def once(session: Session) -> object:
        return pay(session, 5, newest=0)

    def back(session: Session) -> object:
        return take_back_payment(session, 1, bench_of(session, START), reason="twice")

    with pytest.raises(Overtaken, match="written down meanwhile"):
        at_once(shop, once, once)
    with pytest.raises(Overtaken, match="taken back already"):
        at_once(shop, back, back)
    with shop.reading() as session:
        rows = payments_of_build(session, build_view(session, NUMBER).id)
    assert [row.cents for row in rows] == [5, -5]
