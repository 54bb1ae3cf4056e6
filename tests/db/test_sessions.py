"""Reading and writing at once: nothing lost, no reader kept waiting, nothing kept of a failure."""

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path
from threading import Barrier, Event

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError

from shop.db.cures import Cure
from shop.db.customers import Customer
from shop.db.sessions import ChangedMeanwhile, Database, sqlite_library
from shop.queries.customers import customer_record, customer_view, customers_after
from shop.queries.shop import last_instant
from shop.services.customers import add_customer

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
LATER = datetime(2026, 3, 2, 9, 5, tzinfo=UTC)
THREADS = 4
TURNS = 20
# Only ever waited out when a thread hangs.
PATIENCE = 60


@pytest.fixture
def counting(database: Database) -> Database:
    """A database with one customer, whose notes are a number."""
    with database.writing(NOW) as session:
        add_customer(session, now=NOW, name="Ada Thorn", notes="0")
    return database


def notes_of(database: Database) -> str:
    with database.reading() as session:
        return customer_view(session, 1).notes


def count_up(database: Database) -> None:
    """Read the number, add one, write it; again where somebody else was first."""
    while True:
        try:
            with database.writing(NOW) as session:
                customer = customer_record(session, 1)
                customer.notes = str(int(customer.notes) + 1)
            return
        except ChangedMeanwhile:
            # SQLite gives writers their turn before they read; there nobody can be overtaken.
            assert not database.embedded


def test_of_many_who_read_and_then_write_nobody_is_lost(counting: Database) -> None:
    together = Barrier(THREADS)

    def work(_: int) -> None:
        together.wait(PATIENCE)
        for _turn in range(TURNS):
            count_up(counting)

    with ThreadPoolExecutor(THREADS) as threads:
        list(threads.map(work, range(THREADS)))
    assert notes_of(counting) == str(THREADS * TURNS)


def test_a_reader_does_not_wait_for_a_writer_and_sees_what_was_committed(counting: Database) -> None:
    with counting.writing(NOW) as session:
        customer_record(session, 1).notes = "half done"
        session.flush()
        assert notes_of(counting) == "0"
    assert notes_of(counting) == "half done"


def test_a_reader_sees_one_moment_of_the_database(counting: Database) -> None:
    with counting.reading() as reader:
        assert len(customers_after(reader, 0, 10)) == 1
        with counting.writing(NOW) as session:
            add_customer(session, now=NOW, name="Bo Reed")
        # Asked of the database anew, not of what the session remembers.
        assert len(customers_after(reader, 0, 10)) == 1
        count_up(counting)
        assert customer_view(reader, 1).notes == "0"
    with counting.reading() as reader:
        assert len(customers_after(reader, 0, 10)) == 2
        assert customer_view(reader, 1).notes == "1"


def test_a_second_writer_waits_its_turn_and_reads_what_the_first_wrote(embedded: Database) -> None:
    with embedded.writing(NOW) as session:
        add_customer(session, now=NOW, name="Ada Thorn", notes="0")
    began = Event()

    def second() -> None:
        began.set()
        count_up(embedded)

    with ThreadPoolExecutor(1) as thread:
        with embedded.writing(NOW) as session:
            waiting = thread.submit(second)
            assert began.wait(PATIENCE)
            customer_record(session, 1).notes = "41"
        waiting.result(PATIENCE)
    assert notes_of(embedded) == "42"


def test_what_a_reading_session_changes_is_thrown_away(counting: Database) -> None:
    with counting.reading() as session:
        customer_record(session, 1).notes = "slipped in"
        session.flush()
    assert notes_of(counting) == "0"


def test_a_writing_session_that_fails_leaves_nothing_behind(counting: Database) -> None:
    def fail() -> None:
        with counting.writing(LATER) as session:
            customer_record(session, 1).notes = "half done"
            session.flush()
            raise RuntimeError("The cup fell down.")

    with pytest.raises(RuntimeError, match="The cup fell down"):
        fail()
    assert notes_of(counting) == "0"
    with counting.reading() as session:
        assert last_instant(session) == NOW


def test_what_the_database_refuses_at_the_end_leaves_nothing_behind(counting: Database) -> None:
    def write() -> None:
        with counting.writing(LATER) as session:
            add_customer(session, now=LATER, name="Ott Brand")
            session.add(
                Cure(mix_id=7, build_id=7, pass_number=1, place="x", closed_at=NOW, entered_at=NOW, by="Ott")
            )

    with pytest.raises(IntegrityError):
        write()
    with counting.reading() as session:
        assert [customer.name for customer in customers_after(session, 0, 10)] == ["Ada Thorn"]
    count_up(counting)
    assert notes_of(counting) == "1"


@pytest.mark.parametrize("at_once", [True, False])
def test_a_lost_update_is_told_as_changed_meanwhile(counting: Database, at_once: bool) -> None:
    def overtaken() -> None:
        with counting.writing(LATER) as session:
            customer = customer_record(session, 1)
            session.execute(text("UPDATE customers SET version = version + 1"))
            customer.notes = "too late"
            if at_once:
                session.flush()

    with pytest.raises(ChangedMeanwhile):
        overtaken()
    assert notes_of(counting) == "0"


def test_begin_finish_and_abandon_are_the_same_in_three_moves(counting: Database) -> None:
    session = counting.begin()
    customer_record(session, 1).notes = "1"
    counting.abandon(session)
    assert notes_of(counting) == "0"
    session = counting.begin()
    customer_record(session, 1).notes = "2"
    counting.finish(session, LATER)
    assert notes_of(counting) == "2"
    with counting.reading() as reader:
        assert last_instant(reader) == LATER


def test_what_was_committed_can_be_used_after_the_session_is_closed(counting: Database) -> None:
    with counting.writing(NOW) as session:
        customer = add_customer(session, now=NOW, name="Ott Brand")
    assert isinstance(customer, Customer)
    assert (customer.id, customer.name, customer.version) == (2, "Ott Brand", 1)


def test_the_embedded_database_is_careful(embedded: Database) -> None:
    version, safe = sqlite_library()
    with embedded.reading() as session:

        def pragma(name: str) -> object:
            return session.execute(text(f"PRAGMA {name}")).scalar()

        assert session.execute(text("SELECT sqlite_version()")).scalar() == version
        assert pragma("journal_mode") == ("wal" if safe else "delete")
        assert pragma("synchronous") == 2
        assert pragma("foreign_keys") == 1


def test_its_version_moves_with_every_commit_and_with_nothing_else(embedded: Database) -> None:
    with embedded.writing(NOW) as session:
        add_customer(session, now=NOW, name="Ada Thorn", notes="0")
    seen = embedded.data_version()
    assert notes_of(embedded) == "0"
    embedded.abandon(embedded.begin())
    assert embedded.data_version() == seen
    count_up(embedded)
    moved = embedded.data_version()
    assert moved != seen
    other = Database(str(embedded.url))
    count_up(other)
    other.close()
    assert embedded.data_version() not in (seen, moved)


def test_after_closing_nothing_is_left_beside_the_file(embedded: Database, tmp_path: Path) -> None:
    with embedded.writing(NOW) as session:
        add_customer(session, now=NOW, name="Ada Thorn")
    embedded.data_version()
    embedded.close()
    assert [path.name for path in tmp_path.iterdir()] == ["shop.sqlite3"]
