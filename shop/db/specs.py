"""Specs: what a customer wants of a rod, revision by revision."""

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class Spec(Base):
    """One revision of what was agreed or asked for; a change is a further revision, never an edit.

    `document` holds the whole of it (see `shop.rules.spec`). `asked_by` says whose wish the change was, the
    customer's or the shop's; `rework` that it came after the step that uses it had begun, and so is to be
    priced.
    """

    __tablename__ = "specs"
    __table_args__ = (UniqueConstraint("build_id", "revision"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    build_id: Mapped[int] = mapped_column(ForeignKey("builds.id"))
    revision: Mapped[int]
    entered_at: Mapped[datetime]
    by: Mapped[str] = mapped_column(String(80))
    asked_by: Mapped[str] = mapped_column(String(20), default="customer")
    reason: Mapped[str] = mapped_column(Text, default="")
    rework: Mapped[list[Any]] = mapped_column(default=list)
    document: Mapped[dict[str, Any]] = mapped_column(default=dict)
