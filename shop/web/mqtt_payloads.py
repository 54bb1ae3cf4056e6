"""What a sensor publishes: a number of °C, or JSON with `celsius` or `temperature`, and `at` if it knows.

Read as strictly as the bodies of the API; other fields, such as a battery's state, are let be.
"""

import re
from datetime import datetime
from json import JSONDecodeError
from typing import Any, NamedTuple

from shop.web.api.json_bodies import read_json
from shop.web.api.times import read_instant

MOST_BYTES = 4096
_NUMBER = re.compile(r"[-+]?\d{1,6}(?:\.\d{1,12})?", re.ASCII)
EITHER = "a number nor JSON with “celsius”"


class PayloadFault(ValueError):
    """A payload that is no reading; the text is a sentence."""


class Payload(NamedTuple):
    """A temperature in °C, and when it was read where the sensor says so."""

    celsius: float
    at: datetime | None


def read_payload(payload: bytes, is_retained: bool) -> Payload:
    """What a payload says. Raises `PayloadFault`.

    One that the broker had kept may be as old as it likes, so it counts only where it says when it was read.
    """
    if len(payload) > MOST_BYTES:
        raise PayloadFault(f"It has {len(payload)} bytes; a reading has at most {MOST_BYTES}.")
    text = payload.decode("utf-8", "replace").strip()
    found = Payload(float(text), None) if _NUMBER.fullmatch(text) else _from_json(text)
    if is_retained and found.at is None:
        raise PayloadFault("The broker had kept it, and it does not say when it was read; send it with “at”.")
    return found


def _from_json(text: str) -> Payload:
    try:
        said = read_json(text.encode())
    except JSONDecodeError as fault:  # `NotJson` is one
        raise PayloadFault(f"“{_short(text)}” is neither {EITHER}.") from fault
    if not isinstance(said, dict):
        raise PayloadFault(f"“{_short(text)}” is neither {EITHER}.")
    named = [name for name in ("celsius", "temperature") if name in said]
    if not named:
        raise PayloadFault(f"“{_short(text)}” has neither “celsius” nor “temperature”.")
    celsius = said[named[0]]
    if isinstance(celsius, bool) or not isinstance(celsius, int | float):
        raise PayloadFault(f"“{named[0]}” must be a number, not “{_short(str(celsius))}”.")
    return Payload(float(celsius), _at(said.get("at")))


def _at(value: Any) -> datetime | None:
    if value is None:
        return None
    try:
        return read_instant(value)
    except ValueError as fault:
        raise PayloadFault(f"“at” {fault}.") from fault


def _short(text: str) -> str:
    """As much of a text as may be said back on one line."""
    plain = "".join(letter if letter.isprintable() else "·" for letter in text[:60])
    return plain + ("…" if len(text) > 60 else "")
