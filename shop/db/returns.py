"""Returns: rods that came back, and why."""

from datetime import date, datetime

from sqlalchemy import ForeignKey, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class Return(Base):
    """One rod that came back: the build it is, the repair that answers it, and what went wrong where.

    `stage_name`, `lot_id` and `person` say what it was put down to, as far as anybody knows.
    """

    __tablename__ = "returns"

    id: Mapped[int] = mapped_column(primary_key=True)
    build_id: Mapped[int] = mapped_column(ForeignKey("builds.id"), index=True)
    repair_id: Mapped[int | None] = mapped_column(ForeignKey("builds.id"), index=True)
    returned_on: Mapped[date] = mapped_column(index=True)
    cause: Mapped[str] = mapped_column(String(40))
    stage_name: Mapped[str] = mapped_column(String(80), default="")
    lot_id: Mapped[int | None] = mapped_column(ForeignKey("lots.id"), index=True)
    person: Mapped[str] = mapped_column(String(80), default="")
    under_warranty: Mapped[bool]
    cost_cents: Mapped[int | None]
    note: Mapped[str] = mapped_column(Text, default="")
    entered_at: Mapped[datetime]
    by: Mapped[str] = mapped_column(String(80))
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}
