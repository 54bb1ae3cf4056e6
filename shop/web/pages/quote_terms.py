"""The shop's own rates under Ways: what a quote begins with, and the words customers read with it."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.craft.saying import say_money
from shop.db.sessions import Session
from shop.queries.shop import ShopView, read_shop, shop_version
from shop.rules.quote_terms import MOST_DAYS_VALID, MOST_WORDS, PartsAt, QuoteTerms, quote_terms_from
from shop.services.quote_terms import save_quote_terms
from shop.web.deps import Form, Reading, Writing
from shop.web.doors import AtWays
from shop.web.forms import Fields, FormView, showing_again
from shop.web.quote_form import percent_values, terms_of
from shop.web.running import ReadingRoute
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/quote_terms.html"
MOST_VERSION = 10**9
_LABELS = {
    "parts_at": "A part counts with its", "consumables_cents": "Consumables for a rod",
    "rate_cents": "Rate an hour", "overhead_percent": "Overhead, %", "basis": "Margin or markup",
    "percent": "Percentage of it", "deposit_percent": "Deposit, %", "days_valid": "A quote stands for, days",
}  # fmt: skip


@router.get("/ways/quote-terms")
def show_quote_terms(actor: AtWays, page: Page, session: Reading) -> Response:
    """The shop's rates, to change."""
    shop = read_shop(session)
    values = {"words": shop.terms, **_values(shop)}
    return page.show(TEMPLATE, here="ways", form=FormView(values), **_context(session))


@router.post("/ways/quote-terms")
def keep_quote_terms(actor: AtWays, page: Page, session: Writing, posted: Form) -> Response:
    """Change the shop's rates for the quotes to come."""
    page.here = "ways"
    with showing_again(page, TEMPLATE, posted, lambda: _context(session)):
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


def _context(session: Session) -> dict[str, Any]:
    """What the page shows beside the form: what is on file, in words, for whoever was overtaken."""
    shop = read_shop(session)
    on_file = _values(shop)
    return {
        "currency": shop.currency,
        "version": shop_version(session),
        "on_file": [(label, on_file[name]) for name, label in _LABELS.items() if on_file.get(name)]
        + [("Terms", shop.terms or "none")],
    }


def _values(shop: ShopView) -> dict[str, Any]:
    """What is on file as the form shows it; most of it empty before it was said."""
    kept = quote_terms_from(shop.quote_terms)
    if kept is None:
        return {"parts_at": PartsAt.PRICE.value, "days_valid": "30", "deposit_percent": "50"}
    return {
        "rate_cents": say_money(kept.rate_cents),
        "consumables_cents": say_money(kept.consumables_cents),
        "days_valid": str(kept.days_valid),
        "parts_at": kept.parts_at.value,
        **percent_values(kept.terms),
    }
