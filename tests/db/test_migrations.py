"""The migrations: from an empty database to the tables that the program was made for, on both engines."""

import io
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, inspect

from shop.clock import Clock
from shop.db.sessions import Database
from shop.db.tables import METADATA
from shop.outside.migrations import migrate
from shop.paths import MIGRATIONS
from shop.queries.customers import customers_after
from shop.queries.shop import last_instant, read_shop
from shop.services.customers import add_customer, change_customer
from tests.conftest import Hands
from tests.house import tree


def config_for(connection: Connection | None = None) -> Config:
    config = Config(stdout=io.StringIO())
    config.set_main_option("script_location", str(MIGRATIONS))
    config.attributes["connection"] = connection
    return config


def is_up_to_date(connection: Connection) -> bool:
    newest = ScriptDirectory.from_config(config_for(connection)).get_current_head()
    return MigrationContext.configure(connection).get_current_revision() == newest


def test_an_empty_database_is_brought_to_the_newest_tables(database: Database) -> None:
    with database.engine.connect() as connection:
        assert is_up_to_date(connection)
        names = {
            name for name in inspect(connection).get_table_names() if not name.startswith("search_words")
        }
    assert names == {*METADATA.tables, "alembic_version"}


def test_the_migrated_tables_are_those_of_the_program(database: Database) -> None:
    with database.engine.begin() as connection:
        command.check(config_for(connection))


def test_migrating_again_changes_nothing(database: Database) -> None:
    with database.writing(Hands().wall_at) as session:
        add_customer(session, now=Hands().wall_at, name="Ada Thorn")
    for _ in range(2):
        with database.engine.begin() as connection:
            migrate(connection)
    with database.reading() as session:
        assert [customer.name for customer in customers_after(session, 0, 10)] == ["Ada Thorn"]
        assert read_shop(session).name == "Our shop"


def test_a_migration_that_fails_leaves_the_database_as_it_was(empty_url: str) -> None:
    database = Database(empty_url)

    def migrate_and_fail() -> None:
        with database.engine.begin() as connection:
            migrate(connection)
            raise RuntimeError("The power went.")

    with pytest.raises(RuntimeError, match="The power went"):
        migrate_and_fail()
    with database.engine.connect() as connection:
        assert inspect(connection).get_table_names() == []
    with database.engine.begin() as connection:
        migrate(connection)
    database.close()


def test_a_new_shop_begins_with_careful_figures(database: Database) -> None:
    with database.reading() as session:
        shop = read_shop(session)
        assert (shop.credit_cap, shop.reading_gap_minutes, shop.time_zone) == (1.0, 60.0, "UTC")
        assert shop.clock_doubt == ""
        assert last_instant(session).year == 1970


def test_the_history_is_one_line_with_one_head() -> None:
    scripts = ScriptDirectory.from_config(config_for())
    assert len(scripts.get_heads()) == 1
    assert all(not revision.is_merge_point for revision in scripts.walk_revisions())


def test_migrations_import_nothing_of_the_program_that_may_change_under_them() -> None:
    versions = [module for module in tree.modules("migrations") if module.path.parent.name == "versions"]
    assert versions
    strangers = [
        f"{module.path}: {imported.module}"
        for module in versions
        for imported in tree.imports(module)
        if imported.module.split(".")[0] not in {"sqlalchemy", "alembic"}
    ]
    assert strangers == []


def test_every_constraint_has_a_name_that_a_later_migration_can_find() -> None:
    unnamed = [
        f"{table.name}: {constraint}"
        for table in METADATA.tables.values()
        for constraint in table.constraints
        if constraint.name is None
    ]
    assert unnamed == []


def test_the_database_can_be_taken_down_again(database: Database) -> None:
    with database.engine.begin() as connection:
        command.downgrade(config_for(connection), "base")
    with database.engine.begin() as connection:
        assert inspect(connection).get_table_names() == ["alembic_version"]
        migrate(connection)
        assert is_up_to_date(connection)


def test_the_tool_works_from_the_command_line_too(tmp_path: Path) -> None:
    surroundings = {**os.environ, "TACKFREE_DATA": str(tmp_path), "TACKFREE_DATABASE_URL": ""}
    for words in (["upgrade", "head"], ["check"]):
        done = subprocess.run(
            [sys.executable, "-m", "alembic", *words], cwd=tree.ROOT, env=surroundings, timeout=120,
            capture_output=True, text=True, check=False,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
    assert (tmp_path / "tackfree.sqlite3").exists()


def test_a_write_and_a_read_through_the_services(database: Database, hands: Hands) -> None:
    clock = Clock(hands.wall, hands.steady)
    with database.writing(clock.now()) as session:
        ada = add_customer(session, now=clock.now(), name="Ada Thorn", email="ada@example.org")
        add_customer(session, now=clock.now(), name="Ott Brand")
    with database.writing(hands.forward(minutes=1)) as session:
        change_customer(session, ada.id, notes="left-handed")
    with database.reading() as session:
        assert [(c.name, c.email, c.notes) for c in customers_after(session, 0, 10)] == [
            ("Ada Thorn", "ada@example.org", "left-handed"),
            ("Ott Brand", "", ""),
        ]
        assert last_instant(session) == hands.wall_at


def test_each_opened_database_is_its_own(
    opened: Callable[[str], Database], tmp_path: Path, hands: Hands
) -> None:
    first, second = (opened(f"sqlite:///{tmp_path / name}") for name in ("one.sqlite3", "two.sqlite3"))
    with first.writing(hands.wall_at) as session:
        add_customer(session, now=hands.wall_at, name="Ada Thorn")
    with second.reading() as session:
        assert customers_after(session, 0, 10) == []
