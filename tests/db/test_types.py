"""Instants keep their moment on both engines, come back in UTC, and cannot be written without a zone."""

from datetime import UTC, datetime, timedelta, timezone

import pytest
from sqlalchemy import text
from sqlalchemy.exc import StatementError

from shop.db.customers import Customer
from shop.db.sessions import Database
from shop.db.shop import ClockDoubt
from shop.db.types import UtcDateTime
from shop.queries.shop import open_doubts

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
KOLKATA = timezone(timedelta(hours=5, minutes=30))
NEWFOUNDLAND = timezone(timedelta(hours=-2, minutes=-30))


def doubt(raised_at: datetime) -> ClockDoubt:
    return ClockDoubt(reason="Just so.", raised_at=raised_at, confirmed_at=None, confirmed_by="")


@pytest.mark.parametrize(
    "instant",
    [
        NOW,
        datetime(2026, 3, 2, 14, 30, 0, 123456, tzinfo=KOLKATA),
        datetime(2026, 10, 25, 2, 30, tzinfo=NEWFOUNDLAND),
        datetime(1970, 1, 1, tzinfo=UTC),
        datetime(2999, 12, 31, 23, 59, 59, 999999, tzinfo=UTC),
    ],
)
def test_an_instant_comes_back_as_the_same_moment_in_utc(database: Database, instant: datetime) -> None:
    with database.writing(NOW) as session:
        session.add(doubt(instant))
    with database.reading() as session:
        (kept,) = open_doubts(session)
    assert kept.raised_at == instant
    assert kept.raised_at.tzinfo is UTC
    assert kept.confirmed_at is None


def test_a_datetime_without_a_zone_is_refused(database: Database) -> None:
    with pytest.raises(StatementError, match="has no time zone"), database.writing(NOW) as session:
        session.add(doubt(datetime(2026, 3, 2, 9, 0)))  # noqa: DTZ001
    with database.reading() as session:
        assert open_doubts(session) == []


def test_instants_of_different_zones_sort_by_their_moment_in_the_database(database: Database) -> None:
    written = [
        datetime(2026, 3, 2, 15, 0, tzinfo=KOLKATA),  # 09:30 UTC
        datetime(2026, 3, 2, 7, 15, tzinfo=NEWFOUNDLAND),  # 09:45 UTC
        datetime(2026, 3, 2, 9, 40, tzinfo=UTC),
        datetime(2026, 3, 2, 9, 40, 0, 1, tzinfo=UTC),
    ]
    with database.writing(NOW) as session:
        session.add_all(doubt(instant) for instant in written)
    with database.reading() as session:
        rows = session.execute(text("SELECT id FROM clock_doubts ORDER BY raised_at"))
        assert [row[0] for row in rows] == [1, 3, 4, 2]


def test_the_type_says_itself_that_it_needs_a_zone(embedded: Database) -> None:
    dialect = embedded.engine.dialect
    with pytest.raises(ValueError, match="has no time zone; an instant needs one"):
        UtcDateTime().process_bind_param(datetime(2026, 3, 2), dialect)  # noqa: DTZ001
    assert UtcDateTime().process_bind_param(None, dialect) is None
    assert UtcDateTime().process_result_value(None, dialect) is None


def test_a_foreign_key_that_leads_nowhere_is_refused(database: Database) -> None:
    missing = text(
        "INSERT INTO cures (mix_id, build_id, pass_number, place, closed_at, entered_at, by,"
        " correction_reason, failed_reason) VALUES (7, 7, 1, 'rear grip', '2026-03-02', '2026-03-02', 'Nell',"
        " '', '')"
    )
    with pytest.raises(Exception, match=r"(?i)foreign key"), database.writing(NOW) as session:
        session.execute(missing)


def test_text_keeps_every_character(database: Database) -> None:
    name = "Åsa “Ø” 竿 🎣 O'Neil; DROP TABLE customers"
    with database.writing(NOW) as session:
        session.add(Customer(name=name, email="", phone="", notes="a\nb", created_at=NOW))
    with database.reading() as session:
        assert session.get_one(Customer, 1).name == name
