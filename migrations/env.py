"""Runs the migrations: on the connection that the program hands over, or on TACKFREE_DATABASE_URL."""

from alembic import context

from shop.config import Settings
from shop.db.sessions import Database
from shop.db.tables import METADATA

LOCK_TIMEOUT = "SET lock_timeout = '5s'"
# The search index is each engine's own and has no model; see the migration that makes it.
SEARCH = "search_words"


def is_ours(name, kind, _parents):
    """Whether a table found in the database is to be compared with the models."""
    return kind != "table" or not name.startswith(SEARCH)


def run(connection):
    """Run on an open connection, inside one transaction."""
    if connection.dialect.name == "postgresql":
        # A migration that waits for a lock stops everybody who queues behind it.
        connection.exec_driver_sql(LOCK_TIMEOUT)
    context.configure(
        connection=connection, target_metadata=METADATA, render_as_batch=True, compare_type=True,
        include_name=is_ours,
    )  # fmt: skip
    with context.begin_transaction():
        context.run_migrations()


given = context.config.attributes.get("connection")
if given is not None:
    run(given)
else:
    database = Database(Settings().url())
    with database.engine.begin() as own:
        run(own)
    database.close()
