"""Tax rules: what the shop adds to a price, from a day to a day."""

from datetime import date, datetime

from sqlalchemy import String, Text
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class TaxRule(Base):
    """One dated rule (see `shop.craft.quote.TaxRule`); it counts only while it is switched on.

    `percent` is a decimal number as text, since a share of a price must be exact.
    """

    __tablename__ = "tax_rules"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(80))
    percent: Mapped[str] = mapped_column(String(12))
    valid_from: Mapped[date]
    valid_until: Mapped[date | None]
    cap_cents: Mapped[int | None]
    taxed_on: Mapped[str] = mapped_column(String(30))
    is_on: Mapped[bool] = mapped_column(default=False)
    note: Mapped[str] = mapped_column(Text, default="")
    created_at: Mapped[datetime]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}
