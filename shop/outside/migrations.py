"""Bringing the database's tables up to date: a thin wrapper around Alembic."""

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection

from shop.paths import MIGRATIONS


def _config(connection: Connection) -> Config:
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.attributes["connection"] = connection
    return config


def migrate(connection: Connection) -> None:
    """Bring the tables to the newest version, inside the caller's transaction."""
    command.upgrade(_config(connection), "head")
