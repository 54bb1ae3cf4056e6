"""Two people at one sequence at the same time, on each engine: one change counts, the other is told."""

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from concurrent.futures import wait as finished
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy.orm import Session

from shop.db.sessions import Database
from shop.queries.sequences import present_sequences, sequence_value, versions_of
from shop.rules.refusals import BadInput, Overtaken
from shop.rules.sequence_editing import add_stage
from shop.rules.sequences import Sequence, Stage
from shop.services.builds import take_on_build
from shop.services.customers import add_customer
from shop.services.sequences import add_sequence, begin_sequence, change_sequence
from tests.conftest import START

ICE = Sequence("Ice rod", "spinning", (Stage("agreed"), Stage("glued")))
LONGER, LONGEST = add_stage(ICE, "coated", "glued"), add_stage(ICE, "handed over", "glued")
# Long enough for the second to come as far as it can while the first has not committed.
HEAD_START_SECONDS = 0.4


def start_a_build(session: Session, sequence_id: int) -> None:
    customer = add_customer(session, now=START, name="Ada Thorn")
    take_on_build(
        session, now=START, zone=ZoneInfo("UTC"), customer_id=customer.id, title="a rod",
        rod_kind="spinning", sequence_id=sequence_id,
    )  # fmt: skip


def at_once(
    database: Database, first: Callable[[Session], object], second: Callable[[Session], object]
) -> None:
    """Do the first, and the second in another thread while the first has not committed."""

    def do_second() -> None:
        with database.writing(START) as session:
            second(session)

    with ThreadPoolExecutor(1) as thread:
        with database.writing(START) as session:
            first(session)
            other: Future[None] = thread.submit(do_second)
            finished([other], timeout=HEAD_START_SECONDS)
        other.result()


def change(to: Sequence) -> Callable[[Session], object]:
    return lambda session: change_sequence(session, 1, now=START, sequence=to)


def versions(database: Database) -> list[Sequence]:
    with database.reading() as session:
        return [sequence_value(session, view.id) for view in versions_of(session, 1)]


def test_of_two_changes_one_is_the_next_version_and_the_other_is_told(database: Database) -> None:
    with database.writing(START) as session:
        start_a_build(session, add_sequence(session, now=START, sequence=ICE).id)
    with pytest.raises(Overtaken, match="Version 2 of this sequence is newer"):
        at_once(database, change(LONGER), change(LONGEST))
    assert versions(database) == [LONGER, ICE]


def test_of_two_changes_in_place_the_second_replaces_the_first_whole(database: Database) -> None:
    with database.writing(START) as session:
        add_sequence(session, now=START, sequence=ICE)
    at_once(database, change(LONGER), change(LONGEST))
    assert versions(database) == [LONGEST]


def test_a_build_started_meanwhile_keeps_its_version(database: Database) -> None:
    with database.writing(START) as session:
        add_sequence(session, now=START, sequence=ICE)
    at_once(database, lambda session: start_a_build(session, 1), change(LONGER))
    assert versions(database) == [LONGER, ICE]


def test_one_name_is_begun_once(database: Database) -> None:
    def begin(session: Session) -> object:
        return begin_sequence(session, now=START, sequence=ICE)

    with pytest.raises(BadInput, match="called “Ice rod” already"):
        at_once(database, begin, begin)
    with database.reading() as session:
        assert [view.name for view in present_sequences(session)] == ["Ice rod"]
