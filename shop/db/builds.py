"""Builds: rods being made or repaired."""

from datetime import date, datetime

from sqlalchemy import ForeignKey, Index, String, Text, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class Build(Base):
    """One rod being made or repaired.

    `stage_id` is the stage last reached in the present pass (null before the first); it follows from
    the events and is kept here, written with them in one transaction, so that a list of builds need not
    read every event. `closed_at` is set when the last stage of the sequence is reached, or when the
    order ends otherwise: `closed_as` then says how (`declined`, `cancelled`). While `is_enquiry`,
    nobody has ordered it yet and the bench does not see it. `copied_from_id` is the rod that this one is
    to be like. `change_by` is the last day a customer was told for changes, where the shop named one.
    """

    __tablename__ = "builds"
    __table_args__ = (
        UniqueConstraint("year", "running"),
        # Open builds are few and finished ones many; the pages of the bench read only this index.
        Index(
            "ix_builds_open",
            "promised_on",
            "number",
            sqlite_where=text("closed_at IS NULL"),
            postgresql_where=text("closed_at IS NULL"),
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[str] = mapped_column(String(20), unique=True)
    year: Mapped[int]
    running: Mapped[int]
    customer_id: Mapped[int] = mapped_column(ForeignKey("customers.id"), index=True)
    title: Mapped[str] = mapped_column(String(120))
    rod_kind: Mapped[str] = mapped_column(String(20))
    sequence_id: Mapped[int] = mapped_column(ForeignKey("sequences.id"), index=True)
    blank_id: Mapped[int | None] = mapped_column(ForeignKey("blanks.id"), index=True)
    promised_on: Mapped[date | None]
    thread_colour: Mapped[str] = mapped_column(String(7), default="#7a1f2b")
    notes: Mapped[str] = mapped_column(Text, default="")
    stage_id: Mapped[int | None] = mapped_column(ForeignKey("stages.id"))
    pass_number: Mapped[int] = mapped_column(default=1)
    is_enquiry: Mapped[bool] = mapped_column(default=False)
    copied_from_id: Mapped[int | None] = mapped_column(ForeignKey("builds.id"))
    change_by: Mapped[date | None]
    warranty_until: Mapped[date | None]
    closed_as: Mapped[str] = mapped_column(String(10), default="")
    created_at: Mapped[datetime]
    closed_at: Mapped[datetime | None]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}
