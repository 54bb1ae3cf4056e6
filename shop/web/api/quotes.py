"""The API of quotes: made for a build, sent, withdrawn, and the customer's answer taken down."""

from datetime import date, timedelta
from fractions import Fraction
from typing import Annotated, Any, Literal

from fastapi import Request
from pydantic import BaseModel, Field

from shop.craft.quote import Basis, PartLine, TaxedOn, Terms, exact
from shop.db.sessions import Session
from shop.queries.builds import build_view
from shop.queries.payments import owed_of_build
from shop.queries.quote_beginnings import suggestion_for
from shop.queries.quotes import QuoteView, quote_view, quotes_of_build
from shop.queries.shop import read_shop, shop_day
from shop.rules.quote_answers import MOST_NAME, QuoteState
from shop.rules.quote_terms import PartsAt, QuoteTerms, quote_terms_from
from shop.rules.quotes import MOST_NOTE, MOST_PARTS, MOST_REWORKS, QuoteLines, ReworkLine, Suggestion
from shop.rules.refusals import BadInput
from shop.services.bench import Bench
from shop.services.quotes import (
    QuoteSaid,
    live_token,
    make_quote,
    send_quote,
    take_down_answer,
    withdraw_quote,
)
from shop.web.api.base import Body, Once, OnlyNumber, Page, api_router
from shop.web.api.money import (
    HOURS,
    PER_CENT,
    CentsIn,
    CentsOut,
    CountIn,
    HoursIn,
    ShareIn,
    ShareOut,
    WholeShareIn,
)
from shop.web.api.times import DayIn, InstantIn, InstantOut
from shop.web.benches import TheBench
from shop.web.deps import Now, Reading, TheHub, Writing, hub_of
from shop.web.doors import KeyForDesk

router = api_router("quotes")

LineName = Annotated[str, Field(min_length=1, max_length=120, examples=["Ring guide 8 mm"])]
Seen = Annotated[int, Field(ge=0, le=10_000), OnlyNumber]
NUMBER = "Which quote of the build, counted from 1."
REVISION = "The revision of the spec that it is for; 0 where there is none."


class QuotePartIn(Body):
    """So many of one part at a price each."""

    name: LineName
    count: CountIn = 1
    price_cents: Annotated[CentsIn, Field(examples=[18_50])]


class ReworkIn(Body):
    """What is asked for a late change; it is added to the price as it is."""

    name: Annotated[str, Field(min_length=1, max_length=120, examples=["Wraps in another colour"])]
    cents: CentsIn


class QuoteIn(Body):
    """A quote. What is left out is what the make-up, the sequence and the shop's quote terms say.

    `spec_revision` and `newest` are those that you have looked at; left out, whichever are there now.
    """

    parts: Annotated[list[QuotePartIn] | None, Field(max_length=MOST_PARTS)] = None
    consumables_cents: CentsIn | None = None
    hours: Annotated[HoursIn | None, Field(description=HOURS)] = None
    rate_cents: CentsIn | None = None
    overhead_percent: ShareIn | None = None
    basis: Basis | None = None
    percent: Annotated[ShareIn | None, Field(description=PER_CENT)] = None
    deposit_percent: WholeShareIn | None = None
    reworks: Annotated[list[ReworkIn], Field(max_length=MOST_REWORKS)] = Field(default=[])
    valid_until: DayIn | None = Field(default=None, description="The last day to answer it.")
    note: Annotated[str, Field(max_length=MOST_NOTE, description="Words to the customer.")] = ""
    spec_revision: Annotated[Seen | None, Field(description=REVISION)] = None
    newest: Annotated[Seen | None, Field(description="The number of the newest quote; 0 for none.")] = None


class AnswerIn(Body):
    """What the customer told the shop; `said_at` is now if left out."""

    answer: Literal["yes", "no"]
    name: Annotated[str, Field(max_length=MOST_NAME, description="Who said it.")] = ""
    said_at: InstantIn | None = None
    note: Annotated[str, Field(max_length=MOST_NOTE)] = ""


class QuotePartOut(BaseModel):
    """So many of one part at a price each."""

    name: str
    count: int
    price_cents: int


class ReworkOut(BaseModel):
    """What is asked for a late change."""

    name: str
    cents: CentsOut


class TaxLineOut(BaseModel):
    """A tax with the rule as it was used; `capped` where its cap held the amount down."""

    name: str
    percent: ShareOut
    valid_from: date
    valid_until: date | None
    cap_cents: int | None
    taxed_on: TaxedOn
    taxed_cents: int
    cents: CentsOut
    capped: bool


class QuoteOut(BaseModel):
    """A quote with every line as it was used. `state` says how it stands today.

    `url` is the customer's private address, null while it has none. `taken_down_by` is empty where the answer
    came over that address.
    """

    id: int
    build: str
    number: Annotated[int, Field(description=NUMBER)]
    spec_revision: Annotated[int, Field(description=REVISION)]
    made_at: InstantOut
    by: str
    day: date
    currency: str
    parts: list[QuotePartOut]
    consumables_cents: int
    hours: Annotated[float, Field(description="Hours.")]
    rate_cents: Annotated[int, Field(description="Whole cents an hour.")]
    overhead_percent: float
    basis: Basis
    percent: ShareOut
    deposit_percent: float
    reworks: list[ReworkOut]
    labour_cents: int
    overhead_cents: int
    cost_cents: int
    price_cents: Annotated[int, Field(description="The price with rework, before taxes; whole cents.")]
    taxes: list[TaxLineOut]
    total_cents: int
    deposit_cents: int
    balance_cents: int
    working: list[str]
    valid_until: date | None
    note: str
    terms: str
    state: QuoteState
    sent_at: InstantOut | None
    withdrawn_at: InstantOut | None
    url: str | None
    answer: Literal["", "yes", "no"]
    answered_at: InstantOut | None
    answered_by: str
    taken_down_by: str


def _out(request: Request, view: QuoteView, today: date) -> dict[str, Any]:
    offer, made, lines, terms = view.offer, view.offer.made, view.offer.lines, view.offer.lines.terms
    hub = hub_of(request)
    token = live_token(hub.secret, view)
    base = (hub.settings.public_url or str(request.base_url)).rstrip("/")
    return {
        **view._asdict(),
        "day": offer.day, "currency": offer.currency, "terms": offer.words, "working": offer.working,
        "parts": [{"name": p.name, "count": p.count, "price_cents": p.price_cents} for p in lines.parts],
        "consumables_cents": lines.consumables_cents, "hours": float(lines.hours),
        "rate_cents": lines.rate_cents, "overhead_percent": float(terms.overhead_percent),
        "basis": terms.basis, "percent": float(terms.percent),
        "deposit_percent": float(terms.deposit_percent),
        "reworks": [{"name": line.name, "cents": line.cents} for line in lines.reworks],
        "labour_cents": made.labour_cents, "overhead_cents": made.overhead_cents,
        "cost_cents": made.cost_cents, "price_cents": made.price_cents, "total_cents": made.total_cents,
        "deposit_cents": made.deposit_cents, "balance_cents": made.balance_cents,
        "taxes": [_tax_out(line) for line in made.taxes],
        "state": view.state(today), "url": None if token is None else f"{base}/quote/{token}",
        "answered_by": view.said_by,
    }  # fmt: skip


def _tax_out(line: Any) -> dict[str, Any]:
    rule = line.rule
    return {
        "name": rule.name, "percent": float(rule.percent), "valid_from": rule.valid_from,
        "valid_until": rule.valid_until, "cap_cents": rule.cap_cents, "taxed_on": rule.taxed_on,
        "taxed_cents": line.taxed_cents, "cents": line.cents, "capped": line.capped,
    }  # fmt: skip


def _said(session: Session, at_bench: Bench, number: str, body: QuoteIn) -> QuoteSaid:
    """The body with what it leaves out filled in. Raises `BadInput` for what nobody has said."""
    build, shop = build_view(session, number), read_shop(session)
    terms = quote_terms_from(shop.quote_terms)
    parts_at = PartsAt.PRICE if terms is None else terms.parts_at
    sequence = at_bench.sequences.of_build(session, build.sequence_id).value
    currency = owed_of_build(session, build.id).currency
    suggestion = suggestion_for(session, build, sequence, parts_at, currency)
    valid_until = body.valid_until
    if valid_until is None and terms is not None and "valid_until" not in body.model_fields_set:
        today = at_bench.now.astimezone(shop.zone).date()
        valid_until = today + timedelta(days=terms.days_valid)
    lines = _lines(body, terms, suggestion)
    return QuoteSaid(lines, valid_until, body.note, body.spec_revision, body.newest)


def _lines(body: QuoteIn, terms: QuoteTerms | None, suggestion: Suggestion) -> QuoteLines:
    missing = {name: f"{name} is missing, and the shop's quote terms do not say it." for name in _UNSAID}
    errors = {name: words for name, words in missing.items() if terms is None and getattr(body, name) is None}
    if body.parts is None and suggestion.unpriced:
        names = ", ".join(suggestion.unpriced)
        errors["parts"] = f"No price is on file for {names}; send the parts with their prices."
    if errors:
        raise BadInput(errors)
    said = body.parts if body.parts is not None else []
    parts = [PartLine(part.name, part.count, part.price_cents) for part in said]
    if body.parts is None:
        parts = [PartLine(line.name, line.how_many, line.cents or 0) for line in suggestion.lines]
    return QuoteLines(
        tuple(parts),
        _or(body.consumables_cents, 0 if terms is None else terms.consumables_cents),
        suggestion.hours if body.hours is None else exact(body.hours),
        _or(body.rate_cents, 0 if terms is None else terms.rate_cents),
        _terms(body, None if terms is None else terms.terms),
        tuple(ReworkLine(line.name, line.cents) for line in body.reworks),
    )


_UNSAID = ("consumables_cents", "rate_cents", "overhead_percent", "basis", "percent", "deposit_percent")


def _or(said: int | None, usual: int) -> int:
    return usual if said is None else said


def _terms(body: QuoteIn, usual: Terms | None) -> Terms:
    """How the price is made: as sent, else as the shop's terms have it."""

    def share(said: float | None, name: str) -> Fraction:
        if said is not None:
            return exact(said)
        found: Fraction = getattr(usual, name)
        return found

    basis = body.basis if body.basis is not None or usual is None else usual.basis
    assert basis is not None
    return Terms(
        share(body.overhead_percent, "overhead_percent"), basis, share(body.percent, "percent"),
        share(body.deposit_percent, "deposit_percent"),
    )  # fmt: skip


@router.get("/builds/{number}/quotes", response_model=Page[QuoteOut])
def list_quotes(actor: KeyForDesk, session: Reading, now: Now, request: Request, number: str) -> Any:
    """Every quote of a build, newest first, all in one page."""
    today = shop_day(session, now)
    quotes = quotes_of_build(session, build_view(session, number).id)
    return {"items": [_out(request, view, today) for view in quotes], "next": None}


@router.post("/builds/{number}/quotes", status_code=201, response_model=QuoteOut)
def post_quote(
    actor: KeyForDesk,
    session: Writing,
    _once: Once,
    bench: TheBench,
    request: Request,
    number: str,
    body: QuoteIn,
) -> Any:
    """Make a quote by the taxes that are on and hold today; it has no link before it is sent."""
    at_bench = bench.bench(session, actor)
    quote = make_quote(session, number, at_bench, _said(session, at_bench, number, body))
    return _shown(session, request, quote.id, at_bench)


@router.post("/quotes/{quote_id}/send", response_model=QuoteOut)
def post_quote_sending(
    actor: KeyForDesk,
    session: Writing,
    _once: Once,
    bench: TheBench,
    hub: TheHub,
    request: Request,
    quote_id: int,
) -> Any:
    """Give a quote its private address; an earlier one without a yes no longer counts."""
    at_bench = bench.bench(session, actor)
    send_quote(session, hub.secret, quote_id, at_bench)
    return _shown(session, request, quote_id, at_bench)


@router.post("/quotes/{quote_id}/withdraw", response_model=QuoteOut)
def post_quote_withdrawal(
    actor: KeyForDesk, session: Writing, _once: Once, bench: TheBench, request: Request, quote_id: int
) -> Any:
    """Take a quote back; its address ends."""
    at_bench = bench.bench(session, actor)
    withdraw_quote(session, quote_id, at_bench)
    return _shown(session, request, quote_id, at_bench)


@router.post("/quotes/{quote_id}/answer", response_model=QuoteOut)
def post_quote_answer(
    actor: KeyForDesk,
    session: Writing,
    _once: Once,
    bench: TheBench,
    request: Request,
    quote_id: int,
    body: AnswerIn,
) -> Any:
    """Take down what the customer told the shop; a yes may follow a no, nothing follows a yes."""
    at_bench = bench.bench(session, actor)
    take_down_answer(session, quote_id, at_bench, **body.model_dump())
    return _shown(session, request, quote_id, at_bench)


def _shown(session: Session, request: Request, quote_id: int, at_bench: Bench) -> dict[str, Any]:
    session.flush()
    return _out(request, quote_view(session, quote_id), shop_day(session, at_bench.now))
