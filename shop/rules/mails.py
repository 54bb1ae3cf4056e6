"""Mail to customers: its kinds, what each may say, which stage tells which, and how often it is tried.

What a mail's words look like and how they are filled in is `shop.rules.mail_words`; addresses are judged in
`shop.rules.mail_addresses`. Nothing here sends anything.
"""

import unicodedata
from collections.abc import Collection
from datetime import date, datetime, timedelta
from enum import StrEnum

from shop.rules.decide import next_stage
from shop.rules.sequences import Sequence, Stage


class MailKind(StrEnum):
    """On which occasion a mail is written. Each has words of its own, and is off until an owner says."""

    STAGE = "stage"
    READY = "ready"
    HANDED_OVER = "handed_over"
    SLIP = "slip"
    QUOTE = "quote"
    CARE = "care"


class MailState(StrEnum):
    """How far a mail in the outbox has come."""

    WAITING = "waiting"
    SENT = "sent"
    GIVEN_UP = "given_up"


class Security(StrEnum):
    """How the line to the mail server is kept private: from the start, after a greeting, or not."""

    TLS = "tls"
    STARTTLS = "starttls"
    NONE = "none"


TITLES = {
    MailKind.STAGE: "Stage reached", MailKind.READY: "Rod ready", MailKind.HANDED_OVER: "Handed over",
    MailKind.SLIP: "Promise moved", MailKind.QUOTE: "Quote", MailKind.CARE: "Care note",
}  # fmt: skip
OCCASIONS = {
    MailKind.STAGE: "A stage is reached that tells the customer (each stage of a sequence says so itself).",
    MailKind.READY: "Only the handing over is left.",
    MailKind.HANDED_OVER: "The rod is handed over.",
    MailKind.SLIP: "The promised day moves.",
    MailKind.QUOTE: "A quote is sent.",
    MailKind.CARE: "Thirty days after the handing over, unless the rod has come back by then.",
}
_ALWAYS = ("customer", "rod", "number", "shop", "link")
# What a template may ask for, by kind, beside what each of them may.
_BESIDE: dict[MailKind, tuple[str, ...]] = {
    MailKind.STAGE: ("stage", "day", "owed"),
    MailKind.READY: ("stage", "day", "owed"),
    MailKind.HANDED_OVER: ("stage", "day", "owed", "care"),
    MailKind.SLIP: ("day", "was", "reason"),
    MailKind.QUOTE: ("total", "until"),
    MailKind.CARE: ("day", "care"),
}
PLACEHOLDERS: dict[MailKind, tuple[str, ...]] = {
    kind: (*_ALWAYS, *beside) for kind, beside in _BESIDE.items()
}
MEANINGS = {
    "customer": "the customer's name", "rod": "the rod's title", "number": "its printed number",
    "shop": "the shop's name", "link": "the address of the customer's own page",
    "stage": "the stage, in the customer's words", "day": "the day it was reached, or is promised now",
    "owed": "what is still owed, with its currency", "care": "the shop's care sheet",
    "was": "the day that was promised before", "reason": "why the day moved",
    "total": "what the quote comes to", "until": "the last day on which it stands",
}  # fmt: skip
DAY_NOT_KNOWN = "not known yet"

CARE_AFTER = timedelta(days=30)
# A server that was off writes the note late; whoever switches mail on writes none to customers of long ago.
CARE_AT_LATEST = CARE_AFTER + timedelta(days=14)

# A fault of the line or the server is often over in minutes, a full mailbox or a moved server in a day or
# two; RFC 5321 4.5.4.1 asks for longer waits after the first tries and for several days in all.
_WAIT_MINUTES = (1, 5, 15, 30, 60, 120, 240, 480, 720, 720, 720, 720)
MOST_TRIES = len(_WAIT_MINUTES) + 1
# A mail that nobody tried for so long, since mail was switched off or the server was, may no longer be true.
STALE_AFTER = timedelta(days=7)

MOST_SUBJECT = 200
MOST_TEXT = 10_000
MOST_HTML = 30_000
MOST_ERROR = 500

_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
    "November", "December",
)  # fmt: skip


def key_of(kind: MailKind, record_id: int) -> str:
    """What makes a mail the only one of its occasion: `stage:812`.

    `record_id` is that of the event (also for `ready` and `handed_over`, which are stages and share their
    key with it), the promise, the quote, or for `care` the build.
    """
    told = MailKind.STAGE if kind in (MailKind.READY, MailKind.HANDED_OVER) else kind
    return f"{told}:{record_id}"


def record_id_of(key: str) -> int:
    """The id that a key was made from."""
    return int(key.rpartition(":")[2])


def kinds_for_stage(sequence: Sequence, stage: Stage, reached: Collection[str]) -> tuple[MailKind, ...]:
    """The kinds of mail that reaching a stage may be told with, the fittest first; the first one on counts.

    `reached` has every stage reached by now, this one included. A stage without words for the customer is
    never told as such, whatever else it says.
    """
    as_such = (MailKind.STAGE,) if stage.tells_customer and stage.customer_words else ()
    coming = next_stage(sequence, reached)
    if coming is None:
        return (MailKind.HANDED_OVER, *as_such)
    if coming is sequence.stages[-1]:
        return (MailKind.READY, *as_such)
    return as_such


def wait_after(tries: int) -> timedelta | None:
    """How long to wait after so many tries that failed; none once it is to be given up."""
    return timedelta(minutes=_WAIT_MINUTES[tries - 1]) if tries < MOST_TRIES else None


def is_stale(due_at: datetime, now: datetime) -> bool:
    """Whether a mail was due so long ago that nobody should send it without a look."""
    return now - due_at > STALE_AFTER


def day_words(day: date) -> str:
    """A day as it is written in a mail, which outlives the week: `Thursday 26 November 2026`."""
    return f"{_DAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]} {day.year}"


def one_line(text: str, most: int) -> str:
    """A text as one line of at most `most` characters: what would end a line of a header is a space."""
    # "Cc" has the line ends and other controls, "Zl" and "Zp" the line and paragraph separators.
    plain = "".join(" " if unicodedata.category(sign) in ("Cc", "Zl", "Zp") else sign for sign in text)
    line = " ".join(plain.split())
    return line if len(line) <= most else line[: most - 1].rstrip() + "…"
