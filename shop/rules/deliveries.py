"""Deliveries: which days can be.

What is not looked at in time cannot be sent back: a blank's flaw that is found after cutting is the shop's
own loss. (Common practice, no source.) How many days a supplier allows is for the delivery's papers to say.
"""

from dataclasses import dataclass
from datetime import date

MOST_REFERENCE = 60
MOST_NOTE = 2000
MOST_LINES = 60
EARLIEST, LATEST = date(2000, 1, 1), date(2100, 1, 1)


@dataclass(frozen=True, slots=True)
class DeliveryDays:
    """The days of a delivery, as a form or the API gives them; none where nobody said."""

    received_on: date | None
    inspect_by: date | None = None
    return_by: date | None = None


def faults_of_days(days: DeliveryDays, today: date) -> dict[str, str]:
    """Everything that keeps the days from being right, by field; empty when they are."""
    if days.received_on is None:
        return {"received_on": "The day it came is missing; please fill it in."}
    faults = {}
    for name in ("received_on", "inspect_by", "return_by"):
        day: date | None = getattr(days, name)
        if day is None:
            continue
        if not EARLIEST <= day <= LATEST:
            faults[name] = f"The day must lie between {EARLIEST} and {LATEST}."
        elif name == "received_on" and day > today:
            faults[name] = "That day lies in the future; write it down when it has come."
        elif name != "received_on" and day < days.received_on:
            faults[name] = f"That is before it came, on {days.received_on}."
    if not faults and days.inspect_by and days.return_by and days.inspect_by > days.return_by:
        faults["inspect_by"] = f"By then it can no longer go back; the last day for that is {days.return_by}."
    return faults
