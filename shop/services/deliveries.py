"""Deliveries: taking in what came, looking at it in time, and sending back what is not right."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from shop.db.deliveries import Delivery
from shop.db.stocks import Stock
from shop.queries.deliveries import (
    delivery_record,
    lines_of_deliveries,
    newest_delivery_id,
    unopened_lots,
)
from shop.queries.shop import shop_day
from shop.queries.stocks import StockView, UnitCost, stock_records, stock_view
from shop.queries.suppliers import supplier_view
from shop.rules.deliveries import (
    MOST_LINES,
    MOST_NOTE,
    MOST_REFERENCE,
    DeliveryDays,
    faults_of_days,
)
from shop.rules.refusals import BadInput, NotOnFile, Overtaken
from shop.rules.stock import MOST_REASON, MoveKind, fault_of_count, fault_of_unit_cost
from shop.services.bench import Bench
from shop.services.lot_events import note_lot
from shop.services.lots import lot_of_delivery
from shop.services.stock_moves import move_stock

# Every bottle becomes a lot of its own.
MOST_BOTTLES = 50
ANOTHER_CAME = (
    "A delivery was taken in since this form was opened. If it was this one, it lies on the shelf already; "
    "if not, take this one in now."
)


@dataclass(frozen=True)
class LineSaid:
    """One line of a delivery as it is said: how many of a counted item came, and what one cost.

    The rest is for adhesives, of which each bottle or kit becomes a lot: the maker's lot number, which part
    it is, its use-by date.
    """

    stock_id: int
    count: int
    unit_cost_cents: int | None = None
    lot_number: str = ""
    part: str = "kit"
    use_by: date | None = None


@dataclass(frozen=True)
class DeliverySaid:
    """A whole delivery as it is said."""

    days: DeliveryDays
    lines: Sequence[LineSaid]
    supplier_id: int | None = None
    reference: str = ""
    note: str = ""


def receive_delivery(
    session: Session, bench: Bench, said: DeliverySaid, *, newest: int | None = None
) -> Delivery:
    """Take a delivery in: its lines lie on the shelf from now on, and adhesives have their lots.

    `newest` is the id of the last delivery when the form was shown (0 before the first; none: whichever it
    is). Raises `BadInput` with every fault by field, a line's as `lines.2.count`, counted from 1; `NotOnFile`
    for the supplier; `Overtaken` where another has come since: a second press is not a second delivery.
    """
    stocks = stock_records(session, [line.stock_id for line in said.lines])
    # Only now, since of two presses at once the second waits for the first one's stock.
    if newest is not None and newest != newest_delivery_id(session):
        raise Overtaken(ANOTHER_CAME)
    items = {stock_id: stock_view(session, stock_id) for stock_id in stocks}
    errors = _faults(said, items, shop_day(session, bench.now))
    if errors:
        raise BadInput(errors)
    if said.supplier_id is not None:
        supplier_view(session, said.supplier_id)
    delivery = Delivery(
        supplier_id=said.supplier_id, reference=said.reference.strip(), received_on=said.days.received_on,
        inspect_by=said.days.inspect_by, return_by=said.days.return_by, note=said.note.strip(),
        entered_at=bench.now, by=bench.name(""),
    )  # fmt: skip
    session.add(delivery)
    session.flush()
    for number, line in enumerate(said.lines, 1):
        _take_in(session, bench, delivery, line, number, stocks[line.stock_id], items[line.stock_id])
    return delivery


def _faults(said: DeliverySaid, items: dict[int, StockView], today: date) -> dict[str, str]:
    errors = faults_of_days(said.days, today)
    if len(said.reference) > MOST_REFERENCE:
        errors["reference"] = f"The reference has at most {MOST_REFERENCE} characters."
    if len(said.note) > MOST_NOTE:
        errors["note"] = f"The note has at most {MOST_NOTE} characters."
    if not 1 <= len(said.lines) <= MOST_LINES:
        errors["lines"] = f"Say what came, in 1 to {MOST_LINES} lines."
    for number, line in enumerate(said.lines, 1):
        for name, fault in _faults_of_line(line, items.get(line.stock_id)).items():
            errors[f"lines.{number}.{name}"] = fault
    return errors


def _faults_of_line(line: LineSaid, item: StockView | None) -> dict[str, str]:
    if item is None:
        return {"stock_id": "That is not counted yet; begin to count it first."}
    faults = {
        "count": fault_of_count(line.count),
        "unit_cost_cents": fault_of_unit_cost(line.unit_cost_cents),
    }
    if item.adhesive_id is not None:
        if not line.lot_number.strip():
            faults["lot_number"] = f"{item.name} needs the maker's lot number: it says which rods had it."
        if line.count > MOST_BOTTLES:
            faults["count"] = f"At most {MOST_BOTTLES} bottles or kits at once; each becomes a lot."
    elif line.lot_number.strip() or line.use_by is not None:
        faults["lot_number"] = f"Only adhesives have lots; {item.name} is none."
    return {name: fault for name, fault in faults.items() if fault}


def _take_in(
    session: Session,
    bench: Bench,
    delivery: Delivery,
    line: LineSaid,
    number: int,
    stock: Stock,
    item: StockView,
) -> None:
    if item.adhesive_id is not None:
        try:
            for _bottle in range(line.count):
                lot_of_delivery(
                    session, bench, adhesive_id=item.adhesive_id, part=line.part, number=line.lot_number,
                    received_on=delivery.received_on, use_by=line.use_by, position=item.bin,
                )  # fmt: skip
        except BadInput as bad:
            fields = {"number": "lot_number", "part": "part", "use_by": "use_by"}
            raise BadInput(
                {f"lines.{number}.{fields.get(name, name)}": text for name, text in bad.errors.items()}
            ) from bad
    move_stock(
        session, bench, stock, MoveKind.RECEIVED, line.count, name=item.name,
        cost=UnitCost(line.unit_cost_cents, item.currency), delivery_id=delivery.id,
        note=f"Lot {line.lot_number.strip()}." if item.adhesive_id is not None else "",
    )  # fmt: skip


def inspect_delivery(session: Session, bench: Bench, delivery_id: int, *, note: str = "") -> Delivery:
    """Write down that somebody has looked at all that came; what is not right is sent back by itself.

    Raises `NotOnFile`, `BadInput`, or `Overtaken` where somebody has already.
    """
    delivery = delivery_record(session, delivery_id)
    if delivery.inspected_at is not None:
        raise Overtaken(f"{delivery.inspected_by} has looked at this delivery already.")
    note = "\n".join(part for part in (delivery.note, note.strip()) if part)
    if len(note) > MOST_NOTE:
        raise BadInput({"note": f"With what was noted before, the note has at most {MOST_NOTE} characters."})
    delivery.inspected_at, delivery.inspected_by, delivery.note = bench.now, bench.name(""), note
    session.flush()
    return delivery


def return_to_supplier(
    session: Session, bench: Bench, delivery_id: int, *, stock_id: int, count: int, reason: str,
    returned: int | None = None,
) -> None:  # fmt: skip
    """Send some of what came with a delivery back; bottles that go back are used up as lots.

    `returned` is how much of the whole delivery had gone back when the form was shown, none for whatever it
    is. Raises `NotOnFile`, `BadInput`, or `Overtaken` where not so many came, are still there, or are free,
    and where more has gone back since: a second press sends nothing more.
    """
    delivery = delivery_record(session, delivery_id)
    errors = {"count": fault_of_count(count)}
    if not 1 <= len(reason.strip()) <= MOST_REASON:
        errors["reason"] = f"Say in at most {MOST_REASON} characters what is wrong with it."
    errors = {name: fault for name, fault in errors.items() if fault}
    if errors:
        raise BadInput(errors)
    stocks = stock_records(session, [stock_id])
    lines = lines_of_deliveries(session, [delivery_id]).get(delivery_id, [])
    if returned is not None and returned != sum(line.returned for line in lines):
        raise Overtaken("Some of it was sent back since this page was shown; look at what is left.")
    line = next((line for line in lines if line.stock_id == stock_id), None)
    if line is None:
        raise NotOnFile("That did not come with this delivery.")
    left = line.received - line.returned
    if count > left:
        raise Overtaken(f"Of the {line.received} × {line.name} that came, only {left} are not back yet.")
    adhesive_id = stocks[stock_id].adhesive_id
    if adhesive_id is not None:
        _send_bottles_back(session, bench, delivery, adhesive_id, count)
    move_stock(
        session, bench, stocks[stock_id], MoveKind.RETURNED, count, name=line.name, delivery_id=delivery.id,
        cost=UnitCost(line.unit_cost_cents, line.currency), note=reason.strip(),
    )  # fmt: skip


def _send_bottles_back(
    session: Session, bench: Bench, delivery: Delivery, adhesive_id: int, count: int
) -> None:
    shut = unopened_lots(session, adhesive_id, delivery.received_on)
    if len(shut) < count:
        raise Overtaken(f"Of the bottles of that day {len(shut)} are still shut; one that was opened stays.")
    for lot in shut[:count]:
        lot.emptied_on = shop_day(session, bench.now)
        note_lot(session, bench, lot, "sent back", "Sent back to the supplier.")
