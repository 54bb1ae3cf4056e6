"""The customers' private addresses."""

from datetime import datetime

from sqlalchemy import ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class StatusLink(Base):
    """A private address for one build; live while `ended_at` is null.

    The token is looked up by its hash. It can be shown again because it is computed from `nonce` and
    the shop's secret file: a copy of the database alone opens nothing.
    """

    __tablename__ = "status_links"

    id: Mapped[int] = mapped_column(primary_key=True)
    build_id: Mapped[int] = mapped_column(ForeignKey("builds.id"), index=True)
    nonce: Mapped[str] = mapped_column(String(64))
    token_hash: Mapped[str] = mapped_column(String(64), unique=True)
    created_at: Mapped[datetime]
    ended_at: Mapped[datetime | None]
