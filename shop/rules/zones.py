"""Whether a zone and a temperature read in it can be: pure checks, one sentence a field."""

from datetime import datetime, timedelta

MOST_NAME = 60
COLDEST_C = -40.0
WARMEST_C = 80.0
# A thermometer's clock may run a little ahead of the server's.
AHEAD = timedelta(seconds=60)
OLDEST = timedelta(days=730)


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
        errors["at"] = "That reading comes from the future; set the thermometer's clock."
    elif at < now - OLDEST:
        errors["at"] = "That reading is older than two years; nothing still cures by it."
    fault = _fault_of_celsius(celsius)
    return errors | {"celsius": fault} if fault else errors


def _fault_of_celsius(celsius: float) -> str:
    if COLDEST_C <= celsius <= WARMEST_C:  # NaN is not
        return ""
    return (
        f"{celsius:g} °C is not the temperature of a shop; "
        f"one lies between {COLDEST_C:g} and {WARMEST_C:g} °C."
    )
