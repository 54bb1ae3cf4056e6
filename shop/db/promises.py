"""Promises: every day that was promised for a build, with the reason for each change."""

from datetime import date, datetime

from sqlalchemy import ForeignKey, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class Promise(Base):
    """One promise or change of it, written down and never changed: the database refuses it.

    `promised_on` is null where the promise was taken back, `was_on` null at the first. `reason` is what the
    customer is told.
    """

    __tablename__ = "promises"

    id: Mapped[int] = mapped_column(primary_key=True)
    build_id: Mapped[int] = mapped_column(ForeignKey("builds.id"), index=True)
    promised_on: Mapped[date | None]
    was_on: Mapped[date | None]
    reason: Mapped[str] = mapped_column(Text, default="")
    at: Mapped[datetime]
    by: Mapped[str] = mapped_column(String(80))
