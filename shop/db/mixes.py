"""Mixes: measured cups of A and B, what was seen of their puddles, and suspicions about them.

A correction is a new row with the same `root_id`; the old row stays and points at what replaced it.
"""

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, Index, String, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class Mix(Base):
    """One cup, with a copy of the adhesive's figures as they were when it was mixed.

    The copy is what every cure of this mix is judged by: a later edit of the adhesive must not bend a
    cure that is under way. `sheet_state` is what the figures stood on then (`shop.rules.adhesives`).
    `root_id` is the id of the first entry of this cup (null only while the first is being written);
    `superseded_by_id` is null on the entry that counts. `releases` holds the house rules that an owner
    released for this cup, as maps of `kind`, `reason`, `by` and `faults`, the sentences that it was given
    for; one without `faults` covers whatever is wrong.
    """

    __tablename__ = "mixes"

    id: Mapped[int] = mapped_column(primary_key=True)
    root_id: Mapped[int | None] = mapped_column(ForeignKey("mixes.id"), index=True)
    superseded_by_id: Mapped[int | None] = mapped_column(ForeignKey("mixes.id"))
    correction_reason: Mapped[str] = mapped_column(String(500), default="")
    adhesive_id: Mapped[int] = mapped_column(ForeignKey("adhesives.id"))
    zone_id: Mapped[int] = mapped_column(ForeignKey("zones.id"))
    mixed_at: Mapped[datetime] = mapped_column(index=True)
    entered_at: Mapped[datetime]
    by: Mapped[str] = mapped_column(String(80))
    adhesive_name: Mapped[str] = mapped_column(String(120))
    use: Mapped[str] = mapped_column(String(10))
    reference_c: Mapped[float]
    pot_life_minutes: Mapped[float]
    set_minutes: Mapped[float]
    full_cure_minutes: Mapped[float]
    recoat_from_minutes: Mapped[float | None]
    recoat_until_minutes: Mapped[float | None]
    coldest_c: Mapped[float | None]
    doubling_c: Mapped[float | None]
    turn_minutes: Mapped[float | None]
    sheet_state: Mapped[str] = mapped_column(String(20))
    lot_a_id: Mapped[int | None] = mapped_column(ForeignKey("lots.id"), index=True)
    lot_b_id: Mapped[int | None] = mapped_column(ForeignKey("lots.id"), index=True)
    amount_a_ml: Mapped[float | None]
    amount_b_ml: Mapped[float | None]
    planned_minutes: Mapped[float | None]
    releases: Mapped[list[Any]] = mapped_column(default=list)


class Serving(Base):
    """A place that a cup was mixed for; closed once a cure stands there. `mix_id` is a root id.

    `left_out_reason` is set where the place was not closed with this cup after all.
    """

    __tablename__ = "servings"
    __table_args__ = (UniqueConstraint("mix_id", "build_id", "place"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    mix_id: Mapped[int] = mapped_column(ForeignKey("mixes.id"))
    build_id: Mapped[int] = mapped_column(ForeignKey("builds.id"), index=True)
    place: Mapped[str] = mapped_column(String(60))
    left_out_reason: Mapped[str] = mapped_column(String(500), default="")
    left_out_at: Mapped[datetime | None]
    left_out_by: Mapped[str] = mapped_column(String(80), default="")


class PuddleCheck(Base):
    """What somebody felt when touching the leftover of a mix: `firm` or `tacky`. `mix_id` is a root id."""

    __tablename__ = "puddle_checks"
    __table_args__ = (
        Index(
            "ix_puddle_checks_tacky",
            "mix_id",
            sqlite_where=text("state = 'tacky'"),
            postgresql_where=text("state = 'tacky'"),
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    mix_id: Mapped[int] = mapped_column(ForeignKey("mixes.id"), index=True)
    state: Mapped[str] = mapped_column(String(10))
    at: Mapped[datetime]
    entered_at: Mapped[datetime]
    by: Mapped[str] = mapped_column(String(80))


class Suspicion(Base):
    """A doubt about a mix, open until an owner's verdict: `good` or `redo`. `mix_id` is a root id.

    `recheck_at` is when to look again, where an owner said to wait.
    """

    __tablename__ = "suspicions"
    __table_args__ = (
        Index(
            "ix_suspicions_open",
            "mix_id",
            sqlite_where=text("verdict IS NULL"),
            postgresql_where=text("verdict IS NULL"),
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    mix_id: Mapped[int] = mapped_column(ForeignKey("mixes.id"), index=True)
    reason: Mapped[str] = mapped_column(String(500))
    raised_at: Mapped[datetime]
    by: Mapped[str] = mapped_column(String(80))
    recheck_at: Mapped[datetime | None]
    verdict: Mapped[str | None] = mapped_column(String(10))
    verdict_reason: Mapped[str] = mapped_column(String(500), default="")
    verdict_at: Mapped[datetime | None]
    verdict_by: Mapped[str] = mapped_column(String(80), default="")
