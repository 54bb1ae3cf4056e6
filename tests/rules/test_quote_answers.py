"""Whether a quote may be answered: every state, which of them wins, and the last day to the day."""

from dataclasses import replace
from datetime import date

import pytest

from shop.rules.quote_answers import QuoteState, Standing, state_of, why_not

DAY = date(2026, 3, 14)
SENT = Standing(1, is_sent=True, valid_until=DAY)
LATER = date(2026, 3, 15)


@pytest.mark.parametrize(
    ("standing", "day", "state", "says"),
    [
        (Standing(1, is_sent=False), DAY, QuoteState.DRAFT, "has not been sent yet"),
        (Standing(1, is_sent=False, is_withdrawn=True), DAY, QuoteState.WITHDRAWN, "withdrawn"),
        (SENT, DAY, QuoteState.OPEN, ""),
        (SENT, LATER, QuoteState.EXPIRED, "could be answered until 2026-03-14; that day is over"),
        (replace(SENT, valid_until=None), date(2099, 1, 1), QuoteState.OPEN, ""),
        (replace(SENT, newer_sent=2), DAY, QuoteState.OUTDATED, "Quote 2 has been sent since; this one, q"),
        (replace(SENT, newer_sent=2), LATER, QuoteState.OUTDATED, "Quote 2 has been sent since"),
        (replace(SENT, order_closed=True), DAY, QuoteState.CLOSED, "The order has been closed"),
        (replace(SENT, is_withdrawn=True), DAY, QuoteState.WITHDRAWN, "This quote has been withdrawn."),
        (replace(SENT, answer="no"), DAY, QuoteState.REFUSED, "answered with no already"),
        (replace(SENT, answer="no", newer_sent=2), DAY, QuoteState.REFUSED, "answered with no already"),
        # A yes stays a yes whatever happens afterwards.
        (replace(SENT, answer="yes"), LATER, QuoteState.AGREED, "answered with yes already"),
        (replace(SENT, answer="yes", newer_sent=2, order_closed=True), LATER, QuoteState.AGREED, "yes"),
    ],
)
def test_where_a_quote_stands(standing: Standing, day: date, state: QuoteState, says: str) -> None:
    assert state_of(standing, day) is state
    why = why_not(standing, day)
    assert (says in why) if says else why == ""
