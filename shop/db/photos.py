"""Photos of builds; the pictures themselves lie as files in the data folder."""

from datetime import datetime

from sqlalchemy import ForeignKey, Index, String
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class Photo(Base):
    """One photo, re-encoded by us; `name` is a random name under which its sizes lie in the folder.

    `side` says which side of a repair it shows, empty elsewhere. The customer sees it only where `shared_at`
    is set. A photo that was taken away keeps its row; its files are deleted.
    """

    __tablename__ = "photos"
    __table_args__ = (Index("ix_photos_build_id", "build_id"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    build_id: Mapped[int] = mapped_column(ForeignKey("builds.id"))
    stage_id: Mapped[int | None] = mapped_column(ForeignKey("stages.id"))
    name: Mapped[str] = mapped_column(String(40), unique=True)
    side: Mapped[str] = mapped_column(String(20), default="")
    caption: Mapped[str] = mapped_column(String(200), default="")
    width: Mapped[int]
    height: Mapped[int]
    size_bytes: Mapped[int]
    entered_at: Mapped[datetime]
    by: Mapped[str] = mapped_column(String(80))
    shared_at: Mapped[datetime | None]
    shared_by: Mapped[str] = mapped_column(String(80), default="")
    removed_at: Mapped[datetime | None]
    removed_by: Mapped[str] = mapped_column(String(80), default="")
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}
