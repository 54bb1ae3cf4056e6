"""The record of what happened to each build: appended to, never changed.

The database itself refuses an update or a delete (see the first migration); a mistake is answered by a
further event that points at the first.
"""

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, Index, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class Event(Base):
    """One thing that happened to a build, when it happened, when it was entered and by whom.

    `details` holds, by kind, `checks`, `measurements`, `releases`, `cure_id`, `mix_id`, `undone`; of a
    sending back `handed_over`, when the rod had been handed over, if it had.
    """

    __tablename__ = "events"
    __table_args__ = (Index("ix_events_build_id_pass_number", "build_id", "pass_number"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    build_id: Mapped[int] = mapped_column(ForeignKey("builds.id"))
    pass_number: Mapped[int]
    kind: Mapped[str] = mapped_column(String(20))
    stage_id: Mapped[int | None] = mapped_column(ForeignKey("stages.id"))
    happened_at: Mapped[datetime]
    entered_at: Mapped[datetime]
    by: Mapped[str] = mapped_column(String(80))
    user_id: Mapped[int | None] = mapped_column(ForeignKey("users.id"))
    note: Mapped[str] = mapped_column(Text, default="")
    corrects_id: Mapped[int | None] = mapped_column(ForeignKey("events.id"))
    details: Mapped[dict[str, Any]] = mapped_column(default=dict)
