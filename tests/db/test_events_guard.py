"""The record of events can be added to and nothing else: the database itself refuses, on both engines."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DatabaseError
from sqlalchemy.orm import Session

from shop.db.events import Event
from shop.db.sessions import Database
from shop.queries.events import EventView, events_of_build
from shop.rules.ready_made import READY_MADE
from shop.services.builds import take_on_build
from shop.services.customers import add_customer
from shop.services.sequences import add_sequence

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
REFUSED = "events are never changed or deleted"


@pytest.fixture
def recorded(database: Database) -> Database:
    """A database with one event on record."""
    with database.writing(NOW) as session:
        customer = add_customer(session, now=NOW, name="Ada Thorn")
        sequence = add_sequence(session, now=NOW, sequence=READY_MADE[0])
        take_on_build(
            session, now=NOW, zone=ZoneInfo("UTC"), customer_id=customer.id, title="7 ft",
            rod_kind="casting", sequence_id=sequence.id,
        )  # fmt: skip
        session.add(event("stage", "as it was"))
    return database


def event(kind: str, note: str, **more: Any) -> Event:
    return Event(
        build_id=1, pass_number=1, kind=kind, happened_at=NOW, entered_at=NOW, by="Nell", note=note, **more
    )


def record_of(database: Database) -> list[EventView]:
    with database.reading() as session:
        return events_of_build(session, 1)


@contextmanager
def assert_refused(database: Database) -> Iterator[Session]:
    """A writing session that the database must refuse, after which the record is what it was."""
    before = record_of(database)
    assert [event.note for event in before] == ["as it was"]
    with pytest.raises(DatabaseError, match=REFUSED), database.writing(NOW) as session:
        yield session
    assert record_of(database) == before


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE events SET note = 'as it suits'",
        "UPDATE events SET happened_at = happened_at",
        "DELETE FROM events",
        "DELETE FROM events WHERE id = 1",
        "INSERT INTO events SELECT * FROM events WHERE true ON CONFLICT (id) DO UPDATE SET note = ''",
    ],
)
def test_a_statement_that_changes_the_record_is_refused(recorded: Database, statement: str) -> None:
    with assert_refused(recorded) as session:
        session.execute(text(statement))


def test_the_mapped_class_cannot_change_the_record_either(recorded: Database) -> None:
    with assert_refused(recorded) as session:
        session.get_one(Event, 1).note = "as it suits"
    with assert_refused(recorded) as session:
        session.delete(session.get_one(Event, 1))


def test_the_ways_around_an_update_and_a_delete_are_refused_too(recorded: Database) -> None:
    replacing = "INSERT OR REPLACE INTO events SELECT * FROM events"
    with assert_refused(recorded) as session:
        session.execute(text(replacing if recorded.embedded else "TRUNCATE events CASCADE"))


def test_further_events_are_taken(recorded: Database) -> None:
    with recorded.writing(NOW) as session:
        session.add(event("correction", "put right", corrects_id=1, details={"undone": True}))
    assert [event.note for event in record_of(recorded)] == ["as it was", "put right"]
    assert record_of(recorded)[1].details == {"undone": True}
