"""Privacy: every record that is kept about a customer, what stands in the way of erasing, and where else a
person is named.

The records are read table by table with their columns as they are, so that a column added later is shown too;
secrets are left out.
"""

import json
from collections.abc import Sequence
from datetime import date, datetime
from typing import Any, NamedTuple, TypeVar

from sqlalchemy import ColumnElement, String, Table, cast, func, or_, select
from sqlalchemy.orm import Session
from sqlalchemy.types import JSON, Text

from shop.craft.saying import say_money
from shop.db.builds import Build
from shop.db.customers import Customer
from shop.db.intakes import Intake
from shop.db.mails import Mail
from shop.db.make_ups import MakeUp
from shop.db.messages import Message
from shop.db.payments import Payment
from shop.db.photos import Photo
from shop.db.promises import Promise
from shop.db.quotes import Quote, QuoteAnswer
from shop.db.returns import Return
from shop.db.specs import Spec
from shop.db.status_links import StatusLink
from shop.db.tables import METADATA
from shop.db.types import Base
from shop.queries.exports import columns_out
from shop.queries.payments import uneven_builds

Row = dict[str, Any]
OfBuild = TypeVar("OfBuild", Spec, Quote, Message, Photo, Intake, Return, MakeUp)
OF_BUILDS: tuple[type[Base], ...] = (
    Spec, Quote, Payment, Promise, Message, Photo, Intake, Return, StatusLink,
)  # fmt: skip
# Rows of these are never changed: the database refuses it.
APPENDED = frozenset({"events", "promises", "payments", "stock_moves", "sheet_changes"})
# Nobody's words stand in these, or they are emptied whoever is erased.
NOBODYS = frozenset({"first_answers", "sessions", "sign_in_attempts", "users", "api_keys", "moments"})
# The name of a photo's files goes to nobody.
KEPT_BACK = frozenset({("photos", "name"), ("mails", "message_id")})
MOST_NUMBERS = 20


class NamedIn(NamedTuple):
    """Where a person is named besides: the table in words, how many rows, and the rods they belong to.

    `stays` is whether the database refuses to change such rows.
    """

    where: str
    rows: int
    numbers: tuple[str, ...]
    stays: bool


def build_ids_of(session: Session, customer_id: int) -> list[int]:
    """The ids of all rods of a customer."""
    return list(session.scalars(select(Build.id).where(Build.customer_id == customer_id).order_by(Build.id)))


def everything_about(session: Session, customer_id: int) -> dict[str, list[Row]]:
    """Every record about a customer by the name of its kind, as plain values; instants are ISO 8601 text."""
    mine = build_ids_of(session, customer_id)
    found = {
        "customer": _rows(session, Customer, Customer.id == customer_id),
        "builds": _rows(session, Build, Build.customer_id == customer_id),
        "mails": _rows(session, Mail, or_(Mail.customer_id == customer_id, Mail.build_id.in_(mine))),
    }
    for kind in OF_BUILDS:
        table = _table_of(kind)
        found[table.name] = _rows(session, kind, table.c.build_id.in_(mine))
    quotes = [row["id"] for row in found["quotes"]]
    found["quote_answers"] = _rows(session, QuoteAnswer, QuoteAnswer.quote_id.in_(quotes))
    return found


def _table_of(kind: type[Base]) -> Table:
    return METADATA.tables[kind.__tablename__]


def _rows(session: Session, kind: type[Base], which: ColumnElement[bool]) -> list[Row]:
    table = _table_of(kind)
    columns = [column for column in columns_out(table) if (table.name, column.name) not in KEPT_BACK]
    found = session.execute(select(*columns).where(which).order_by(table.c.id))
    names = [column.name for column in columns]
    return [{name: _plain(value) for name, value in zip(names, row, strict=True)} for row in found]


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.isoformat().replace("+00:00", "Z")
    return value.isoformat() if isinstance(value, date) else value


def obstacles_to_erasing(session: Session, customer_id: int) -> tuple[str, ...]:
    """What is still open with a customer, in sentences: orders and enquiries, and money that is owed."""
    numbers = session.scalars(
        select(Build.number)
        .where(Build.customer_id == customer_id, Build.closed_at.is_(None))
        .order_by(Build.number)
    )
    still_open = [f"{number} is still open." for number in numbers]
    owing = [
        f"{line.build} still owes {say_money(line.owed.owed_cents)} {line.owed.currency}."
        for line in uneven_builds(session)
        if line.customer_id == customer_id and line.owed.owed_cents
    ]
    return (*still_open, *owing)


def records_of_builds(session: Session, kind: type[OfBuild], build_ids: Sequence[int]) -> list[OfBuild]:
    """The records of one kind of some builds, for a verb to change."""
    return list(session.scalars(select(kind).where(kind.build_id.in_(build_ids)).order_by(kind.id)))


def builds_of_person(session: Session, customer_id: int) -> list[Build]:
    """The records of all rods of a customer, for a verb to change; locked until the transaction ends."""
    wanted = select(Build).where(Build.customer_id == customer_id).order_by(Build.id)
    return list(session.scalars(wanted.with_for_update()))


def answers_of_quotes(session: Session, quote_ids: Sequence[int]) -> list[QuoteAnswer]:
    """The records of what was answered to some quotes, for a verb to change."""
    return list(session.scalars(select(QuoteAnswer).where(QuoteAnswer.quote_id.in_(quote_ids))))


def named_elsewhere(session: Session, customer_id: int, traces: Sequence[str]) -> list[NamedIn]:
    """Where else a person is named: rows that are never changed, and other people's records.

    Walks every table; the page that shows it is opened seldom.
    """
    if not traces:
        return []
    mine = build_ids_of(session, customer_id)
    found = []
    for table in METADATA.sorted_tables:
        which = None if table.name in NOBODYS else _named_in(table, customer_id, mine, traces)
        if which is None:
            continue
        rows = session.scalar(select(func.count()).select_from(table).where(which)) or 0
        if rows:
            numbers = _numbers(session, table, which)
            found.append(NamedIn(table.name.replace("_", " "), rows, numbers, table.name in APPENDED))
    return found


def _named_in(
    table: Table, customer_id: int, mine: Sequence[int], traces: Sequence[str]
) -> ColumnElement[bool] | None:
    """The rows of a table that name a person and are not emptied when the person is erased."""
    words = [column for column in table.columns if isinstance(column.type, String | Text | JSON)]
    if not words:
        return None
    # Letters beyond ASCII stand escaped in what is kept as JSON.
    spelt = {spelling for trace in traces for spelling in (trace, json.dumps(trace)[1:-1])}
    named = or_(
        *(cast(column, Text).icontains(trace, autoescape=True) for column in words for trace in sorted(spelt))
    )
    if table.name in APPENDED:
        return named
    if table.name in ("customers", "builds", "mails"):
        own = table.c.id if table.name == "customers" else table.c.customer_id
        return named & or_(own != customer_id, own.is_(None))
    if table.name == "quote_answers":
        return named & table.c.quote_id.not_in(select(Quote.id).where(Quote.build_id.in_(mine)))
    return named & table.c.build_id.not_in(mine) if "build_id" in table.c else named


def _numbers(session: Session, table: Table, which: ColumnElement[bool]) -> tuple[str, ...]:
    """The numbers of the first rods that rows of a table belong to, where they belong to any."""
    if "build_id" not in table.c:
        return ()
    builds = select(table.c.build_id).where(which)
    wanted = select(Build.number).where(Build.id.in_(builds)).order_by(Build.number).limit(MOST_NUMBERS)
    return tuple(session.scalars(wanted))
