"""Whether a zone and a temperature read in it can be: pure checks, one sentence a field."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from shop.craft.temperature import TemperatureError, check_celsius

MOST_NAME = 60
# A thermometer's clock may run a little ahead of the server's.
AHEAD = timedelta(seconds=60)
OLDEST = timedelta(days=730)
# Of many faults so many are said, the others counted.
MOST_SAID = 20


def faults_of_zone(name: str, assumed_c: float) -> dict[str, str]:
    """Everything that keeps a zone's facts from being right, by field; empty when they are."""
    errors = {}
    if not 1 <= len(name.strip()) <= MOST_NAME:
        errors["name"] = f"The zone needs a name of 1 to {MOST_NAME} characters."
    fault = _fault_of_celsius(assumed_c)
    return errors | {"assumed_c": fault} if fault else errors


def faults_of_reading(at: datetime, celsius: float, now: datetime) -> dict[str, str]:
    """Everything that keeps a reading from being taken in at `now`, by field; empty when nothing does."""
    errors = {}
    if at > now + AHEAD:
        errors["at"] = (
            f"That reading comes from the future, {_span(at - now)} ahead of the server's clock; "
            "set the thermometer's clock."
        )
    elif at < now - OLDEST:
        errors["at"] = "That reading is older than two years; nothing still cures by it."
    fault = _fault_of_celsius(celsius)
    return errors | {"celsius": fault} if fault else errors


def faults_of_readings(readings: Sequence[tuple[datetime, float]], now: datetime) -> dict[str, str]:
    """What keeps readings from being taken in, by place (`readings.7.at`); of many the rest is counted."""
    errors: dict[str, str] = {}
    unsaid = 0
    for place, (at, celsius) in enumerate(readings):
        found = faults_of_reading(at, celsius, now)
        if found and len(errors) >= MOST_SAID:
            unsaid += 1
        else:
            errors |= {f"readings.{place}.{field}": fault for field, fault in found.items()}
    if unsaid:
        errors["readings"] = f"Beside these, {unsaid} more of the readings cannot be taken in."
    return errors


def _span(span: timedelta) -> str:
    minutes = -(-span // timedelta(minutes=1))
    if minutes < 120:
        return f"{minutes} min"
    return f"{minutes // 60} h {minutes % 60:02d} min" if minutes < 2880 else f"{minutes // 1440} days"


def _fault_of_celsius(celsius: float) -> str:
    try:
        check_celsius(celsius)
    except TemperatureError as fault:
        return str(fault)
    return ""
