"""Intakes: in which condition a rod came in for repair."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import ForeignKey, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class Intake(Base):
    """What was seen of a rod when it came in, and signed.

    `conditions` lists what was looked at, as maps of `item`, `state` and `note` (see `shop.rules.intakes`).
    `signed_name` is who brought it, and goes when the customer is erased.
    """

    __tablename__ = "intakes"

    id: Mapped[int] = mapped_column(primary_key=True)
    build_id: Mapped[int] = mapped_column(ForeignKey("builds.id"), unique=True)
    brought_on: Mapped[date]
    rod: Mapped[str] = mapped_column(String(200), default="")
    wish: Mapped[str] = mapped_column(Text, default="")
    conditions: Mapped[list[Any]] = mapped_column(default=list)
    signed_name: Mapped[str] = mapped_column(String(120), default="")
    signed_at: Mapped[datetime | None]
    entered_at: Mapped[datetime]
    by: Mapped[str] = mapped_column(String(80))
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}
