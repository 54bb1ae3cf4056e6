"""Cures: places on builds where a mix is hardening.

Only stored instants are here. Whether a cure has set is never stored; it is computed from them.
"""

from datetime import datetime

from sqlalchemy import ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class Cure(Base):
    """One place on one build, closed at a stated time with a stated mix (`mix_id` is the mix's root id).

    `zone_id` is null where the rod stayed in the zone of the mix. A correction is a new row that the old
    one points at with `superseded_by_id`. `failed_reason` is set on a joint that came loose or was
    stripped: it stays on the record and counts for nothing.
    """

    __tablename__ = "cures"

    id: Mapped[int] = mapped_column(primary_key=True)
    mix_id: Mapped[int] = mapped_column(ForeignKey("mixes.id"), index=True)
    build_id: Mapped[int] = mapped_column(ForeignKey("builds.id"), index=True)
    pass_number: Mapped[int]
    place: Mapped[str] = mapped_column(String(60))
    zone_id: Mapped[int | None] = mapped_column(ForeignKey("zones.id"))
    closed_at: Mapped[datetime]
    entered_at: Mapped[datetime]
    by: Mapped[str] = mapped_column(String(80))
    corrects_id: Mapped[int | None] = mapped_column(ForeignKey("cures.id"))
    superseded_by_id: Mapped[int | None] = mapped_column(ForeignKey("cures.id"))
    correction_reason: Mapped[str] = mapped_column(String(500), default="")
    failed_reason: Mapped[str] = mapped_column(String(500), default="")


class CureMove(Base):
    """A cure carried to another zone at an instant; one written down wrong is undone, not deleted."""

    __tablename__ = "cure_moves"

    id: Mapped[int] = mapped_column(primary_key=True)
    cure_id: Mapped[int] = mapped_column(ForeignKey("cures.id"), index=True)
    zone_id: Mapped[int] = mapped_column(ForeignKey("zones.id"))
    at: Mapped[datetime]
    entered_at: Mapped[datetime]
    by: Mapped[str] = mapped_column(String(80))
    undone_reason: Mapped[str] = mapped_column(String(500), default="")
    undone_by: Mapped[str] = mapped_column(String(80), default="")
