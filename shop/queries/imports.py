"""What is on file already of what a file lists: by what it is known, and what can be counted."""

from collections.abc import Iterator
from typing import Any, NamedTuple

from sqlalchemy import func, literal, select, text, union_all
from sqlalchemy.orm import Session

from shop.db.adhesives import Adhesive
from shop.db.blanks import Blank
from shop.db.components import Component
from shop.db.customers import Customer
from shop.db.stocks import Stock
from shop.db.suppliers import Supplier
from shop.rules.imports import ImportKind

AT_ONCE = 1000
_KNOWN = {
    ImportKind.CUSTOMERS: select(Customer.name, Customer.email).where(Customer.erased_at.is_(None)),
    ImportKind.BLANKS: select(Blank.maker, Blank.model, Blank.length_nm),
    ImportKind.COMPONENTS: select(Component.kind, Component.name),
    ImportKind.STOCK: select(
        func.coalesce(Stock.blank_id, Stock.component_id, Stock.adhesive_id).label("item_id"), Stock.code,
        Stock.blank_id, Stock.component_id,
    ),
}  # fmt: skip
_TABLES = {
    ImportKind.CUSTOMERS: Customer.__tablename__,
    ImportKind.BLANKS: Blank.__tablename__,
    ImportKind.COMPONENTS: Component.__tablename__,
    ImportKind.STOCK: Stock.__tablename__,
}
_ITEMS = union_all(
    select(literal("blank"), literal("blank"), func.trim(Blank.maker + " " + Blank.model), Blank.id),
    select(literal("component"), Component.kind, Component.name, Component.id),
    select(literal("adhesive"), literal("adhesive"), Adhesive.name, Adhesive.id),
)
_SUPPLIERS = select(Supplier.name, Supplier.id).order_by(Supplier.id)


def hold_still(session: Session, kind: ImportKind) -> None:
    """Have nobody else add a record of a kind until this transaction ends, so that none comes in twice.

    (On SQLite a writing session is alone anyway.) Others still read, and change what only refers to these.
    """
    if session.get_bind().dialect.name == "postgresql":
        session.execute(text(f"LOCK TABLE {_TABLES[kind]} IN SHARE ROW EXCLUSIVE MODE"))


def known_records(session: Session, kind: ImportKind) -> Iterator[dict[str, Any]]:
    """What tells every record of a kind from others, as a line of a file would say it."""
    rows = session.execute(_KNOWN[kind].execution_options(yield_per=AT_ONCE)).mappings()
    for row in rows:
        values = dict(row)
        if kind is ImportKind.STOCK:
            blank_id, component_id = values.pop("blank_id"), values.pop("component_id")
            values["what"] = "blank" if blank_id else "component" if component_id else "adhesive"
        yield values


class Item(NamedTuple):
    """Something that can be counted: a `blank`, a `component` or an `adhesive`, and of which kind it is."""

    what: str
    kind: str
    name: str
    id: int


def items_to_count(session: Session) -> Iterator[Item]:
    """Everything that can be counted."""
    for row in session.execute(_ITEMS.execution_options(yield_per=AT_ONCE)):
        yield Item(*row)


def suppliers_by_key(session: Session) -> dict[str, int]:
    """The ids of the suppliers by their name in small letters; of two of one name, the later."""
    return {name.casefold(): supplier_id for name, supplier_id in session.execute(_SUPPLIERS)}
