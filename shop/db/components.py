"""Components: grips, seats, guides and whatever else goes on a blank."""

from datetime import datetime
from typing import Any

from sqlalchemy import String, Text
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class Component(Base):
    """One kind of part. `dimensions` maps a dimension's name (`length`, `bore` …) to whole nanometres.

    Money is whole cents of `currency` (ISO 4217). Which dimensions matter depends on the kind, so they
    are a map and not columns. `material` says how thin a wall may be; `feet` is how many feet a guide has.
    """

    __tablename__ = "components"

    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str] = mapped_column(String(40), index=True)
    name: Mapped[str] = mapped_column(String(120))
    dimensions: Mapped[dict[str, Any]] = mapped_column(default=dict)
    mass_mg: Mapped[int | None]
    material: Mapped[str] = mapped_column(String(40), default="")
    feet: Mapped[int | None]
    price_cents: Mapped[int | None]
    cost_cents: Mapped[int | None]
    currency: Mapped[str] = mapped_column(String(3))
    notes: Mapped[str] = mapped_column(Text, default="")
    created_at: Mapped[datetime]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}
