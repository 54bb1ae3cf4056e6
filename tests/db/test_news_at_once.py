"""Messages and promises on each engine: two at once stay two or one as they should, and all reads answer."""

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from sqlalchemy.orm import Session

from shop.db.sessions import Database
from shop.queries.builds import build_record
from shop.queries.messages import messages_of_build, read_messages, unread_messages
from shop.queries.promises import finished_promises, moved_promises, promises_of_build
from shop.queries.shop import read_shop
from shop.queries.status_links import live_nonces
from shop.rules.messages import MOST_A_DAY
from shop.rules.people import ROLE_RIGHTS, Actor, Role
from shop.rules.promises import FinishedBuild
from shop.rules.refusals import BadInput, Overtaken
from shop.services.bench import Signer
from shop.services.messages import mark_read, write_from_customer, write_from_shop
from shop.services.promises import change_promise
from shop.services.status_links import give_link
from tests.api.filled import fill
from tests.conftest import START
from tests.db.test_sequences_at_once import at_once, start_a_build

ROD = "26-001"
NELL = Signer(START, Actor("Nell", ROLE_RIGHTS[Role.OWNER]))
DAY, LATE, LATER = date(2026, 4, 2), date(2026, 4, 9), date(2026, 4, 16)


@pytest.fixture
def shop(database: Database) -> Database:
    with database.writing(START) as session:
        fill(session, START)
        start_a_build(session, 1)
        change_promise(session, ROD, NELL, promised_on=DAY)
    return database


def writes(text: str) -> Callable[[Session], object]:
    def do(session: Session) -> object:
        try:
            return write_from_customer(session, 1, now=START, text=text)
        except Overtaken:
            return None

    return do


def test_two_messages_at_once_are_not_both_the_last_one(shop: Database) -> None:
    with shop.writing(START) as session:
        for number in range(MOST_A_DAY - 1):
            write_from_customer(session, 1, now=START, text=f"{number}")
    at_once(shop, writes("one"), writes("other"))
    with shop.reading() as session:
        texts = [message.text for message in messages_of_build(session, 1, 100)]
    assert texts[-2:] == [f"{MOST_A_DAY - 2}", "one"]


def moves(to: date) -> Callable[[Session], object]:
    return lambda session: change_promise(session, ROD, NELL, promised_on=to, reason=f"to {to}")


def test_two_changes_of_a_promise_at_once_follow_one_another(shop: Database) -> None:
    at_once(shop, moves(LATE), moves(LATER))
    with shop.reading() as session:
        rows = [(row.was_on, row.promised_on) for row in promises_of_build(session, 1)]
    assert rows == [(None, DAY), (DAY, LATE), (LATE, LATER)]
    with pytest.raises(BadInput):
        at_once(shop, moves(LATE), moves(LATE))


def test_what_the_desk_reads_is_the_same_on_both_engines(shop: Database) -> None:
    with shop.writing(START) as session:
        moves(LATE)(session)
        write_from_customer(session, 1, now=START, text="Is it started?")
        write_from_shop(session, ROD, NELL, text="Yes.")
        write_from_customer(session, 1, now=START + timedelta(minutes=1), text="Good.")
        give_link(session, bytes(32), 1, now=START)
    with shop.reading() as session:
        assert read_shop(session).unread_count == 1
        assert [message.text for message in unread_messages(session, 0, 9)] == ["Good."]
        (read,) = read_messages(session, 99, 9)
        assert (read.text, read.is_answered) == ("Is it started?", True)
        assert [(moved.first, moved.promised_on, moved.changes) for moved in moved_promises(session)] == [
            (DAY, LATE, 1)
        ]
        assert [link.build_id for link in live_nonces(session)] == [1]
        zone = read_shop(session).zone
    with shop.writing(START) as session:
        mark_read(session, 3, NELL)
        build_record(session, ROD).closed_at = START
    with shop.reading() as session:
        assert finished_promises(session, 2026, zone) == [FinishedBuild(START.date(), DAY, LATE)]
        assert moved_promises(session) == []
