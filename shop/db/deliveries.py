"""Deliveries: what came from suppliers, and by when it must be looked at."""

from datetime import date, datetime

from sqlalchemy import ForeignKey, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class Delivery(Base):
    """What came from a supplier on one day, and by when it must be looked at or sent back."""

    __tablename__ = "deliveries"

    id: Mapped[int] = mapped_column(primary_key=True)
    supplier_id: Mapped[int | None] = mapped_column(ForeignKey("suppliers.id"), index=True)
    reference: Mapped[str] = mapped_column(String(60), default="")
    received_on: Mapped[date]
    inspect_by: Mapped[date | None]
    return_by: Mapped[date | None]
    inspected_at: Mapped[datetime | None]
    inspected_by: Mapped[str] = mapped_column(String(80), default="")
    note: Mapped[str] = mapped_column(Text, default="")
    entered_at: Mapped[datetime]
    by: Mapped[str] = mapped_column(String(80))
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}
