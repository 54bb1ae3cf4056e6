"""Messages between a customer and the shop about one build."""

from datetime import datetime

from sqlalchemy import ForeignKey, Index, String, Text, text
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class Message(Base):
    """One message. `by` is empty where the customer wrote it, over the status link.

    `read_at` says when the other side had seen it: somebody in the shop, or whoever holds the link.
    """

    __tablename__ = "messages"
    __table_args__ = (
        Index("ix_messages_build_id", "build_id"),
        # The Desk asks for the few that nobody has read.
        Index(
            "ix_messages_unread",
            "at",
            sqlite_where=text("read_at IS NULL"),
            postgresql_where=text("read_at IS NULL"),
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    build_id: Mapped[int] = mapped_column(ForeignKey("builds.id"))
    from_customer: Mapped[bool]
    text: Mapped[str] = mapped_column(Text)
    at: Mapped[datetime]
    by: Mapped[str] = mapped_column(String(80), default="")
    read_at: Mapped[datetime | None]
    read_by: Mapped[str] = mapped_column(String(80), default="")
