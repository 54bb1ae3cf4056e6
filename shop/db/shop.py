"""The shop's own figures, the instant of the last write, and doubts about the clock."""

from datetime import datetime
from typing import Any

from sqlalchemy import CheckConstraint, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class Shop(Base):
    """The one row of the shop's settings, made by the first migration.

    `spine_rules` maps a kind of rod to the side its guides go on, where the shop does otherwise than
    `shop.craft.spine` has it. `hours` has for each day from Monday the pair of local times, as `HH:MM`,
    between which somebody is there, or null; `closed_on` lists closed dates in ISO form. `quote_terms`
    has what quotes are worked out with (see `shop.rules.quotes`), `care_sheet` and `terms` what customers are
    told after handover and with a quote.
    """

    __tablename__ = "shop"
    __table_args__ = (CheckConstraint("id = 1", name="one_row"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(80))
    time_zone: Mapped[str] = mapped_column(String(60))
    currency: Mapped[str] = mapped_column(String(3))
    credit_cap: Mapped[float]
    reading_gap_minutes: Mapped[float]
    spine_rules: Mapped[dict[str, Any]] = mapped_column(default=dict)
    hours: Mapped[list[Any]] = mapped_column(default=list)
    closed_on: Mapped[list[Any]] = mapped_column(default=list)
    quote_terms: Mapped[dict[str, Any]] = mapped_column(default=dict)
    terms: Mapped[str] = mapped_column(Text, default="")
    care_sheet: Mapped[str] = mapped_column(Text, default="")
    warranty_months: Mapped[int] = mapped_column(default=12)
    unclaimed_days: Mapped[int] = mapped_column(default=60)
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}


class Change(Base):
    """One row: when the last write was. It tells a starting server whether the clock has gone back."""

    __tablename__ = "change"
    __table_args__ = (CheckConstraint("id = 1", name="one_row"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    last_at: Mapped[datetime]


class ClockDoubt(Base):
    """A moment at which the clock could not be trusted, until an owner confirmed the time."""

    __tablename__ = "clock_doubts"

    id: Mapped[int] = mapped_column(primary_key=True)
    reason: Mapped[str] = mapped_column(String(300))
    raised_at: Mapped[datetime]
    confirmed_at: Mapped[datetime | None]
    confirmed_by: Mapped[str] = mapped_column(String(80), default="")
