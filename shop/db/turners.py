"""Turners: the slow motors that keep wet coats level, who is on which place, and what went wrong."""

from datetime import datetime

from sqlalchemy import ForeignKey, Index, String, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class Turner(Base):
    """One motor with a number of places; somebody is asked every `check_minutes` whether it still turns."""

    __tablename__ = "turners"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(60), unique=True)
    places: Mapped[int]
    check_minutes: Mapped[int]
    zone_id: Mapped[int | None] = mapped_column(ForeignKey("zones.id"))
    created_at: Mapped[datetime]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}


class TurnerStay(Base):
    """A rod (`section` 0) or one section of it on a place of a turner, from `on_at` until `off_at`."""

    __tablename__ = "turner_stays"
    __table_args__ = (
        Index(
            "ix_turner_stays_on",
            "turner_id",
            sqlite_where=text("off_at IS NULL"),
            postgresql_where=text("off_at IS NULL"),
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    turner_id: Mapped[int] = mapped_column(ForeignKey("turners.id"))
    place_number: Mapped[int]
    build_id: Mapped[int] = mapped_column(ForeignKey("builds.id"), index=True)
    section: Mapped[int] = mapped_column(default=0)
    on_at: Mapped[datetime]
    entered_at: Mapped[datetime]
    by: Mapped[str] = mapped_column(String(80))
    off_at: Mapped[datetime | None]
    off_by: Mapped[str] = mapped_column(String(80), default="")


class TurnerCheck(Base):
    """Somebody looked, and the turner was turning."""

    __tablename__ = "turner_checks"
    __table_args__ = (Index("ix_turner_checks_turner_id_at", "turner_id", "at"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    turner_id: Mapped[int] = mapped_column(ForeignKey("turners.id"))
    at: Mapped[datetime]
    entered_at: Mapped[datetime]
    by: Mapped[str] = mapped_column(String(80))


class TurnerStop(Base):
    """A stop of a turner: from the last time it is known to have turned, until it turned again."""

    __tablename__ = "turner_stops"

    id: Mapped[int] = mapped_column(primary_key=True)
    turner_id: Mapped[int] = mapped_column(ForeignKey("turners.id"), index=True)
    stopped_at: Mapped[datetime]
    entered_at: Mapped[datetime]
    by: Mapped[str] = mapped_column(String(80))
    note: Mapped[str] = mapped_column(String(500), default="")
    ended_at: Mapped[datetime | None]
    ended_by: Mapped[str] = mapped_column(String(80), default="")


class StoppedRod(Base):
    """A rod that was under its turning time when its turner stopped: turned by hand, then inspected.

    `outcome` is empty until it is inspected, then `good` or `flawed`.
    """

    __tablename__ = "stopped_rods"
    __table_args__ = (UniqueConstraint("stop_id", "build_id", "section"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    stop_id: Mapped[int] = mapped_column(ForeignKey("turner_stops.id"))
    build_id: Mapped[int] = mapped_column(ForeignKey("builds.id"), index=True)
    section: Mapped[int] = mapped_column(default=0)
    turned_at: Mapped[datetime | None]
    turned_by: Mapped[str] = mapped_column(String(80), default="")
    inspected_at: Mapped[datetime | None]
    inspected_by: Mapped[str] = mapped_column(String(80), default="")
    outcome: Mapped[str] = mapped_column(String(10), default="")
    note: Mapped[str] = mapped_column(String(500), default="")
