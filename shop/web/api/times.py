"""Instants as the API takes and gives them: RFC 3339 with an offset in, UTC out."""

from datetime import UTC, datetime
from typing import Annotated

from pydantic import AwareDatetime, PlainSerializer


def utc_text(instant: datetime) -> str:
    """An instant as RFC 3339 in UTC, with a `Z`."""
    return instant.astimezone(UTC).isoformat().replace("+00:00", "Z")


InstantIn = AwareDatetime
InstantOut = Annotated[datetime, PlainSerializer(utc_text, return_type=str)]
