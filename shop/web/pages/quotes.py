"""The quotes of a build at the desk: made from what the make-up suggests, sent, withdrawn, answered.

What the customer sees of one is `shop.web.pages.customer_quotes`'s.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.mails import has_mail
from shop.queries.quotes import quote_view
from shop.queries.tax_rules import tax_rules_on
from shop.rules.mails import MailKind, key_of
from shop.rules.quotes import Offer, trimmed, work_out
from shop.rules.refusals import NotOnFile
from shop.services.quotes import make_quote, send_quote, take_down_answer, withdraw_quote
from shop.web.benches import BenchSide, TheBench
from shop.web.deps import Asked, Form, Posted, Reading, TheHub, Writing
from shop.web.doors import AtDesk
from shop.web.forms import Fields, FormView, showing_again
from shop.web.quote_form import QuoteRows, said_of, typed_parts, typed_reworks
from shop.web.quote_page import QuotePage, quote_context
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/quote.html"
FORM_MARK = "part_name"
MAILED = "The quote goes to the customer by mail, with its link."
TO_BE_GIVEN = "The quote has its link; give it to the customer."


@router.get("/builds/{number}/quote")
def show_quotes(
    actor: AtDesk,
    page: Page,
    session: Reading,
    bench: TheBench,
    number: str,
    show: Asked = 0,
    anew: Asked = 0,
) -> Response:
    """The newest quote of a build, or another one, and the form of a further one."""
    at = QuotePage(page, session, bench, number)
    if show and show not in {quote.number for quote in at.quotes}:
        raise NotOnFile(f"There is no quote {show} of {number}.")
    context = quote_context(at, at.rows(bool(anew)), shown=show, opened=bool(anew))
    return page.show(TEMPLATE, here="desk", form=FormView(), **context)


@router.post("/builds/{number}/quote")
def keep_quote(
    actor: AtDesk, page: Page, session: Writing, bench: TheBench, number: str, posted: Form
) -> Response:
    """Keep a quote; or show what was typed again with its sums, or with more rows."""
    with answering(page, session, bench, number, posted):
        if posted.get("what") in ("look", "more"):
            is_looking = posted["what"] == "look"
            preview = worked_out(page, session, bench, number, posted) if is_looking else None
            context = _as_typed(page, session, bench, number, posted, preview)
            return page.show(TEMPLATE, form=FormView(posted), **context)
        quote = make_quote(session, number, bench.bench(session, actor), said_of(posted))
    return page.go(f"/builds/{number}/quote", f"Quote {quote.number} is kept; it has not been sent yet.")


def worked_out(page: Frame, session: Session, bench: BenchSide, number: str, posted: Posted) -> Offer:
    """What the typed lines come to today; nothing is kept. Raises `BadInput` by field."""
    at = QuotePage(page, session, bench, number)
    rules = [view.rule for view in tax_rules_on(session)]
    return work_out(trimmed(said_of(posted).lines), rules, at.today, at.currency, page.shop.terms)


@router.post("/quotes/{quote_id}/send")
def send(
    actor: AtDesk, page: Page, session: Writing, bench: TheBench, hub: TheHub, quote_id: int, posted: Form
) -> Response:
    """Give a quote its link."""
    number = quote_view(session, quote_id).build
    with answering(page, session, bench, number, posted):
        send_quote(session, hub.secret, quote_id, bench.bench(session, actor))
    is_mailed = has_mail(session, key_of(MailKind.QUOTE, quote_id))
    return page.go(f"/builds/{number}/quote", MAILED if is_mailed else TO_BE_GIVEN)


@router.post("/quotes/{quote_id}/withdraw")
def withdraw(
    actor: AtDesk, page: Page, session: Writing, bench: TheBench, quote_id: int, posted: Form
) -> Response:
    """Take a quote back."""
    number = quote_view(session, quote_id).build
    with answering(page, session, bench, number, posted):
        withdraw_quote(session, quote_id, bench.bench(session, actor))
    return page.go(f"/builds/{number}/quote", "The quote is withdrawn, and its link has ended.")


@router.post("/quotes/{quote_id}/answer")
def take_down(
    actor: AtDesk, page: Page, session: Writing, bench: TheBench, quote_id: int, posted: Form
) -> Response:
    """Write down what the customer told the shop."""
    view = quote_view(session, quote_id)
    with answering(page, session, bench, view.build, posted, view.number):
        fields = Fields(posted)
        said_at = fields.instant("said_at", "The time", page.zone)
        fields.done()
        take_down_answer(
            session, quote_id, bench.bench(session, actor), answer=posted.get("answer", ""),
            name=posted.get("name", ""), said_at=said_at, note=posted.get("answer_note", ""),
        )  # fmt: skip
    return page.go(f"/builds/{view.build}/quote", "The answer is taken down.")


@contextmanager
def answering(
    page: Frame, session: Session, bench: BenchSide, number: str, posted: Posted, shown: int = 0
) -> Iterator[None]:
    """Turn a refusal inside the block into the page of the build's quotes, with everything typed kept."""
    page.here = "desk"
    with showing_again(
        page, TEMPLATE, posted, lambda: _as_typed(page, session, bench, number, posted, None, shown)
    ):
        yield


def _as_typed(
    page: Frame,
    session: Session,
    bench: BenchSide,
    number: str,
    posted: Posted,
    preview: Offer | None = None,
    shown: int = 0,
) -> dict[str, Any]:
    """The page over what is on record, with the rows as they were typed."""
    page.here = "desk"
    # What was written before a refusal is dropped; the page must not show it as kept.
    session.rollback()
    at = QuotePage(page, session, bench, number)
    is_quote = FORM_MARK in posted
    rows = QuoteRows(typed_parts(posted), typed_reworks(posted), {}) if is_quote else at.rows(False)
    return quote_context(at, rows, shown=shown, preview=preview, opened=is_quote)
