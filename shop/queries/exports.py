"""Everything on record, table by table, as plain values for an export; and which tables hold anything."""

from collections.abc import Iterator
from datetime import date, datetime
from typing import Any

from sqlalchemy import Column, Select, Table, column, func, literal, select, table
from sqlalchemy.orm import Session

from shop.db.tables import METADATA
from shop.rules.exports import LEFT_OUT_COLUMNS, LEFT_OUT_TABLES

AT_ONCE = 500
_REVISION: Select[*tuple[Any, ...]] = select(column("version_num")).select_from(
    table("alembic_version", column("version_num"))
)


class ExportTable:
    """One table of an export: its name, the names of its columns, and its rows as often as asked."""

    def __init__(self, session: Session, source: Table) -> None:
        self.name = source.name
        self.columns = [column.name for column in columns_out(source)]
        self._session = session
        self._rows = select(*columns_out(source)).order_by(*source.primary_key.columns)
        self._count = select(func.count()).select_from(source)

    def __len__(self) -> int:
        """How many rows there are."""
        return self._session.scalar(self._count) or 0

    def __iter__(self) -> Iterator[dict[str, Any]]:
        """Every row by its primary key, as plain values: instants and days are ISO 8601 text."""
        for row in self._session.execute(self._rows.execution_options(yield_per=AT_ONCE)):
            yield {name: _plain(value) for name, value in zip(self.columns, row, strict=True)}


def columns_out(source: Table) -> list[Column[Any]]:
    """The columns of a table that go out."""
    return [column for column in source.columns if (source.name, column.name) not in LEFT_OUT_COLUMNS]


def tables_out() -> list[Table]:
    """The tables that go out, each after those it refers to."""
    return [source for source in METADATA.sorted_tables if source.name not in LEFT_OUT_TABLES]


def export_tables(session: Session) -> list[ExportTable]:
    """Every table that goes out; all of them as of the session's one moment."""
    return [ExportTable(session, source) for source in tables_out()]


def revision_of(session: Session) -> str:
    """The version of the tables: that of the newest migration that was run."""
    return str(session.scalar(_REVISION))


def filled_tables(session: Session) -> list[str]:
    """The names of the tables that go out and that hold any row."""
    return [
        source.name
        for source in tables_out()
        if session.scalar(select(literal(1)).select_from(source).limit(1)) is not None
    ]


def next_row_ids(session: Session) -> dict[str, int]:
    """The id after the highest of each table that goes out, by the table's name."""
    return {source.name: (session.scalar(select(func.max(source.c.id))) or 0) + 1 for source in tables_out()}


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.isoformat().replace("+00:00", "Z")
    return value.isoformat() if isinstance(value, date) else value
