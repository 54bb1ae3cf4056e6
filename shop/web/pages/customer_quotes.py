"""A quote as the customer sees it, by its own private link: read, and answered once with yes or no.

Works without scripts and with no cookie of ours. A link that is unknown or withdrawn always answers the same.
"""

from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.builds import build_view_by_id
from shop.queries.payments import owed_of_build
from shop.queries.quotes import QuoteView, quote_of_token
from shop.queries.specs import specs_of
from shop.rules.quote_answers import YES, QuoteState, why_not
from shop.rules.refusals import NotOnFile
from shop.services.quotes import CUSTOMER, GONE, answer_quote
from shop.services.status_links import live_token
from shop.services.tokens import hash_of
from shop.web.benches import TheBench
from shop.web.deps import Form, Reading, Writing
from shop.web.forms import FormView, showing_again
from shop.web.offer_lines import customer_lines, what_goes_in
from shop.web.private_pages import HEADERS, privately
from shop.web.running import ReadingRoute
from shop.web.spec_page import blank_of
from shop.web.spec_words import spec_lines
from shop.web.templating import Frame, Page
from shop.web.wording import amount, day

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE, NONE = "pages/customer_quote.html", "pages/customer_quote_none.html"


@router.get("/quote/{token:path}")
def show_customer_quote(page: Page, session: Reading, bench: TheBench, token: str) -> Response:
    """The quote, with a form to answer it while it may be answered."""
    with privately(page, NONE):
        found = _found(session, token)
        told = quote_told(session, page.hub.secret, found, bench.now, page.zone)
        response = page.show(TEMPLATE, form=FormView(), **told)
    response.headers.update(HEADERS)
    return response


@router.post("/quote/{token:path}")
def take_customer_answer(page: Page, session: Writing, bench: TheBench, token: str, posted: Form) -> Response:
    """The customer's yes or no; then the same page, which says what was answered."""
    with (
        privately(page, NONE),
        showing_again(page, TEMPLATE, posted, lambda: _told_anew(session, page, token, bench.now)),
    ):
        answer, name = posted.get("answer", ""), posted.get("name", "")
        customer = bench.bench(session, CUSTOMER)
        answer_quote(session, page.hub.secret, token, customer, answer=answer, name=name)
    response = page.go(f"/quote/{token}")
    response.headers.update(HEADERS)
    return response


def _found(session: Session, token: str) -> QuoteView:
    found = quote_of_token(session, hash_of(token))
    if found is None:
        raise NotOnFile(GONE)
    return found


def _told_anew(session: Session, page: Frame, token: str, now: datetime) -> dict[str, Any]:
    # What was written before a refusal is dropped; the page must not show it as taken.
    session.rollback()
    return quote_told(session, page.hub.secret, _found(session, token), now, page.zone)


def quote_told(
    session: Session, secret: bytes, quote: QuoteView, now: datetime, zone: ZoneInfo
) -> dict[str, Any]:
    """What the customer may know of a quote, in finished words."""
    today, answered_at = now.astimezone(zone).date(), quote.answered_at
    paid_cents = owed_of_build(session, quote.build_id).paid_cents
    answered_on = "" if answered_at is None else day(answered_at.astimezone(zone).date(), today)
    return {
        "title": build_view_by_id(session, quote.build_id).title,
        "number": quote.number,
        "made_on": day(quote.offer.day, today),
        "valid_until": "" if quote.valid_until is None else day(quote.valid_until, today),
        "lines": customer_lines(quote.offer),
        "paid": amount(paid_cents, quote.offer.currency) if paid_cents > 0 else "",
        "spec": _spec_lines(session, quote),
        "goes_in": what_goes_in(quote.offer),
        "note": quote.note,
        "words": quote.offer.words,
        "answer": quote.answer,
        "said_by": quote.said_by,
        "answered_on": answered_on,
        "is_open": quote.state(today) is QuoteState.OPEN,
        "why_not": _why_not(quote, today),
        "news_token": live_token(session, secret, quote.build_id) if quote.answer == YES else None,
    }


def _why_not(quote: QuoteView, today: date) -> str:
    """Why nothing can be answered any more, or why a yes no longer counts; empty otherwise."""
    if quote.answer:
        return "The order has been closed since." if quote.answer == YES and quote.order_closed else ""
    return why_not(quote.standing, today)


def _spec_lines(session: Session, quote: QuoteView) -> list[tuple[str, str]]:
    """What the spec says at the revision that the quote is for; nothing where there is none."""
    revisions = specs_of(session, quote.build_id) if quote.spec_revision else []
    found = next((spec for spec in revisions if spec.revision == quote.spec_revision), None)
    if found is None:
        return []
    return [
        (line.label, line.text)
        for line in spec_lines(found.value, blank_of(session, found), for_customer=True)
    ]
