"""Status links: one live link for each build, shown again from the nonce, and never kept in the clear."""

from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import text
from sqlalchemy.orm import Session

from shop.queries.status_links import build_of_token
from shop.rules.refusals import NotOnFile
from shop.services.builds import take_on_build
from shop.services.status_links import end_link, give_link, live_token
from shop.services.tokens import hash_of, token_from
from tests.api.filled import CUSTOMER, SEQUENCE, fill
from tests.conftest import START

SECRET = bytes(range(32))
LATER = START + timedelta(days=1)


@pytest.fixture
def build_id(session: Session) -> int:
    fill(session, START)
    return take_on(session)


def take_on(session: Session) -> int:
    return take_on_build(
        session, now=START, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="7 ft", rod_kind="casting",
        sequence_id=SEQUENCE,
    ).id  # fmt: skip


def opens(session: Session, token: str) -> int | None:
    return build_of_token(session, hash_of(token))


def test_a_link_opens_its_build_and_is_shown_again(session: Session, build_id: int) -> None:
    assert live_token(session, SECRET, build_id) is None
    token = give_link(session, SECRET, build_id, now=START)
    assert opens(session, token) == build_id
    assert live_token(session, SECRET, build_id) == token


def test_a_new_link_ends_the_one_before_of_that_build_alone(session: Session, build_id: int) -> None:
    other_id = take_on(session)
    other = give_link(session, SECRET, other_id, now=START)
    first = give_link(session, SECRET, build_id, now=START)
    second = give_link(session, SECRET, build_id, now=LATER)
    assert second != first
    assert opens(session, first) is None
    assert opens(session, second) == build_id
    assert opens(session, other) == other_id


def test_an_ended_link_opens_nothing_and_is_not_shown_again(session: Session, build_id: int) -> None:
    token = give_link(session, SECRET, build_id, now=START)
    assert end_link(session, build_id, now=LATER) is True
    assert opens(session, token) is None
    assert live_token(session, SECRET, build_id) is None
    assert end_link(session, build_id, now=LATER) is False
    fresh = give_link(session, SECRET, build_id, now=LATER)
    assert fresh != token
    assert opens(session, token) is None


def test_the_database_alone_opens_nothing(session: Session, build_id: int) -> None:
    token = give_link(session, SECRET, build_id, now=START)
    kept = session.execute(text("SELECT * FROM status_links")).mappings().one()
    assert token not in map(str, kept.values())
    assert kept["token_hash"] == hash_of(token)
    assert token_from(SECRET, kept["nonce"]) == token
    for known in (kept["nonce"], kept["token_hash"], token_from(b"another secret", kept["nonce"])):
        assert opens(session, known) is None


def test_a_build_that_is_not_on_file_gets_no_link(session: Session) -> None:
    with pytest.raises(NotOnFile):
        give_link(session, SECRET, 99, now=START)
