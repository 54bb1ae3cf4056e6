"""Instants and days as the API takes and gives them: RFC 3339 with an offset in, UTC out."""

import re
from datetime import UTC, date, datetime
from typing import Annotated, Any

from pydantic import BeforeValidator, PlainSerializer, WithJsonSchema

INSTANT = re.compile(r"\d{4}-\d\d-\d\d[Tt]\d\d:\d\d:\d\d(\.\d{1,12})?([Zz]|[+-]\d\d:\d\d)", re.ASCII)
DAY = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
# No shop's record reaches further back, and every engine and sum takes what comes after.
EARLIEST = datetime(1970, 1, 1, tzinfo=UTC)
INSTANT_SCHEMA = {"type": "string", "format": "date-time", "examples": ["2026-03-02T09:00:00+01:00"]}
DAY_SCHEMA = {"type": "string", "format": "date", "examples": ["2026-04-17"]}


def read_instant(value: Any) -> datetime:
    """An instant as sent, in UTC. Raises `ValueError` with a sentence."""
    if not isinstance(value, str) or not INSTANT.fullmatch(value):
        raise ValueError("must be a time with its offset, as RFC 3339 writes it: 2026-03-02T09:00:00+01:00")
    try:
        instant = datetime.fromisoformat(value.upper()).astimezone(UTC)
    except (ValueError, OverflowError) as fault:
        raise ValueError("is not an instant that exists") from fault
    if instant < EARLIEST:
        raise ValueError("must not lie before 1970")
    return instant


def read_day(value: Any) -> date:
    """A day as sent. Raises `ValueError` with a sentence."""
    if not isinstance(value, str) or not DAY.fullmatch(value):
        raise ValueError("must be a day, as RFC 3339 writes it: 2026-04-17")
    try:
        return date.fromisoformat(value)
    except ValueError as fault:
        raise ValueError("is not a day that exists") from fault


def utc_text(instant: datetime) -> str:
    """An instant as RFC 3339 in UTC, with a `Z`."""
    return instant.astimezone(UTC).isoformat().replace("+00:00", "Z")


InstantIn = Annotated[datetime, BeforeValidator(read_instant), WithJsonSchema(INSTANT_SCHEMA)]
InstantOut = Annotated[
    datetime,
    PlainSerializer(utc_text, return_type=str),
    WithJsonSchema({"type": "string", "format": "date-time", "examples": ["2026-03-02T08:00:00Z"]}),
]
DayIn = Annotated[date, BeforeValidator(read_day), WithJsonSchema(DAY_SCHEMA)]
