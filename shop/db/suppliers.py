"""Suppliers, from whom the shop buys blanks, parts and adhesives."""

from datetime import datetime

from sqlalchemy import String, Text
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class Supplier(Base):
    """One supplier. `lead_days` is how long what is ordered there usually takes."""

    __tablename__ = "suppliers"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(120), index=True)
    email: Mapped[str] = mapped_column(String(254), default="")
    phone: Mapped[str] = mapped_column(String(40), default="")
    lead_days: Mapped[int | None]
    notes: Mapped[str] = mapped_column(Text, default="")
    created_at: Mapped[datetime]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}
