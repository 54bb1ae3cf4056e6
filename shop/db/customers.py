"""The customers' table."""

from datetime import date, datetime

from sqlalchemy import String, Text
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class Customer(Base):
    """Somebody who orders rods. E-mail, phone and notes may be empty, never null.

    `wants_mail` is whether mail may go there, `photo_consent_on` the day on which showing photos of the rods
    to others was agreed to. After erasing (`erased_at`) the row stays for the rods, without the person.
    """

    __tablename__ = "customers"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(120), index=True)
    email: Mapped[str] = mapped_column(String(254), default="")
    phone: Mapped[str] = mapped_column(String(40), default="")
    notes: Mapped[str] = mapped_column(Text, default="")
    wants_mail: Mapped[bool] = mapped_column(default=True)
    photo_consent_on: Mapped[date | None]
    erased_at: Mapped[datetime | None]
    created_at: Mapped[datetime]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}
