"""Calendar addresses: one live address for each person, never kept in the clear, gone with the account."""

from datetime import timedelta

import pytest
from sqlalchemy import text
from sqlalchemy.orm import Session

from shop.queries.calendar_feeds import opens_a_calendar
from shop.rules.people import Role
from shop.rules.refusals import NotOnFile
from shop.services.calendar_feeds import end_feed, give_feed, live_token
from shop.services.tokens import hash_of, token_from
from shop.services.users import add_user, end_account
from shop.web.deps import Hub
from tests.conftest import PASSWORD, START

SECRET = bytes(range(32))
LATER = START + timedelta(days=1)


def person(session: Session, hub: Hub, name: str) -> int:
    return add_user(session, hub.passwords, now=START, name=name, role=Role.HELPER, password=PASSWORD).id


def opens(session: Session, token: str) -> bool:
    return opens_a_calendar(session, hash_of(token))


def test_an_address_is_given_shown_again_replaced_and_ended(session: Session, hub: Hub) -> None:
    nell, ines = person(session, hub, "Nell"), person(session, hub, "Ines")
    assert live_token(session, SECRET, nell) is None
    other = give_feed(session, SECRET, ines, now=START)
    first = give_feed(session, SECRET, nell, now=START)
    assert live_token(session, SECRET, nell) == first
    second = give_feed(session, SECRET, nell, now=LATER)
    assert second != first
    assert [opens(session, token) for token in (first, second, other)] == [False, True, True]
    assert end_feed(session, nell, now=LATER) is True
    assert end_feed(session, nell, now=LATER) is False
    assert live_token(session, SECRET, nell) is None
    assert [opens(session, token) for token in (second, other)] == [False, True]


def test_an_account_that_ends_takes_its_address_with_it(session: Session, hub: Hub) -> None:
    nell = person(session, hub, "Nell")
    token = give_feed(session, SECRET, nell, now=START)
    end_account(session, nell, now=LATER, version=1)
    assert opens(session, token) is False


def test_the_database_alone_opens_nothing(session: Session, hub: Hub) -> None:
    token = give_feed(session, SECRET, person(session, hub, "Nell"), now=START)
    kept = session.execute(text("SELECT * FROM calendar_feeds")).mappings().one()
    assert token not in map(str, kept.values())
    assert token_from(SECRET, kept["nonce"]) == token
    for known in (kept["nonce"], kept["token_hash"], token_from(b"another secret", kept["nonce"])):
        assert opens(session, known) is False


def test_who_is_not_on_file_gets_no_address(session: Session) -> None:
    with pytest.raises(NotOnFile):
        give_feed(session, SECRET, 99, now=START)
