"""Taking in files of customers, blanks, components and stock: looked through first, then all or nothing.

Both walk the file line by line with the same checks, so the look says what the taking would. An import only
adds: what is on file already is a fault of its line. Lines are written in batches inside the caller's one
transaction, and nothing of a file with a fault is kept.
"""

from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import insert
from sqlalchemy.orm import Session

from shop.db.blanks import Blank, Station
from shop.db.components import Component
from shop.db.customers import Customer
from shop.db.stocks import Stock, StockMove
from shop.queries.imports import hold_still, items_to_count, known_records, suppliers_by_key
from shop.queries.shop import read_shop
from shop.rules.imports import (
    MOST_LINES,
    Head,
    HeadFault,
    ImportKind,
    LineFault,
    keys_of,
    read_head,
    read_line,
)
from shop.rules.refusals import Refusal
from shop.rules.stock import MoveKind, usual_unit
from shop.services.bench import Signer
from shop.services.blanks import joints_to_keep

MOST_FAULTS = 100
BATCH = 500
Rows = Iterable[tuple[int, list[str]]]
Values = dict[str, Any]


class FileRefused(Refusal):
    """A file cannot be taken in; `found` has its faults."""

    def __init__(self, found: "Found") -> None:
        super().__init__(f"{found.faulty} lines are not in order.")
        self.found = found


@dataclass
class Found:
    """What a file holds: how many lines, the first faults of them, and how many faults there are in all."""

    lines: int = 0
    faulty: int = 0
    faults: list[LineFault] = field(default_factory=list)

    @property
    def unsaid(self) -> int:
        """How many faults are not in `faults`."""
        return self.faulty - len(self.faults)

    def add(self, faults: Iterable[LineFault]) -> None:
        """Note faults: the first ones by their words, all by their number."""
        for fault in faults:
            self.faulty += 1
            if len(self.faults) < MOST_FAULTS:
                self.faults.append(fault)


def look_through(session: Session, kind: ImportKind, rows: Rows, told: Callable[[], object] = int) -> Found:
    """What a file would do, and what is wrong with it; changes nothing. `told` is called now and then.

    What comes out of `rows` besides rows is not caught here: a file that cannot be taken apart.
    """
    found = Found()
    for _ in _batches(session, kind, rows, found, told):
        pass
    return found


def take_in(
    session: Session, signer: Signer, kind: ImportKind, rows: Rows, told: Callable[[], object] = int
) -> Found:
    """Put every line of a file on record. Raises `FileRefused` at the first fault, to be rolled back."""
    hold_still(session, kind)
    found, currency = Found(), read_shop(session).currency
    for batch in _batches(session, kind, rows, found, told):
        if found.faulty:
            raise FileRefused(found)
        _WRITE[kind](session, signer, batch, currency)
    if found.faulty:
        raise FileRefused(found)
    return found


def _batches(
    session: Session, kind: ImportKind, rows: Rows, found: Found, told: Callable[[], object]
) -> Iterator[list[Values]]:
    """The values of the lines that are in order, some at a time; faults go into `found`."""
    walk = iter(rows)
    head = _head(kind, walk, found)
    if head is None:
        return
    known = _Known(session, kind)
    batch: list[Values] = []
    for line, cells in walk:
        found.lines += 1
        if found.lines > MOST_LINES:
            found.add([LineFault(line, "", f"A file has at most {MOST_LINES:,} lines; split it.")])
            return
        values, faults = read_line(head, line, cells)
        found.add(faults or known.faults_of(head, line, values))
        if not faults:
            batch.append(values)
        if len(batch) == BATCH:
            told()
            yield batch
            batch = []
    if not found.lines:
        found.add([LineFault(1, "", "There is no line below the names of the columns.")])
    if batch:
        yield batch


def _head(kind: ImportKind, walk: Iterator[tuple[int, list[str]]], found: Found) -> Head | None:
    line = 1
    with suppress(StopIteration):
        line, cells = next(walk)
        try:
            return read_head(kind, cells)
        except HeadFault as fault:
            found.add([LineFault(line, fault.column, str(fault))])
            return None
    found.add([LineFault(line, "", "The file is empty.")])
    return None


class _Known:
    """What is on file and what earlier lines had, so that nothing is taken in twice."""

    def __init__(self, session: Session, kind: ImportKind) -> None:
        self._kind = kind
        self._named: dict[tuple[str, str], list[int]] = {}
        self._kinds: dict[tuple[str, int], str] = {}
        self._suppliers = suppliers_by_key(session) if kind is ImportKind.STOCK else {}
        for item in items_to_count(session) if kind is ImportKind.STOCK else ():
            self._named.setdefault((item.what, item.name.casefold()), []).append(item.id)
            self._kinds[item.what, item.id] = item.kind
        # A line's number by what it is known by; 0 for what is on file.
        self._lines = {key: 0 for values in known_records(session, kind) for key in keys_of(kind, values)}

    def faults_of(self, head: Head, line: int, values: Values) -> list[LineFault]:
        """What keeps a line from being put on file beside all the others; completes its values."""
        if self._kind is ImportKind.STOCK and (wrong := self._name_item(values)):
            return [LineFault(line, head.heading_of(field), says) for field, says in wrong.items()]
        faults = []
        keys = keys_of(self._kind, values)
        # Of a customer with an address, the name is not what tells; of an item, the code is.
        for key in keys if self._kind is ImportKind.STOCK else keys[:1]:
            first = self._lines.get(key)
            if first is not None:
                where = f"line {first} has it already" if first else "it is on file already"
                said = values.get(key.field, "")
                faults.append(
                    LineFault(line, head.heading_of(key.field), f"“{said}” would be there twice: {where}.")
                )
        for key in keys:
            self._lines.setdefault(key, line)
        return faults

    def _name_item(self, values: Values) -> dict[str, str]:
        """Find the item of a line and its supplier by their names; gives what cannot be found, by field."""
        what, name = values["what"], values["item"]
        number = name.removeprefix("#")
        if name.startswith("#") and number.isascii() and number.isdigit():
            ids = [int(number)] if (what, int(number)) in self._kinds else []
        else:
            ids = self._named.get((what, name.casefold()), [])
        wrong = {}
        if not ids:
            wrong["item"] = f"There is no {what} “{name}” on file; put it there first."
        elif len(ids) > 1:
            numbers = ", ".join(f"#{item_id}" for item_id in ids[:10])
            wrong["item"] = f"{len(ids)} are called “{name}”; say which: {numbers}."
        else:
            values["item_id"] = ids[0]
            values.setdefault("code", f"{what[0].upper()}{ids[0]}")
            values.setdefault("unit", usual_unit(self._kinds[what, ids[0]]))
        supplier = values.pop("supplier", "")
        values["supplier_id"] = self._suppliers.get(supplier.casefold()) if supplier else None
        if supplier and values["supplier_id"] is None:
            wrong["supplier"] = f"There is no supplier “{supplier}” on file; put it there first."
        return wrong


def _write_customers(session: Session, signer: Signer, batch: list[Values], _currency: str) -> None:
    made = {"created_at": signer.now, "email": "", "phone": "", "notes": ""}
    session.execute(insert(Customer), [made | values for values in batch])


def _write_blanks(session: Session, signer: Signer, batch: list[Values], _currency: str) -> None:
    made = {
        "created_at": signer.now, "maker": "", "notes": "", "mass_mg": None,
        "wall_butt_nm": None, "wall_tip_nm": None, "test_load_mg": None, "test_sag_nm": None,
        "most_load_mg": None,
    }  # fmt: skip
    rows = [
        made
        | {name: value for name, value in values.items() if name != "stations"}
        | {"joints": joints_to_keep(values.get("joints", ()))}
        for values in batch
    ]
    ids = session.scalars(insert(Blank).returning(Blank.id, sort_by_parameter_order=True), rows).all()
    stations = [
        {"blank_id": blank_id, "from_butt_nm": at, "od_nm": od}
        for blank_id, values in zip(ids, batch, strict=True)
        for at, od in values["stations"]
    ]
    if stations:
        session.execute(insert(Station), stations)


def _write_components(session: Session, signer: Signer, batch: list[Values], currency: str) -> None:
    made = {
        "created_at": signer.now, "currency": currency, "mass_mg": None, "material": "", "feet": None,
        "price_cents": None, "cost_cents": None, "notes": "",
    }  # fmt: skip
    session.execute(insert(Component), [made | values for values in batch])


def _write_stock(session: Session, signer: Signer, batch: list[Values], _currency: str) -> None:
    made = {
        "created_at": signer.now, "bin": "", "least": 0, "lead_days": None, "supplier_code": "",
        "blank_id": None, "component_id": None, "adhesive_id": None,
    }  # fmt: skip
    rows = []
    for values in batch:
        what, item_id = values.pop("what"), values.pop("item_id")
        del values["item"]
        rows.append(made | values | {f"{what}_id": item_id})
    ids = session.scalars(insert(Stock).returning(Stock.id, sort_by_parameter_order=True), rows).all()
    moves = [
        {
            "stock_id": stock_id, "kind": MoveKind.COUNTED, "count": row["on_shelf"], "at": signer.now,
            "entered_at": signer.now, "by": signer.name(""), "note": "Counting begins.",
        }
        for stock_id, row in zip(ids, rows, strict=True)
    ]  # fmt: skip
    session.execute(insert(StockMove), moves)


_WRITE = {
    ImportKind.CUSTOMERS: _write_customers,
    ImportKind.BLANKS: _write_blanks,
    ImportKind.COMPONENTS: _write_components,
    ImportKind.STOCK: _write_stock,
}
