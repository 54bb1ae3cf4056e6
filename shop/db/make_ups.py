"""Make-ups: what goes on a build and where, revision by revision."""

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class MakeUp(Base):
    """One revision of what goes on a build; a change is a further revision, never an edit.

    `document` holds the whole of it (see `shop.rules.make_up`), with a copy of what is said of the blank, the
    components and the adhesives, so that a printed ticket stays true to its revision. `blank_id` is the blank
    that was copied. `meant` maps the name of each figure that is measured to its nominal and its tolerance.
    """

    __tablename__ = "make_ups"
    __table_args__ = (UniqueConstraint("build_id", "revision"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    build_id: Mapped[int] = mapped_column(ForeignKey("builds.id"))
    revision: Mapped[int]
    entered_at: Mapped[datetime]
    by: Mapped[str] = mapped_column(String(80))
    reason: Mapped[str] = mapped_column(Text, default="")
    blank_id: Mapped[int | None] = mapped_column(ForeignKey("blanks.id"))
    document: Mapped[dict[str, Any]] = mapped_column(default=dict)
    meant: Mapped[dict[str, Any]] = mapped_column(default=dict)
