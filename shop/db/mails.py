"""Mail to customers: what waits to be sent, what the shop writes, and over which server."""

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, Index, String, Text, text
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class Mail(Base):
    """One mail in the outbox, written in the transaction of what it tells of.

    `key` names that (`stage:812`), so that nothing is told twice; `message_id` is given when it is
    written, so that a second try sends the same mail. `claimed_until` holds others off while one try runs.
    It is done with once `sent_at` or `given_up_at` is set.
    """

    __tablename__ = "mails"
    __table_args__ = (
        Index(
            "ix_mails_waiting",
            "next_try_at",
            sqlite_where=text("sent_at IS NULL AND given_up_at IS NULL"),
            postgresql_where=text("sent_at IS NULL AND given_up_at IS NULL"),
        ),
        # Few are given up among the many that were sent.
        Index(
            "ix_mails_given_up",
            "given_up_at",
            sqlite_where=text("given_up_at IS NOT NULL"),
            postgresql_where=text("given_up_at IS NOT NULL"),
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(String(80), unique=True)
    kind: Mapped[str] = mapped_column(String(20))
    build_id: Mapped[int | None] = mapped_column(ForeignKey("builds.id"), index=True)
    customer_id: Mapped[int | None] = mapped_column(ForeignKey("customers.id"), index=True)
    to_address: Mapped[str] = mapped_column(String(254))
    subject: Mapped[str] = mapped_column(String(200))
    text: Mapped[str] = mapped_column(Text)
    html: Mapped[str] = mapped_column(Text, default="")
    message_id: Mapped[str] = mapped_column(String(200))
    created_at: Mapped[datetime]
    next_try_at: Mapped[datetime]
    claimed_until: Mapped[datetime | None]
    tries: Mapped[int] = mapped_column(default=0)
    sent_at: Mapped[datetime | None]
    given_up_at: Mapped[datetime | None]
    last_error: Mapped[str] = mapped_column(String(500), default="")


class MailTemplate(Base):
    """What the shop writes on one occasion, where it does otherwise than the words that come with us.

    `kind` is one of `shop.rules.mails.MailKind`. Nothing of a kind is sent unless `is_on`.
    """

    __tablename__ = "mail_templates"

    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str] = mapped_column(String(20), unique=True)
    is_on: Mapped[bool] = mapped_column(default=False)
    subject: Mapped[str] = mapped_column(String(200))
    text: Mapped[str] = mapped_column(Text)
    html: Mapped[str] = mapped_column(Text, default="")
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}


class MailSettings(Base):
    """The one row that says over which server mail goes, made by the migration; off until an owner says.

    The server's password is not in the database but in a file beside it.
    """

    __tablename__ = "mail_settings"
    __table_args__ = (CheckConstraint("id = 1", name="one_row"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    is_on: Mapped[bool] = mapped_column(default=False)
    host: Mapped[str] = mapped_column(String(253), default="")
    port: Mapped[int] = mapped_column(default=587)
    security: Mapped[str] = mapped_column(String(10), default="starttls")
    user_name: Mapped[str] = mapped_column(String(254), default="")
    from_address: Mapped[str] = mapped_column(String(254), default="")
    from_name: Mapped[str] = mapped_column(String(120), default="")
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}
