"""Stock: how many of a blank, a part or an adhesive the shop has, and every move of it."""

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class Stock(Base):
    """What is counted of one blank, one component or one adhesive; what has no row here is not counted.

    `on_shelf` counts what lies there in `unit`s, `set_aside` how many of those are for some build; both
    follow from the moves and are kept here, written with them in one transaction. `code` is what a scan of
    the bin or the part reads.
    """

    __tablename__ = "stocks"
    __table_args__ = (
        UniqueConstraint("blank_id"),
        UniqueConstraint("component_id"),
        UniqueConstraint("adhesive_id"),
        UniqueConstraint("code"),
        CheckConstraint(
            "CASE WHEN blank_id IS NULL THEN 0 ELSE 1 END + CASE WHEN component_id IS NULL THEN 0 ELSE 1 END"
            " + CASE WHEN adhesive_id IS NULL THEN 0 ELSE 1 END = 1",
            name="one_item",
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    blank_id: Mapped[int | None] = mapped_column(ForeignKey("blanks.id"))
    component_id: Mapped[int | None] = mapped_column(ForeignKey("components.id"))
    adhesive_id: Mapped[int | None] = mapped_column(ForeignKey("adhesives.id"))
    supplier_id: Mapped[int | None] = mapped_column(ForeignKey("suppliers.id"), index=True)
    supplier_code: Mapped[str] = mapped_column(String(60), default="")
    code: Mapped[str] = mapped_column(String(60))
    unit: Mapped[str] = mapped_column(String(20), default="piece")
    bin: Mapped[str] = mapped_column(String(60), default="")
    least: Mapped[int] = mapped_column(default=0)
    lead_days: Mapped[int | None]
    on_shelf: Mapped[int] = mapped_column(default=0)
    set_aside: Mapped[int] = mapped_column(default=0)
    created_at: Mapped[datetime]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}


class StockMove(Base):
    """One move of stock, written down and never changed: the database refuses it.

    `kind` is one of `shop.rules.stock.MoveKind`; `count` is what it changes on the shelf, or for setting
    aside what it changes of that. `unit_cost_cents` keeps the cost at the time.
    """

    __tablename__ = "stock_moves"

    id: Mapped[int] = mapped_column(primary_key=True)
    stock_id: Mapped[int] = mapped_column(ForeignKey("stocks.id"), index=True)
    kind: Mapped[str] = mapped_column(String(20))
    count: Mapped[int]
    build_id: Mapped[int | None] = mapped_column(ForeignKey("builds.id"), index=True)
    delivery_id: Mapped[int | None] = mapped_column(ForeignKey("deliveries.id"), index=True)
    unit_cost_cents: Mapped[int | None]
    currency: Mapped[str] = mapped_column(String(3), default="")
    at: Mapped[datetime]
    entered_at: Mapped[datetime]
    by: Mapped[str] = mapped_column(String(80))
    note: Mapped[str] = mapped_column(Text, default="")
