"""Keys of other programs, and the first answers to their retried requests."""

from datetime import datetime

from sqlalchemy import String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class ApiKey(Base):
    """A program's key. Only its hash is kept; the key itself is shown once."""

    __tablename__ = "api_keys"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(80))
    scope: Mapped[str] = mapped_column(String(10))
    key_hash: Mapped[str] = mapped_column(String(64), unique=True)
    created_at: Mapped[datetime]
    ended_at: Mapped[datetime | None]


class FirstAnswer(Base):
    """The answer given to a write that carried an idempotency key, to be given again to its retries."""

    __tablename__ = "first_answers"
    __table_args__ = (UniqueConstraint("actor", "key"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    actor: Mapped[str] = mapped_column(String(80))
    key: Mapped[str] = mapped_column(String(200))
    fingerprint: Mapped[str] = mapped_column(String(64))
    status: Mapped[int]
    body: Mapped[str] = mapped_column(Text)
    created_at: Mapped[datetime]
