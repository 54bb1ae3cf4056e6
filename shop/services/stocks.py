"""Stock: beginning to count an item, keeping what is said of it right, and stock-takes."""

from dataclasses import asdict
from typing import Any

from sqlalchemy.orm import Session

from shop.db.stocks import Stock
from shop.queries.adhesives import adhesive_view
from shop.queries.blanks import blank_view
from shop.queries.components import component_view
from shop.queries.stocks import stock_id_of, stock_of_code, stock_record, stock_view
from shop.queries.suppliers import supplier_view
from shop.rules.build_parts import BLANK
from shop.rules.refusals import BadInput, Overtaken
from shop.rules.stock import (
    MOST_REASON,
    MoveKind,
    StockEntry,
    fault_of_count,
    faults_of_entry,
    usual_unit,
)
from shop.services.bench import Bench
from shop.services.stock_moves import move_stock

ADHESIVE, COMPONENT = "adhesive", "component"
FIELDS = ("code", "unit", "bin", "least", "lead_days", "supplier_code")


def start_counting(
    session: Session,
    bench: Bench,
    *,
    what: str,
    item_id: int,
    on_shelf: int = 0,
    supplier_id: int | None = None,
    code: str = "",
    unit: str = "",
    **said: Any,
) -> Stock:
    """Begin to count a `blank`, `component` or `adhesive` of which `on_shelf` lie there now.

    `said` are fields of a `StockEntry`; without a code it gets one of its own (`B4`, `C12`, `A1`), without a
    unit the usual one of its kind. Raises `BadInput`, `NotOnFile`, or `Overtaken` where it is counted.
    """
    name, kind = item_of(session, what, item_id)
    if stock_id_of(session, what, item_id) is not None:
        raise Overtaken(f"{name} is counted already.")
    entry = StockEntry(
        **said, code=code.strip() or f"{what[0].upper()}{item_id}", unit=unit.strip() or usual_unit(kind)
    )
    _check(session, entry, supplier_id, None, {"on_shelf": fault_of_count(on_shelf, least=0)})
    stock = Stock(
        **{f"{what}_id": item_id}, supplier_id=supplier_id, created_at=bench.now, **asdict(entry),
        on_shelf=0, set_aside=0,
    )  # fmt: skip
    session.add(stock)
    session.flush()
    move_stock(session, bench, stock, MoveKind.COUNTED, on_shelf, name=name, note="Counting begins.")
    return stock


def item_of(session: Session, what: str, item_id: int) -> tuple[str, str]:
    """The name and the kind of what may be counted. Raises `NotOnFile`, `BadInput`."""
    if what == BLANK:
        blank = blank_view(session, item_id)
        return f"{blank.maker} {blank.model}".strip(), BLANK
    if what == COMPONENT:
        component = component_view(session, item_id)
        return component.name, component.kind
    if what == ADHESIVE:
        return adhesive_view(session, item_id).name, ADHESIVE
    raise BadInput({"what": "Only blanks, components and adhesives are counted."})


def change_stock(session: Session, stock_id: int, *, version: int | None = None, **changes: Any) -> Stock:
    """Change what is said of a counted item: `supplier_id` and the fields of a `StockEntry`; never its count.

    Raises `NotOnFile`, `BadInput`, and, with `version` given, `Overtaken` where it was changed since.
    """
    stock = stock_record(session, stock_id)
    if version is not None and stock.version != version:
        raise Overtaken("Somebody else changed this meanwhile; look at what is on file now.")
    entry = StockEntry(**{name: changes.get(name, getattr(stock, name)) for name in FIELDS})
    supplier_id: int | None = changes.get("supplier_id", stock.supplier_id)
    _check(session, entry, supplier_id, stock_id)
    for name, value in {**asdict(entry), "code": entry.code.strip()}.items():
        setattr(stock, name, value)
    stock.supplier_id = supplier_id
    session.flush()
    return stock


def _check(
    session: Session,
    entry: StockEntry,
    supplier_id: int | None,
    stock_id: int | None,
    more: dict[str, str] | None = None,
) -> None:
    errors = faults_of_entry(entry) | {name: fault for name, fault in (more or {}).items() if fault}
    taken = stock_of_code(session, entry.code.strip())
    if taken is not None and taken.id != stock_id:
        errors["code"] = f"{taken.name} has that code already; each item needs one of its own."
    if errors:
        raise BadInput(errors)
    if supplier_id is not None:
        supplier_view(session, supplier_id)


def count_stock(session: Session, bench: Bench, stock_id: int, *, counted: int, reason: str = "") -> int:
    """Write a stock-take down: `counted` lie on the shelf, those set aside included. Gives the difference.

    A count that was right is kept too, since somebody looked. Raises `NotOnFile`, `BadInput` where a
    difference has no reason, `Overtaken` where fewer are there than are set aside.
    """
    errors = {"counted": fault_of_count(counted, least=0)}
    stock = stock_record(session, stock_id)
    difference = counted - stock.on_shelf
    if difference and not reason.strip():
        errors["reason"] = f"The count was {stock.on_shelf}: say why it differs, as far as anybody knows."
    elif len(reason) > MOST_REASON:
        errors["reason"] = f"The reason has at most {MOST_REASON} characters."
    errors = {name: fault for name, fault in errors.items() if fault}
    if errors:
        raise BadInput(errors)
    name = stock_view(session, stock_id).name
    move_stock(
        session, bench, stock, MoveKind.COUNTED, difference, name=name, note=reason.strip() or "As counted."
    )
    return difference
