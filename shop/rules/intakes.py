"""Intakes of repairs: what is looked at when a rod comes in, in which state it may be, and the words for it.

What is on the list is common practice, no source; a shop writes down what it sees beside each. Which stages
follow is a sequence's (`shop.rules.sequences`).
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date
from typing import Any

# The check that whoever brought the rod ticks by signing, in the ready-made sequences of repairs.
CONDITIONS_SIGNED = "condition list signed"
NOT_LOOKED_AT, SOUND = "not looked at", "sound"
STATES = (NOT_LOOKED_AT, SOUND, "worn", "loose", "cracked", "missing")
BEFORE_GUIDES = ("tip-top",)
AFTER_GUIDES = (
    "sections and ferrules", "blank", "fore grip", "reel seat", "rear grip", "butt cap", "finish",
    "missing parts",
)  # fmt: skip
MOST_GUIDES, FIRST_GUIDES = 30, 8
MOST_ROD, MOST_WISH, MOST_NOTE, MOST_NAME, MOST_WORK = 200, 4000, 200, 120, 80
# The sides of a repair that are to be photographed: how it came, from both.
PHOTO_SIDES = ("left", "right")
SEQUENCE_PREFIX = "Repair: "


@dataclass(frozen=True, slots=True)
class Condition:
    """One thing that was looked at, the state it was in, and what was seen of it."""

    item: str
    state: str = NOT_LOOKED_AT
    note: str = ""


@dataclass(frozen=True, slots=True)
class IntakeSaid:
    """A rod as it came in: what it is in words, what is wished for, on which day, and its conditions."""

    brought_on: date
    rod: str = ""
    wish: str = ""
    conditions: tuple[Condition, ...] = ()


def items_for(guides: int) -> tuple[str, ...]:
    """What is looked at on a rod with so many guides, from tip to butt; the tip-top is not counted."""
    of_guides = tuple(f"guide {n} {what}" for n in range(1, guides + 1) for what in ("ring", "wrap"))
    return (*BEFORE_GUIDES, *of_guides, *AFTER_GUIDES)


def guides_among(conditions: Iterable[Condition]) -> int:
    """How many guides a list has rows for."""
    return sum(item.item.startswith("guide ") and item.item.endswith(" ring") for item in conditions)


def blank_list(guides: int) -> tuple[Condition, ...]:
    """The list before anything was looked at."""
    return tuple(Condition(item) for item in items_for(guides))


def with_guides(conditions: Sequence[Condition], guides: int) -> tuple[Condition, ...]:
    """A list with rows for so many guides; what was said of those that stay is kept."""
    said = {item.item: item for item in conditions}
    return tuple(said.get(item, Condition(item)) for item in items_for(guides))


def rest_sound(conditions: Iterable[Condition]) -> tuple[Condition, ...]:
    """A list on which whatever was not looked at so far is sound."""
    return tuple(replace(row, state=SOUND) if row.state == NOT_LOOKED_AT else row for row in conditions)


def faults_of_intake(said: IntakeSaid, today: date) -> dict[str, str]:
    """Everything that keeps an intake from making sense, by field; rows are called `conditions.3.state`."""
    errors = {}
    if not said.rod.strip():
        errors["rod"] = "Say which rod it is: maker, length, colour, whatever tells it from others."
    elif len(said.rod) > MOST_ROD or not said.rod.isprintable():
        errors["rod"] = f"Say which rod it is in one line of at most {MOST_ROD} characters."
    if not said.wish.strip():
        errors["wish"] = "Say what is to be done, in the words of whoever brought it."
    elif len(said.wish) > MOST_WISH or "\0" in said.wish:
        errors["wish"] = f"What is to be done has at most {MOST_WISH} characters."
    if said.brought_on > today:
        errors["brought_on"] = f"The day it was brought cannot lie after today, {today}."
    return errors | _faults_of_conditions(said.conditions)


def _faults_of_conditions(conditions: Sequence[Condition]) -> dict[str, str]:
    errors: dict[str, str] = {}
    known = set(items_for(MOST_GUIDES))
    seen: set[str] = set()
    for number, row in enumerate(conditions, 1):
        at = f"conditions.{number}"
        if row.item not in known:
            errors[f"{at}.item"] = f"Row {number}: “{row.item[:40]}” is not on the list of what is looked at."
        elif row.item in seen:
            errors[f"{at}.item"] = f"Row {number}: {row.item} is on the list already."
        seen.add(row.item)
        if row.state not in STATES:
            errors[f"{at}.state"] = f"Row {number}: the state must be one of {', '.join(STATES)}."
        if len(row.note) > MOST_NOTE or not row.note.isprintable():
            errors[f"{at}.note"] = f"Row {number}: the note is one line of at most {MOST_NOTE} characters."
    return errors


def fault_of_signing(name: str, conditions: Sequence[Condition]) -> dict[str, str]:
    """What keeps a list from being signed, by field."""
    if not any(row.state != NOT_LOOKED_AT for row in conditions):
        return {"conditions": "Nothing on the list has been looked at yet; there is nothing to sign."}
    if not name.strip():
        return {"signed_name": "Say who signs: the name of whoever brought the rod."}
    if len(name) > MOST_NAME or not name.isprintable():
        return {"signed_name": f"The name is one line of at most {MOST_NAME} characters."}
    return {}


def said_of_conditions(conditions: Sequence[Condition]) -> str:
    """A list in a few words that name nobody: `3 of 25 points amiss, 2 not looked at.`"""
    left = sum(row.state == NOT_LOOKED_AT for row in conditions)
    amiss = sum(row.state not in (NOT_LOOKED_AT, SOUND) for row in conditions)
    return f"{amiss} of {len(conditions)} points amiss, {left} not looked at."


def document_of(conditions: Iterable[Condition]) -> list[dict[str, Any]]:
    """A list as it is kept."""
    return [asdict(row) for row in conditions]


def conditions_from(kept: Iterable[Mapping[str, Any]]) -> tuple[Condition, ...]:
    """A list from what was kept of it; the reverse of `document_of`."""
    return tuple(Condition(**row) for row in kept)


def sides_lacking(sides: Iterable[str]) -> tuple[str, ...]:
    """Which sides of a rod have no photo yet, of those that are to be photographed as it came."""
    there = set(sides)
    return tuple(side for side in PHOTO_SIDES if side not in there)


def work_of(sequence_name: str) -> str:
    """What a sequence of repairs does, without the word that all of them begin with."""
    return sequence_name.removeprefix(SEQUENCE_PREFIX)
