"""What happened to a lot, written down in its history; here also the opening that a mix from it implies.

Opening, emptying and the rest, as somebody says them, are in `shop.services.lots`.
"""

from datetime import date

from sqlalchemy.orm import Session

from shop.db.lots import Lot, LotEvent
from shop.queries.lots import lot_record
from shop.services.bench import Bench


def note_lot(session: Session, bench: Bench, lot: Lot, kind: str, note: str) -> None:
    """Add a line to a lot's history."""
    session.add(
        LotEvent(lot_id=lot.id, kind=kind, at=bench.now, entered_at=bench.now, by=bench.name(""), note=note)
    )
    session.flush()


def open_by_use(session: Session, bench: Bench, lot_id: int, *, on: date) -> Lot:
    """A lot that was mixed from on a day was open by then, whether or not anybody wrote it down.

    Leaves one that was opened earlier as it is; the earlier day is the careful one. Raises `NotOnFile`.
    """
    lot = lot_record(session, lot_id)
    if lot.opened_on is None or lot.opened_on > on:
        lot.opened_on = max(on, lot.received_on)
        note_lot(session, bench, lot, "opened", f"Mixed from on {on}, so opened by then.")
    return lot
