"""Lots: bottles and kits of adhesives, with their dates, and what happened to each of them."""

from datetime import date, datetime

from sqlalchemy import ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class Lot(Base):
    """One bottle of part A or B, or one kit of both, with the maker's lot number.

    `opened_life_days` is how long it may be used once opened, where the bottle says otherwise than its
    adhesive. `amount_ml` is what it held when it came, null where nobody said. A quarantined lot has a
    reason; one that is used up has `emptied_on`.
    """

    __tablename__ = "lots"

    id: Mapped[int] = mapped_column(primary_key=True)
    adhesive_id: Mapped[int] = mapped_column(ForeignKey("adhesives.id"), index=True)
    part: Mapped[str] = mapped_column(String(3))
    number: Mapped[str] = mapped_column(String(60))
    received_on: Mapped[date]
    opened_on: Mapped[date | None]
    use_by: Mapped[date | None]
    opened_life_days: Mapped[int | None]
    position: Mapped[str] = mapped_column(String(60), default="")
    amount_ml: Mapped[float | None]
    emptied_on: Mapped[date | None]
    quarantined_reason: Mapped[str] = mapped_column(String(500), default="")
    created_at: Mapped[datetime]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}


class LotEvent(Base):
    """One thing that happened to a lot: received, opened, quarantined, released, used up."""

    __tablename__ = "lot_events"

    id: Mapped[int] = mapped_column(primary_key=True)
    lot_id: Mapped[int] = mapped_column(ForeignKey("lots.id"), index=True)
    kind: Mapped[str] = mapped_column(String(20))
    at: Mapped[datetime]
    entered_at: Mapped[datetime]
    by: Mapped[str] = mapped_column(String(80))
    note: Mapped[str] = mapped_column(String(500), default="")
