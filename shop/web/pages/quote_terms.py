"""The shop's own rates under Ways: what a quote begins with, and the words customers read with it."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.craft.saying import say_money
from shop.queries.shop import shop_version
from shop.rules.quote_terms import MOST_DAYS_VALID, MOST_WORDS, PartsAt, QuoteTerms, quote_terms_from
from shop.services.quote_terms import save_quote_terms
from shop.web.deps import Form, Reading, Writing
from shop.web.doors import AtWays
from shop.web.forms import Fields, FormView, showing_again
from shop.web.quote_form import percent_values, terms_of
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/quote_terms.html"
MOST_VERSION = 10**9


@router.get("/ways/quote-terms")
def show_quote_terms(actor: AtWays, page: Page, session: Reading) -> Response:
    """The shop's rates, to change."""
    values = {"version": shop_version(session), "words": page.shop.terms, **_values(page)}
    return page.show(TEMPLATE, here="ways", form=FormView(values), currency=page.shop.currency)


@router.post("/ways/quote-terms")
def keep_quote_terms(actor: AtWays, page: Page, session: Writing, posted: Form) -> Response:
    """Change the shop's rates for the quotes to come."""
    page.here = "ways"
    with showing_again(page, TEMPLATE, posted, lambda: {"currency": page.shop.currency}):
        fields = Fields(posted)
        words = fields.text("words", "The terms", MOST_WORDS)
        version = fields.required(
            "version", "The version", fields.whole("version", "The version", 1, MOST_VERSION)
        )
        said = _said(fields)
        save_quote_terms(session, said, words, version=version or 0)
    return page.go("/ways/quote-terms", "What quotes begin with is saved.")


def _said(fields: Fields) -> QuoteTerms:
    """The rates as typed. Raises `BadInput` with every fault."""
    rate = fields.required("rate_cents", "The rate", fields.cents("rate_cents", "The rate"))
    consumables = fields.required(
        "consumables_cents", "The consumables", fields.cents("consumables_cents", "The consumables")
    )
    days = fields.required(
        "days_valid", "The days", fields.whole("days_valid", "The days", 1, MOST_DAYS_VALID)
    )
    terms = terms_of(fields)
    parts_at = fields.choice("parts_at", "What a part counts with", tuple(PartsAt))
    fields.done()
    return QuoteTerms(rate or 0, terms, consumables or 0, days or 0, PartsAt(parts_at))


def _values(page: Frame) -> dict[str, Any]:
    """What is on file as the form shows it; most of it empty before it was said."""
    kept = quote_terms_from(page.shop.quote_terms)
    if kept is None:
        return {"parts_at": PartsAt.PRICE.value, "days_valid": "30", "deposit_percent": "50"}
    return {
        "rate_cents": say_money(kept.rate_cents),
        "consumables_cents": say_money(kept.consumables_cents),
        "days_valid": str(kept.days_valid),
        "parts_at": kept.parts_at.value,
        **percent_values(kept.terms),
    }
