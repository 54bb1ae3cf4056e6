"""The record of a sheet's changes can only be added to; and what came with it to a shop at work."""

from datetime import UTC, datetime

import pytest
from alembic import command
from sqlalchemy import text
from sqlalchemy.exc import DatabaseError

from shop.db.sessions import Database
from shop.outside.migrations import migrate
from shop.services.adhesives import add_adhesive
from tests.db.test_migrations import config_for

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
SHEET = {
    "use": "bond", "parts_a": 1.0, "parts_b": 1.0, "reference_c": 20.0, "pot_life_minutes": 30.0,
    "set_minutes": 600.0, "full_cure_minutes": 1440.0,
}  # fmt: skip


@pytest.fixture
def recorded(database: Database) -> Database:
    """A database with one change on record."""
    with database.writing(NOW) as session:
        add_adhesive(session, now=NOW, by="Nell", name="Riverbed", **SHEET)
    return database


def test_what_was_changed_is_never_changed_itself(recorded: Database) -> None:
    replacing = "INSERT OR REPLACE INTO sheet_changes SELECT * FROM sheet_changes"
    for statement in (
        "UPDATE sheet_changes SET by = 'nobody'",
        "DELETE FROM sheet_changes",
        replacing if recorded.embedded else "TRUNCATE sheet_changes",
    ):
        with (
            pytest.raises(DatabaseError, match="changes of sheets are never changed or deleted"),
            recorded.writing(NOW) as session,
        ):
            session.execute(text(statement))
    with recorded.reading() as session:
        assert session.execute(text("SELECT kind, by FROM sheet_changes")).all() == [("made", "Nell")]


def test_figures_on_file_stand_as_they_did_where_their_sheet_was_named_and_dated(database: Database) -> None:
    columns = "name, use, parts_a, parts_b, reference_c, pot_life_minutes, set_minutes, full_cure_minutes"
    with database.engine.begin() as connection:
        command.downgrade(config_for(connection), "0003")
        connection.execute(
            text("INSERT INTO zones (id, name, assumed_c, readings_version, created_at, version) VALUES "
                 "(1, 'bench', 20, 1, '2026-03-01 08:00:00', 1)")
        )  # fmt: skip
        for number, (source, dated, ready_made) in enumerate(
            (("sheet", "'2026-01-15'", ""), ("sheet", "NULL", ""), ("", "NULL", ""), ("", "NULL", "class")), 1
        ):
            connection.execute(
                text(
                    f"INSERT INTO adhesives (id, {columns}, source, sheet_date, ready_made, confirmed_by, "
                    f"created_at, version) VALUES ({number}, 'A{number}', 'bond', 1, 1, 20, 30, 600, 1440, "
                    f"'{source}', {dated}, '{ready_made}', '', '2026-03-01 08:00:00', 1)"
                )
            )
            connection.execute(
                text(
                    "INSERT INTO mixes (id, root_id, correction_reason, adhesive_id, zone_id, mixed_at, "
                    f"entered_at, by, adhesive_{columns.replace('parts_a, parts_b, ', '')}, releases) VALUES "
                    f"({number}, {number}, '', {number}, 1, '2026-03-01 08:00:00', '2026-03-01 08:00:00', "
                    f"'Nell', 'A{number}', 'bond', 20, 30, 600, 1440, '[]')"
                )
            )
    with database.engine.begin() as connection:
        migrate(connection)
        states = connection.execute(text("SELECT sheet_state FROM mixes ORDER BY id")).scalars().all()
        confirmed = connection.execute(
            text("SELECT id FROM adhesives WHERE confirmed_at = created_at")
        ).scalars()
        assert confirmed.all() == [1]
    assert states == ["confirmed", "not dated", "not named", "ready-made"]
