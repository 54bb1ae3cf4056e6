"""Moments that the bench was told of (a joint set, a window shutting), and that somebody has seen."""

from datetime import datetime

from sqlalchemy import String
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class SeenMoment(Base):
    """A moment that was at the instant `seen_at` when somebody saw it; moved to later, it is told again."""

    __tablename__ = "seen_moments"

    id: Mapped[int] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(String(80), unique=True)
    seen_at: Mapped[datetime] = mapped_column(index=True)
    by: Mapped[str] = mapped_column(String(80))
