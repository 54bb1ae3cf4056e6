"""Private addresses under which a calendar subscribes to ready times and windows."""

from datetime import datetime

from sqlalchemy import ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class CalendarFeed(Base):
    """One address, of the person it was made for; live while `ended_at` is null.

    As with status links, the token is computed from `nonce` and the shop's secret file.
    """

    __tablename__ = "calendar_feeds"

    id: Mapped[int] = mapped_column(primary_key=True)
    user_id: Mapped[int] = mapped_column(ForeignKey("users.id"), index=True)
    nonce: Mapped[str] = mapped_column(String(64))
    token_hash: Mapped[str] = mapped_column(String(64), unique=True)
    created_at: Mapped[datetime]
    ended_at: Mapped[datetime | None]
