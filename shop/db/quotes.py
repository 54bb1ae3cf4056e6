"""Quotes: what a rod is offered for, and what the customer answered."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import ForeignKey, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class Quote(Base):
    """One offer for the whole of a build at one revision of its spec.

    `document` holds every line with the rates and the tax rules as they were used (see `shop.rules.quotes`),
    so that it stays true whatever changes afterwards; money is whole cents of `currency`. The customer's
    link is looked up by the hash of its token, computed from `nonce` as for status links; it works until
    `withdrawn_at`. The newest quote with a yes is what the build owes.
    """

    __tablename__ = "quotes"
    __table_args__ = (UniqueConstraint("build_id", "number"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    build_id: Mapped[int] = mapped_column(ForeignKey("builds.id"))
    number: Mapped[int]
    spec_revision: Mapped[int]
    made_at: Mapped[datetime]
    by: Mapped[str] = mapped_column(String(80))
    note: Mapped[str] = mapped_column(Text, default="")
    currency: Mapped[str] = mapped_column(String(3))
    price_cents: Mapped[int]
    total_cents: Mapped[int]
    deposit_cents: Mapped[int]
    valid_until: Mapped[date | None]
    document: Mapped[dict[str, Any]] = mapped_column(default=dict)
    nonce: Mapped[str] = mapped_column(String(64))
    token_hash: Mapped[str] = mapped_column(String(64), unique=True)
    sent_at: Mapped[datetime | None]
    withdrawn_at: Mapped[datetime | None]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}


class QuoteAnswer(Base):
    """What was answered to a quote: `yes` or `no`, by whom, when, and how it reached the shop.

    `name` is what the customer wrote, and goes when the customer is erased. `entered_by` is empty where it
    came over the customer's own link, and names who took it down where it was said otherwise.
    """

    __tablename__ = "quote_answers"

    id: Mapped[int] = mapped_column(primary_key=True)
    quote_id: Mapped[int] = mapped_column(ForeignKey("quotes.id"), index=True)
    answer: Mapped[str] = mapped_column(String(3))
    name: Mapped[str] = mapped_column(String(120), default="")
    said_at: Mapped[datetime]
    entered_at: Mapped[datetime]
    entered_by: Mapped[str] = mapped_column(String(80), default="")
    note: Mapped[str] = mapped_column(Text, default="")
