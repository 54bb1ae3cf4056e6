"""Sequences, their stages and the holds on those stages.

A version of a sequence that a build has started on is never changed; a change makes the next version
of the same family.
"""

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from shop.db.types import Base


class Sequence(Base):
    """One version of the shop's ordered list of stages for a kind of rod.

    `family_id` is the id of the family's first version; `retired_at` is set when a later version, or
    the owner, takes this one out of use for new builds.
    """

    __tablename__ = "sequences"
    __table_args__ = (UniqueConstraint("family_id", "version"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    family_id: Mapped[int | None] = mapped_column(ForeignKey("sequences.id"))
    version: Mapped[int] = mapped_column(default=1)
    name: Mapped[str] = mapped_column(String(80))
    rod_kind: Mapped[str] = mapped_column(String(20))
    created_at: Mapped[datetime]
    retired_at: Mapped[datetime | None]

    stages: Mapped[list["Stage"]] = relationship(
        lazy="raise", order_by="Stage.position", cascade="all, delete-orphan"
    )


class Stage(Base):
    """A named point a build can reach; for its lists see `shop.rules.sequences`.

    `tells_customer` is whether reaching it is told by mail.
    """

    __tablename__ = "stages"
    __table_args__ = (UniqueConstraint("sequence_id", "name"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    sequence_id: Mapped[int] = mapped_column(ForeignKey("sequences.id"), index=True)
    position: Mapped[int]
    name: Mapped[str] = mapped_column(String(80))
    customer_words: Mapped[str] = mapped_column(String(200), default="")
    attended_minutes: Mapped[int] = mapped_column(default=0)
    records: Mapped[list[Any]] = mapped_column(default=list)
    draws: Mapped[list[Any]] = mapped_column(default=list)
    figures: Mapped[list[Any]] = mapped_column(default=list)
    uses: Mapped[list[Any]] = mapped_column(default=list)
    tells_customer: Mapped[bool] = mapped_column(default=False)

    holds: Mapped[list["Hold"]] = relationship(
        lazy="raise", order_by="Hold.position", cascade="all, delete-orphan"
    )


class Hold(Base):
    """A reason why a build may not reach a stage yet; `needs` holds what its kind asks for."""

    __tablename__ = "holds"

    id: Mapped[int] = mapped_column(primary_key=True)
    stage_id: Mapped[int] = mapped_column(ForeignKey("stages.id"), index=True)
    position: Mapped[int]
    kind: Mapped[str] = mapped_column(String(20))
    needs: Mapped[dict[str, Any]] = mapped_column(default=dict)
