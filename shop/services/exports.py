"""Putting an exported shop on record: every row as it was, into a database that holds no shop yet.

What an export leaves out is made anew: private addresses, and passwords that open nothing until an owner
gives others. Reading the export is `shop.outside.export_files`.
"""

import json
from collections.abc import Callable, Iterable
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import (
    JSON,
    Boolean,
    Column,
    Date,
    Float,
    Integer,
    String,
    Table,
    delete,
    func,
    insert,
    update,
)
from sqlalchemy.orm import Session

from shop.db.types import UtcDateTime
from shop.queries.exports import columns_out, filled_tables, next_row_ids, revision_of, tables_out
from shop.rules.exports import FORMAT
from shop.rules.refusals import BadInput, Overtaken
from shop.services.tokens import new_link

Row = dict[str, Any]
# These have rows in a new shop too: its settings as they come with the program, and doubts about its clock.
BEGUN = ("shop", "mail_settings", "tax_rules", "clock_doubts")
# No hash of any password, so none opens the account.
NO_PASSWORD = "no password yet"
_FIXED: dict[str, Row] = {"users": {"password_hash": NO_PASSWORD}, "mail_settings": {"is_on": False}}
BATCH = 500
MOST_WHOLE = 2**63 - 1


def put_shop_on_record(
    session: Session,
    secret: bytes,
    head: Row,
    rows: Iterable[tuple[str, Row]],
    told: Callable[[], object] = int,
) -> int:
    """Put every row of an export on record, as `(table, row)` in its order; gives how many there were.

    Raises `Overtaken` where the shop is not empty, `BadInput` for what is no export of this version.
    """
    _check_head(session, head)
    filled = sorted(set(filled_tables(session)) - set(BEGUN))
    if filled:
        raise Overtaken(
            f"This shop has records already ({', '.join(filled)}); an export goes into an empty one only."
        )
    for table in tables_out():
        if table.name in BEGUN:
            session.execute(delete(table))
    many = _insert_all(session, secret, rows, told)
    if session.get_bind().dialect.name == "postgresql":
        _count_on(session)
    return many


def _check_head(session: Session, head: Row) -> None:
    if head.get("tackfree_export") != FORMAT:
        raise BadInput(
            {"export": "This is no export of Tackfree, or one of a version that is not known here."}
        )
    here, there = revision_of(session), head.get("revision")
    if here != there:
        raise BadInput(
            {
                "export": f"The export was made with tables of version {there}, and these are of version "
                f"{here}: take it in with the version of Tackfree that made it, then update."
            }
        )


def _insert_all(
    session: Session, secret: bytes, rows: Iterable[tuple[str, Row]], told: Callable[[], object]
) -> int:
    known = {table.name: table for table in tables_out()}
    ahead: list[tuple[Table, int, Row]] = []
    many, batch, last = 0, list[Row](), None
    for name, row in rows:
        table = known.get(name)
        if table is None:
            raise BadInput({"export": f"The export has a table {name}, which is not known here."})
        if batch and (table is not last or len(batch) == BATCH):
            session.execute(insert(last), batch)  # type: ignore[arg-type]
            batch = []
        last = table
        record = _record(table, row) | _made_anew(table, secret)
        if later := _later_of(table, record):
            ahead.append((table, record["id"], later))
        batch.append(record | dict.fromkeys(later))
        many += 1
        told()
    if last is not None and batch:
        session.execute(insert(last), batch)
    for table, row_id, later in ahead:
        session.execute(update(table).where(table.c.id == row_id).values(later))
    return many


def _later_of(table: Table, record: Row) -> Row:
    """The columns in which a row points at a later one of its own table, as a corrected mix does.

    They are filled in once that one is there: an engine may judge every row as it comes.
    """
    own = (key.parent.name for key in table.foreign_keys if key.column.table is table)
    return {name: record[name] for name in own if record[name] is not None and record[name] > record["id"]}


def _record(table: Table, row: Row) -> Row:
    """A row as the database keeps it. Raises `BadInput` for a row that is not one of this table."""
    columns = columns_out(table)
    if set(row) != {column.name for column in columns}:
        raise BadInput({"export": f"A row of {table.name} has not the columns that it must have."})
    record = {}
    for column in columns:
        try:
            record[column.name] = _value(column, row[column.name])
        except (TypeError, ValueError, OverflowError) as fault:
            said = f"{table.name}, row {row.get('id')}: the {column.name} cannot be read."
            raise BadInput({"export": said}) from fault
    return record


def _value(column: Column[Any], value: Any) -> Any:
    if value is None and column.nullable:
        return None
    kind = column.type
    # What could not be written out again, such as half a character or an endless number, is not taken in.
    json.dumps(value, ensure_ascii=False, allow_nan=False).encode()
    if isinstance(kind, JSON):
        return value
    if isinstance(kind, UtcDateTime):
        return _instant(value)
    if isinstance(kind, Date):
        return date.fromisoformat(value)
    for asked, given in ((Boolean, bool), (Float, int | float), (Integer, int), (String, str)):
        if isinstance(kind, asked):
            if not isinstance(value, given) or (given is not bool and isinstance(value, bool)):
                raise TypeError(f"{value!r} is not of the kind of {column}")
            if isinstance(value, int) and abs(value) > MOST_WHOLE:
                raise OverflowError(f"{value} is larger than any number that is kept")
            return value
    raise TypeError(f"{column} is of a kind that is not taken in")


def _instant(text: str) -> datetime:
    """An instant in UTC. Raises `TypeError`, `ValueError`, `OverflowError`."""
    instant = datetime.fromisoformat(text)
    if instant.tzinfo is None:
        raise ValueError(f"{text} has no time zone")
    return instant.astimezone(UTC)


def _made_anew(table: Table, secret: bytes) -> Row:
    """What an export leaves out of a row."""
    if table.name in ("status_links", "calendar_feeds", "quotes"):
        link = new_link(secret)
        return {"nonce": link.nonce, "token_hash": link.token_hash}
    return _FIXED.get(table.name, {})


def _count_on(session: Session) -> None:
    """Have PostgreSQL number the next row of each table after the last that came in."""
    next_ids = next_row_ids(session)
    for table in tables_out():
        sequence = func.pg_get_serial_sequence(table.name, "id")
        session.scalar(func.setval(sequence, next_ids[table.name], False))
