"""Blanks and the stations where their diameters were measured."""

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from shop.db.types import Base, Nanometres


class Blank(Base):
    """A blank on the shelf or on a build. Lengths in nanometres, masses and loads in milligrams.

    `joints` lists where pieces meet, from butt to tip: maps of `from_butt_nm` and `insertion_nm`. The walls
    are the thickness of a tube at its ends (null: solid, or not known). `test_sag_nm` is how far the tip sank
    under `test_load_mg` with the butt held level; `most_load_mg` is the largest load the maker allows.
    """

    __tablename__ = "blanks"

    id: Mapped[int] = mapped_column(primary_key=True)
    maker: Mapped[str] = mapped_column(String(120), default="")
    model: Mapped[str] = mapped_column(String(120))
    length_nm: Mapped[int] = mapped_column(Nanometres)
    pieces: Mapped[int] = mapped_column(default=1)
    mass_mg: Mapped[int | None]
    joints: Mapped[list[Any]] = mapped_column(default=list)
    wall_butt_nm: Mapped[int | None] = mapped_column(Nanometres)
    wall_tip_nm: Mapped[int | None] = mapped_column(Nanometres)
    test_load_mg: Mapped[int | None]
    test_sag_nm: Mapped[int | None] = mapped_column(Nanometres)
    most_load_mg: Mapped[int | None]
    notes: Mapped[str] = mapped_column(Text, default="")
    created_at: Mapped[datetime]
    version: Mapped[int] = mapped_column(default=1)

    stations: Mapped[list["Station"]] = relationship(
        lazy="raise", order_by="Station.from_butt_nm", cascade="all, delete-orphan"
    )

    __mapper_args__ = {"version_id_col": version}


class Station(Base):
    """The outside diameter of a blank at a stated distance from its butt, both in nanometres."""

    __tablename__ = "stations"
    __table_args__ = (UniqueConstraint("blank_id", "from_butt_nm"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    blank_id: Mapped[int] = mapped_column(ForeignKey("blanks.id"))
    from_butt_nm: Mapped[int] = mapped_column(Nanometres)
    od_nm: Mapped[int] = mapped_column(Nanometres)
