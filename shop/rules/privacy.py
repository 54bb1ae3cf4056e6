"""Privacy: which kinds of record are kept about a customer and why, and what is left of them after erasing.

Pure: what is on record is counted and found in `shop.queries.privacy`, and erased in `shop.services.privacy`.
"""

import re
import unicodedata
from collections.abc import Sequence
from typing import Any, NamedTuple

ERASED_NAME = "Customer erased"
ERASED_WORDS = "(erased)"
# Why somebody is erased while an order is open or money is owed: words that name nobody, for the record.
REASONS = ("the customer asked for it", "the law asks for it", "taken down by mistake", "another reason")
# What is shorter would be found in the words of everybody.
LEAST_LETTERS = 3
LEAST_DIGITS = 5


class RecordKindKept(NamedTuple):
    """A kind of record: its name in the export, what it is called, why it is kept, and what erasing does."""

    name: str
    label: str
    why: str
    erasing: str


KINDS = (
    RecordKindKept(
        "customer", "Name and how to reach them", "to know whose rod it is and to answer",
        "goes, and the entry says that the customer was erased",
    ),
    RecordKindKept(
        "builds", "Rods", "what was made, and how, for repairs and warranty",
        "the rod's record stays; its notes go",
    ),
    RecordKindKept(
        "specs", "What was asked for", "to build what was ordered",
        "figures and parts stay; wishes and hand size go",
    ),
    RecordKindKept(
        "quotes", "Quotes and answers", "what was agreed, for the accounts", "sums stay; names and notes go"
    ),
    RecordKindKept("payments", "Payments", "for the accounts and the tax office", "stay; they name nobody"),
    RecordKindKept("promises", "Promised days", "to keep them", "stay; they name nobody"),
    RecordKindKept("messages", "Messages", "to answer them", "their words go"),
    RecordKindKept("mails", "Mail sent or waiting", "to send nothing twice", "addresses and words go"),
    RecordKindKept("photos", "Photos", "how the rod was made", "are shown to the customer no longer"),
    RecordKindKept(
        "intakes", "Condition lists of repairs", "how the rod came in", "conditions stay; name and wish go"
    ),
    RecordKindKept("returns", "Rods that came back", "to build better ones", "stay; notes go"),
    RecordKindKept(
        "status_links", "Links to News of your rod", "so that the customer can look", "are ended"
    ),
)  # fmt: skip


def traces_of(name: str, email: str, phone: str) -> tuple[str, ...]:
    """What tells a person in any text: whole name, e-mail address, telephone number; the longest first.

    A name of one or two letters tells nobody, and so does a number of few digits.
    """
    found = []
    whole = " ".join(name.split())
    if len(whole) >= LEAST_LETTERS:
        found.append(whole)
    if "@" in email:
        found.append(email.strip())
    if sum(character.isdigit() for character in phone) >= LEAST_DIGITS:
        found.append(phone.strip())
    return tuple(sorted(found, key=len, reverse=True))


def scrubbed(value: Any, traces: Sequence[str]) -> Any:
    """A text, or whatever a JSON column holds, with every trace put out, in capitals or not."""
    if isinstance(value, str):
        return _pattern(traces).sub(ERASED_WORDS, value) if traces else value
    if isinstance(value, list):
        return [scrubbed(item, traces) for item in value]
    if isinstance(value, dict):
        return {key: scrubbed(item, traces) for key, item in value.items()}
    return value


def _pattern(traces: Sequence[str]) -> re.Pattern[str]:
    # Not inside of a longer word or number, which is somebody or something else; over a line's end too.
    whole = "|".join(r"\s+".join(map(re.escape, trace.split())) for trace in traces)
    return re.compile(rf"(?<!\w)(?:{whole})(?!\w)", re.IGNORECASE)


def faults_of_erasing(typed: str, name: str, reason: str, obstacles: Sequence[str]) -> dict[str, str]:
    """What keeps a customer from being erased, by field; `obstacles` are sentences such as open orders."""
    errors = {}
    if _as_read(typed) != _as_read(name):
        errors["confirm"] = f"Type the name as it stands on file, {name}, to erase for good."
    if reason and reason not in REASONS:
        errors["reason"] = f"The reason must be one of {', '.join(REASONS)}."
    elif obstacles and not reason:
        errors["reason"] = " ".join(obstacles) + " Choose a reason to erase the customer all the same."
    return errors


def _as_read(name: str) -> str:
    """A name as eyes read it: neither how its accents are put together nor how wide its gaps are shows."""
    return " ".join(unicodedata.normalize("NFC", name).split())
