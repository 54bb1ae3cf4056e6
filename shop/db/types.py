"""Column types and the base class that every table shares.

Holds no table. Lengths are whole nanometres and money whole cents, so both are plain integers in the
tables; instants need a type of their own, since SQLite drops the zone of a `DateTime(timezone=True)`.
"""

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import JSON, BigInteger, DateTime, Dialect, MetaData
from sqlalchemy.orm import DeclarativeBase
from sqlalchemy.types import TypeDecorator

NAMING = {
    "ix": "ix_%(column_0_label)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}


class UtcDateTime(TypeDecorator[datetime]):
    """An instant: aware in, aware and in UTC out, on every engine. A naive datetime is refused."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"{value!r} has no time zone; an instant needs one")
        instant = value.astimezone(UTC)
        # SQLite keeps text and would store the offset in some rows only; all rows must sort alike.
        return instant.replace(tzinfo=None) if dialect.name == "sqlite" else instant

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if dialect.name == "sqlite" else value.astimezone(UTC)


class Base(DeclarativeBase):
    """The base of every table; constraints are named by convention so that migrations can find them."""

    metadata = MetaData(naming_convention=NAMING)
    type_annotation_map = {datetime: UtcDateTime, dict[str, Any]: JSON, list[Any]: JSON}


# A blank of 5 m is 5e9 nm: past 32 bits.
Nanometres = BigInteger
