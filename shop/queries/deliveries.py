"""Deliveries: what came, the lines of one, and what of it went back; one record for a verb."""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, func, or_, select
from sqlalchemy.orm import Session

from shop.db.adhesives import Adhesive
from shop.db.blanks import Blank
from shop.db.components import Component
from shop.db.deliveries import Delivery
from shop.db.lots import Lot
from shop.db.stocks import Stock, StockMove
from shop.db.suppliers import Supplier
from shop.rules.refusals import NotOnFile
from shop.rules.stock import MoveKind


class DeliveryView(NamedTuple):
    """What came from a supplier on one day; `inspected_at` is none until somebody has looked at it."""

    id: int
    supplier_id: int | None
    supplier: str
    reference: str
    received_on: date
    inspect_by: date | None
    return_by: date | None
    inspected_at: datetime | None
    inspected_by: str
    note: str
    entered_at: datetime
    by: str
    version: int


class DeliveryLine(NamedTuple):
    """One item of a delivery: how many came, how many went back, and what one cost when it came."""

    stock_id: int
    name: str
    unit: str
    is_adhesive: bool
    received: int
    returned: int
    unit_cost_cents: int | None
    currency: str


_VIEW: Select[*tuple[Any, ...]] = select(
    Delivery.id, Delivery.supplier_id, func.coalesce(Supplier.name, ""), Delivery.reference,
    Delivery.received_on, Delivery.inspect_by, Delivery.return_by, Delivery.inspected_at,
    Delivery.inspected_by, Delivery.note, Delivery.entered_at, Delivery.by, Delivery.version,
).join(Supplier, Supplier.id == Delivery.supplier_id, isouter=True)  # fmt: skip
_ONE = _VIEW.where(Delivery.id == bindparam("id"))
_PAGE = _VIEW.where(Delivery.id > bindparam("after")).order_by(Delivery.id).limit(bindparam("most"))
_WAITING = _VIEW.where(
    or_(Delivery.inspected_at.is_(None), Delivery.return_by >= bindparam("today"))
).order_by(
    Delivery.inspected_at.is_not(None),
    func.coalesce(Delivery.inspect_by, Delivery.return_by, date(9999, 12, 31)),
    Delivery.id,
)
_LATEST = _VIEW.order_by(Delivery.id.desc()).limit(bindparam("most"))
_NEWEST = select(func.coalesce(func.max(Delivery.id), 0))
_LINES: Select[*tuple[Any, ...]] = (
    select(
        StockMove.delivery_id, StockMove.stock_id,
        func.coalesce(Component.name, Adhesive.name, func.trim(Blank.maker + " " + Blank.model)), Stock.unit,
        Stock.adhesive_id.is_not(None), StockMove.kind, StockMove.count, StockMove.unit_cost_cents,
        StockMove.currency,
    )
    .select_from(StockMove)
    .join(Stock, Stock.id == StockMove.stock_id)
    .join(Component, Component.id == Stock.component_id, isouter=True)
    .join(Blank, Blank.id == Stock.blank_id, isouter=True)
    .join(Adhesive, Adhesive.id == Stock.adhesive_id, isouter=True)
    .where(StockMove.delivery_id.in_(bindparam("ids", expanding=True)))
    .order_by(StockMove.id)
)  # fmt: skip
_UNOPENED = select(Lot).where(
    Lot.adhesive_id == bindparam("adhesive_id"), Lot.received_on == bindparam("received_on"),
    Lot.opened_on.is_(None), Lot.emptied_on.is_(None),
).order_by(Lot.id.desc())  # fmt: skip


def delivery_view(session: Session, delivery_id: int) -> DeliveryView:
    """One delivery. Raises `NotOnFile`."""
    row = session.execute(_ONE, {"id": delivery_id}).first()
    if row is None:
        raise NotOnFile(f"There is no delivery {delivery_id} on file.")
    return DeliveryView(*row)


def newest_delivery_id(session: Session) -> int:
    """The id of the delivery that was taken in last, 0 before the first."""
    return session.execute(_NEWEST).scalar_one()


def deliveries_after(session: Session, after: int, most: int) -> list[DeliveryView]:
    """At most `most` deliveries whose id is above `after`, by id."""
    return [DeliveryView(*row) for row in session.execute(_PAGE, {"after": after, "most": most})]


def waiting_deliveries(session: Session, today: date) -> list[DeliveryView]:
    """Deliveries that nobody has looked at, the soonest due first; then those that may still go back."""
    return [DeliveryView(*row) for row in session.execute(_WAITING, {"today": today})]


def latest_deliveries(session: Session, most: int) -> list[DeliveryView]:
    """The latest deliveries, newest first."""
    return [DeliveryView(*row) for row in session.execute(_LATEST, {"most": most})]


def lines_of_deliveries(session: Session, ids: Iterable[int]) -> dict[int, list[DeliveryLine]]:
    """What came with each of some deliveries, by its id and in the order it was entered, in one statement."""
    found: dict[int, dict[int, DeliveryLine]] = {}
    rows = session.execute(_LINES, {"ids": list(ids)})
    for delivery_id, stock_id, name, unit, is_adhesive, kind, count, cents, currency in rows:
        lines = found.setdefault(delivery_id, {})
        line = lines.get(stock_id, DeliveryLine(stock_id, name, unit, is_adhesive, 0, 0, cents, currency))
        came = kind == MoveKind.RECEIVED
        lines[stock_id] = line._replace(
            received=line.received + (count if came else 0),
            returned=line.returned - (0 if came else count),
        )
    return {delivery_id: list(lines.values()) for delivery_id, lines in found.items()}


def delivery_record(session: Session, delivery_id: int) -> Delivery:
    """The record of one delivery, locked, for a verb. Raises `NotOnFile`."""
    delivery = session.get(Delivery, delivery_id, with_for_update=True)
    if delivery is None:
        raise NotOnFile(f"There is no delivery {delivery_id} on file.")
    return delivery


def unopened_lots(session: Session, adhesive_id: int, received_on: date) -> list[Lot]:
    """The bottles of an adhesive that came on a day and are neither open nor used up, newest first."""
    values = {"adhesive_id": adhesive_id, "received_on": received_on}
    return list(session.scalars(_UNOPENED, values))
