"""What a shop may say of its sensors: whether one can be, is silent, has a wrong clock, or is contradicted.

Everything here judges from instants that are handed in; how a time is written is left to the pages.
"""

from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from typing import NamedTuple

# Room is left for what an ended sensor's name is followed by.
MOST_NAME = 36
MOST_TOPIC = 200
# So many arrivals in a row must tell the same of a clock before it is doubted.
ARRIVALS = 3
LATE = timedelta(minutes=15)
# Arrivals that differ more are late for another reason, such as a backlog that is being sent.
STEADY = timedelta(minutes=5)
HOUR = timedelta(hours=1)
MINUTE = timedelta(minutes=1)
APART_C = 3.0


class Arrival(NamedTuple):
    """A reading that came alone: the instant that it says of itself, and when it came in."""

    at: datetime
    entered_at: datetime


class LastReading(NamedTuple):
    """The latest that one thermometer said; `name` is what the shop calls it."""

    name: str
    at: datetime
    celsius: float


def faults_of_sensor(name: str, topic: str | None) -> dict[str, str]:
    """Everything that keeps a sensor's facts from being right, by field; empty when they are."""
    errors = {}
    if not 1 <= len(name) <= MOST_NAME:
        errors["name"] = f"The sensor needs a name of 1 to {MOST_NAME} characters."
    if topic is not None and (fault := _fault_of_topic(topic)):
        errors["topic"] = fault
    return errors


def _fault_of_topic(topic: str) -> str:
    if not 1 <= len(topic) <= MOST_TOPIC:
        return f"A topic has 1 to {MOST_TOPIC} characters."
    if set(topic) & set("+#"):
        return "A topic with + or # stands for many; a sensor has one of its own."
    if topic.startswith("$"):
        return "Topics that begin with $ are the broker's own."
    if not topic.isprintable():
        return "The topic has a character in it that cannot be kept; please type it again."
    return ""


def retired_name(name: str, day: date, taken: Iterable[str]) -> str:
    """What a sensor is called once it has ended, so that another may have its name."""
    names = set(taken)
    retired, count = f"{name} (ended {day})", 1
    while retired in names:
        count += 1
        retired = f"{name} (ended {day}, {count})"
    return retired


def is_silent(last_at: datetime | None, now: datetime, gap: timedelta) -> bool:
    """Whether a thermometer no longer speaks: its last reading is as old as the shop's reading gap."""
    return last_at is None or now - last_at >= gap


def fault_of_clock(arrivals: Sequence[Arrival]) -> str:
    """What the last arrivals, in the order in which they came, say of a sensor's clock; empty if nothing.

    They do where each was late, by much and by about the same. A clock that is ahead shows itself
    otherwise: its readings come from the future and are refused.
    """
    late = [came.entered_at - came.at for came in arrivals[-ARRIVALS:]]
    if len(late) < ARRIVALS or min(late) <= LATE or max(late) - min(late) > STEADY:
        return ""
    # Readings take a moment to come, so the least late of them says most about the clock.
    hours = round(min(late) / HOUR)
    slow = hours * HOUR if hours and abs(min(late) - hours * HOUR) <= STEADY else min(late)
    return (
        f"its clock seems {slow // MINUTE} min slow: set it; until then its readings count for the wrong time"
    )


def disagreement(latest: Iterable[LastReading], now: datetime) -> str:
    """What to say where two thermometers of one zone contradicted each other in the last hour, or nothing."""
    recent = sorted(
        (last for last in latest if now - last.at <= HOUR), key=lambda last: (last.celsius, last.name)
    )
    if len(recent) < 2 or recent[-1].celsius - recent[0].celsius <= APART_C:
        return ""
    cold, warm = recent[0], recent[-1]
    return (
        f"“{cold.name}” says {cold.celsius:.1f} °C and “{warm.name}” says {warm.celsius:.1f} °C: "
        "the colder one counts for every cure, the warmer one for a pot life."
    )
