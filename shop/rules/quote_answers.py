"""Whether a quote may be answered, and what is said where it may not: the same for page, API and service."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

YES, NO = "yes", "no"
ANSWERS = (YES, NO)
MOST_NAME = 120


class QuoteState(StrEnum):
    """Where a quote stands."""

    DRAFT = "not sent"
    OPEN = "sent"
    AGREED = "yes"
    REFUSED = "no"
    WITHDRAWN = "withdrawn"
    CLOSED = "order closed"
    OUTDATED = "outdated"
    EXPIRED = "expired"


@dataclass(frozen=True, slots=True)
class Standing:
    """What is known of a quote: `answer` is `yes`, `no` or empty, `newer_sent` the number of a later one.

    `order_closed` is set where the order was declined or cancelled.
    """

    number: int
    is_sent: bool
    is_withdrawn: bool = False
    answer: str = ""
    newer_sent: int | None = None
    valid_until: date | None = None
    order_closed: bool = False


def state_of(standing: Standing, day: date) -> QuoteState:
    """Where a quote stands on a day. A yes stays a yes; the last day of a quote still counts."""
    checks = (
        (not standing.is_sent and not standing.is_withdrawn, QuoteState.DRAFT),
        (standing.answer == YES, QuoteState.AGREED),
        (standing.is_withdrawn, QuoteState.WITHDRAWN),
        (standing.order_closed, QuoteState.CLOSED),
        (standing.answer == NO, QuoteState.REFUSED),
        (standing.newer_sent is not None, QuoteState.OUTDATED),
        (standing.valid_until is not None and day > standing.valid_until, QuoteState.EXPIRED),
    )
    return next((state for holds, state in checks if holds), QuoteState.OPEN)


def why_not(standing: Standing, day: date) -> str:
    """Why a quote can no longer be answered, in words for whoever tries; empty where it can be."""
    sentences = {
        QuoteState.OPEN: "",
        QuoteState.DRAFT: "This quote has not been sent yet.",
        QuoteState.AGREED: "This quote has been answered with yes already.",
        QuoteState.REFUSED: "This quote has been answered with no already.",
        QuoteState.WITHDRAWN: "This quote has been withdrawn.",
        QuoteState.CLOSED: "The order has been closed, so there is nothing to answer.",
        QuoteState.OUTDATED: (
            f"Quote {standing.newer_sent} has been sent since; this one, quote {standing.number}, no longer "
            "counts."
        ),
        QuoteState.EXPIRED: f"This quote could be answered until {standing.valid_until}; that day is over.",
    }
    return sentences[state_of(standing, day)]
