"""Adhesives with the figures of their data sheets, and what was changed of them."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class Adhesive(Base):
    """One product, bonding epoxy or wrap finish. Minutes hold at `reference_c`; densities are g/mL.

    `recoat_*`, `coldest_c`, `doubling_c`, `turn_minutes` (how long a coat must be kept turning) and
    `opened_life_days` are null where the sheet is silent. `ready_made` names the class of product whose
    placeholders the figures began as. `confirmed_at` is since when somebody has stood by the figures as they
    are; what they stand on is judged by `shop.rules.adhesives`.
    """

    __tablename__ = "adhesives"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(120), unique=True)
    use: Mapped[str] = mapped_column(String(10))
    parts_a: Mapped[float]
    parts_b: Mapped[float]
    density_a: Mapped[float | None]
    density_b: Mapped[float | None]
    reference_c: Mapped[float]
    pot_life_minutes: Mapped[float]
    set_minutes: Mapped[float]
    full_cure_minutes: Mapped[float]
    recoat_from_minutes: Mapped[float | None]
    recoat_until_minutes: Mapped[float | None]
    coldest_c: Mapped[float | None]
    doubling_c: Mapped[float | None]
    turn_minutes: Mapped[float | None]
    opened_life_days: Mapped[int | None]
    source: Mapped[str] = mapped_column(String(300), default="")
    sheet_date: Mapped[date | None]
    ready_made: Mapped[str] = mapped_column(String(60), default="")
    confirmed_at: Mapped[datetime | None]
    confirmed_by: Mapped[str] = mapped_column(String(80), default="")
    created_at: Mapped[datetime]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}


class SheetChange(Base):
    """One act on an adhesive's sheet: it was put on file, changed or confirmed. Never changed or deleted.

    `changes` holds maps of `field`, `before` and `after`, in the order of the sheet; days are ISO texts.
    """

    __tablename__ = "sheet_changes"

    id: Mapped[int] = mapped_column(primary_key=True)
    adhesive_id: Mapped[int] = mapped_column(ForeignKey("adhesives.id"), index=True)
    kind: Mapped[str] = mapped_column(String(10))
    at: Mapped[datetime]
    by: Mapped[str] = mapped_column(String(80))
    changes: Mapped[list[Any]]
