"""The quotes of a build as their page shows them: finished values for the template."""

from datetime import date, datetime
from typing import Any, NamedTuple

from shop.db.sessions import Session
from shop.queries.builds import build_view
from shop.queries.payments import owed_of_build
from shop.queries.quote_beginnings import suggestion_for
from shop.queries.quotes import QuoteView, quotes_of_build
from shop.queries.specs import revisions_of_build
from shop.queries.tax_rules import tax_rules_on
from shop.rules.people import Right
from shop.rules.quote_answers import QuoteState, why_not
from shop.rules.quote_terms import PartsAt, quote_terms_from
from shop.rules.quotes import Offer, Suggestion
from shop.services.quotes import live_token
from shop.web.benches import BenchSide
from shop.web.offer_lines import OfferLine, address_in_sums, customer_lines, desk_figures
from shop.web.quote_form import (
    SPARE_PARTS,
    SPARE_REWORKS,
    PartRow,
    QuoteRows,
    ReworkRow,
    rows_of,
    rows_to_begin_with,
)
from shop.web.templating import Frame
from shop.web.wording import amount, day, when

# What the desk reads of a state; the customer reads `why_not`.
STATE_WORDS = {
    QuoteState.DRAFT: "not sent yet", QuoteState.OPEN: "sent, not answered yet",
    QuoteState.AGREED: "the customer said yes", QuoteState.REFUSED: "the customer said no",
    QuoteState.WITHDRAWN: "withdrawn", QuoteState.CLOSED: "the order is closed",
    QuoteState.OUTDATED: "outdated by a later one", QuoteState.EXPIRED: "not answered in time",
}  # fmt: skip


class OfferView(NamedTuple):
    """An offer worked out: what the customer reads, what the desk looks at, and how it comes about."""

    lines: list[OfferLine]
    figures: list[tuple[str, str]]
    working: tuple[str, ...]
    has_taxes: bool
    sum_href: str


class QuoteShown(NamedTuple):
    """One quote in full, with what may be done with it."""

    id: int
    number: int
    state: str
    facts: list[tuple[str, str]]
    note: str
    offer: OfferView
    url: str
    why_not: str
    may_send: bool
    may_withdraw: bool
    may_answer: bool


class QuotePage:
    """What the page of a build's quotes rests on, read once."""

    def __init__(self, page: Frame, session: Session, bench: BenchSide, number: str) -> None:
        self.page, self.session, self.bench = page, session, bench
        self.build = build_view(session, number)
        self.quotes = quotes_of_build(session, self.build.id)
        self.currency = owed_of_build(session, self.build.id).currency
        laid_down = revisions_of_build(session, self.build.id)
        self.revision, self.has_make_up = laid_down.spec, laid_down.make_up > 0
        self.terms = quote_terms_from(page.shop.quote_terms)
        self.today = bench.now.astimezone(page.zone).date()

    @property
    def newest(self) -> int:
        """The number of the newest quote, 0 before the first."""
        return self.quotes[0].number if self.quotes else 0

    def suggestion(self) -> Suggestion:
        """What the make-up and the stages suggest."""
        sequence = self.bench.hub.sequences.of_build(self.session, self.build.sequence_id).value
        parts_at = PartsAt.PRICE if self.terms is None else self.terms.parts_at
        return suggestion_for(self.session, self.build, sequence, parts_at, self.currency)

    def rows(self, anew: bool) -> QuoteRows:
        """The rows to begin with: those of the newest quote, or what the make-up suggests."""
        if self.quotes and not anew:
            return rows_of(self.quotes[0].offer.lines, self.terms, self.today)
        return rows_to_begin_with(self.terms, self.suggestion(), self.today)


def quote_context(
    at: QuotePage, rows: QuoteRows, *, shown: int = 0, preview: Offer | None = None, opened: bool = False
) -> dict[str, Any]:
    """Everything that `pages/quote.html` needs but its form; `shown` is the number of the quote in full."""
    found = next((quote for quote in at.quotes if quote.number == (shown or at.newest)), None)
    person = at.page.person
    return {
        "build": at.build,
        "currency": at.currency,
        "revision": at.revision,
        "newest": at.newest,
        "next_number": at.newest + 1,
        "shown": None if found is None else quote_shown(at, found),
        "others": [_line(at, quote) for quote in at.quotes],
        "preview": None if preview is None else offer_view(preview),
        "opened": opened or not at.quotes,
        "parts": rows.parts + [PartRow()] * SPARE_PARTS,
        "reworks": rows.reworks + [ReworkRow()] * SPARE_REWORKS,
        "values": rows.values,
        "unpriced": [row.name for row in rows.parts if row.name and not row.price],
        "has_make_up": at.has_make_up,
        "has_terms": at.terms is not None,
        "taxes": [f"{view.name}" for view in tax_rules_on(at.session) if view.rule.holds_on(at.today)],
        "may_ways": person is not None and person.may(Right.WAYS),
        "may_quote": not at.build.closed_as,
    }


def offer_view(offer: Offer) -> OfferView:
    """An offer in finished words."""
    return OfferView(
        customer_lines(offer), desk_figures(offer), offer.working, bool(offer.made.taxes),
        address_in_sums(offer),
    )  # fmt: skip


def quote_shown(at: QuotePage, quote: QuoteView) -> QuoteShown:
    """One quote in full."""
    state = quote.state(at.today)
    token = live_token(at.page.hub.secret, quote)
    is_meant = quote.spec_revision == at.revision and quote.newer_sent is None
    answered = {QuoteState.OPEN, QuoteState.REFUSED, QuoteState.EXPIRED}
    return QuoteShown(
        quote.id, quote.number, STATE_WORDS[state], _facts(at, quote), quote.note, offer_view(quote.offer),
        "" if token is None else f"{at.page.base_url}/quote/{token}",
        _why_not(at, quote, state),
        may_send=state is QuoteState.DRAFT and is_meant and not quote.order_closed,
        may_withdraw=quote.answer != "yes" and quote.withdrawn_at is None,
        may_answer=state in answered and quote.newer_sent is None,
    )  # fmt: skip


def _why_not(at: QuotePage, quote: QuoteView, state: QuoteState) -> str:
    """What is to be known of a quote that cannot be sent or answered as it is; empty where all is well."""
    if state in (QuoteState.DRAFT, QuoteState.OPEN) and quote.spec_revision != at.revision:
        return (
            f"The spec is at revision {at.revision} now; this quote is for revision {quote.spec_revision}. "
            "Make a new one."
        )
    if state in (QuoteState.DRAFT, QuoteState.OPEN, QuoteState.AGREED, QuoteState.REFUSED):
        return ""
    return why_not(quote.standing, at.today)


def _facts(at: QuotePage, quote: QuoteView) -> list[tuple[str, str]]:
    now, zone = at.bench.now, at.page.zone

    def said(instant: datetime | None) -> str:
        return "" if instant is None else when(instant, now, zone)

    who = f" by {quote.said_by}" if quote.said_by else ""
    how = f", taken down by {quote.taken_down_by}" if quote.taken_down_by else ", over their link"
    answered = f"{quote.answer}{who}, {said(quote.answered_at)}{how}" if quote.answer else ""
    pairs = (
        ("For", f"revision {quote.spec_revision} of the spec" if quote.spec_revision else "no spec on file"),
        ("Made", f"{said(quote.made_at)} by {quote.by}"),
        ("Sent", said(quote.sent_at)),
        ("May be answered until", _day(quote.valid_until, at.today)),
        ("Answered", answered),
        ("Note", quote.answer_note),
        ("Withdrawn", said(quote.withdrawn_at)),
    )
    return [(label, words) for label, words in pairs if words]


def _day(value: date | None, today: date) -> str:
    return "" if value is None else day(value, today)


def _line(at: QuotePage, quote: QuoteView) -> list[Any]:
    href = f"/builds/{at.build.number}/quote?show={quote.number}"
    return [
        {"text": f"Quote {quote.number}", "href": href}, str(quote.spec_revision or "–"),
        when(quote.made_at, at.bench.now, at.page.zone), STATE_WORDS[quote.state(at.today)],
        amount(quote.offer.made.total_cents, quote.offer.currency),
    ]  # fmt: skip
