"""Payments: money that came in for a build, or went back."""

from datetime import date, datetime

from sqlalchemy import ForeignKey, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class Payment(Base):
    """One payment, written down and never changed: the database refuses it.

    `kind` is `deposit`, `balance` or `other`; `cents` is below nothing for money given back. A mistake is
    answered by a further row that points at it (`corrects_id`) and takes the amount back.
    """

    __tablename__ = "payments"

    id: Mapped[int] = mapped_column(primary_key=True)
    build_id: Mapped[int] = mapped_column(ForeignKey("builds.id"), index=True)
    kind: Mapped[str] = mapped_column(String(10))
    cents: Mapped[int]
    currency: Mapped[str] = mapped_column(String(3))
    method: Mapped[str] = mapped_column(String(40))
    paid_on: Mapped[date] = mapped_column(index=True)
    entered_at: Mapped[datetime]
    by: Mapped[str] = mapped_column(String(80))
    note: Mapped[str] = mapped_column(Text, default="")
    corrects_id: Mapped[int | None] = mapped_column(ForeignKey("payments.id"))
