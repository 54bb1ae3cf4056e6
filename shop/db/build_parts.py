"""Build parts: how many of each blank and component a build takes, and how many it has got."""

from datetime import datetime

from sqlalchemy import ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class BuildPart(Base):
    """How many of one blank or component a build takes, by its make-up, and how many it has got.

    `part_group` says which stage uses it (`Stage.uses`). Rows follow the newest make-up; what was set aside
    or used stays counted. `confirmed_at` is when somebody held the part against the rod at glue-up.
    """

    __tablename__ = "build_parts"

    id: Mapped[int] = mapped_column(primary_key=True)
    build_id: Mapped[int] = mapped_column(ForeignKey("builds.id"), index=True)
    part_group: Mapped[str] = mapped_column(String(20))
    blank_id: Mapped[int | None] = mapped_column(ForeignKey("blanks.id"))
    component_id: Mapped[int | None] = mapped_column(ForeignKey("components.id"), index=True)
    needed: Mapped[int] = mapped_column(default=0)
    set_aside: Mapped[int] = mapped_column(default=0)
    used: Mapped[int] = mapped_column(default=0)
    confirmed_at: Mapped[datetime | None]
    confirmed_by: Mapped[str] = mapped_column(String(80), default="")
