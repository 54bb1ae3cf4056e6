"""Quotes: made, sent, withdrawn, and answered over the customer's own link or to the shop.

A quote is never changed; another one is made. Verbs lock the build first, so that of two at once each sees
what the other did. The record of the build says which quote and which revision of the spec, and names
neither the customer nor an amount: it stays for good, and the bench reads it.
"""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.quotes import Quote, QuoteAnswer
from shop.queries.builds import build_by_id, build_record
from shop.queries.payments import owed_of_build
from shop.queries.quotes import (
    QuoteView,
    newest_number,
    quote_of_token,
    quote_record,
    quote_view,
)
from shop.queries.shop import read_shop, shop_day
from shop.queries.specs import revisions_of_build
from shop.queries.tax_rules import tax_rules_on
from shop.rules.people import Actor
from shop.rules.quote_answers import ANSWERS, MOST_NAME, NO, YES, QuoteState, why_not
from shop.rules.quotes import MOST_NOTE, QuoteLines, document_of, trimmed, work_out
from shop.rules.record import EventKind
from shop.rules.refusals import BadInput, NotOnFile, Overtaken
from shop.services.bench import Bench
from shop.services.events import add_event
from shop.services.mails import tell_of_quote
from shop.services.status_links import give_link
from shop.services.status_links import live_token as live_status_token
from shop.services.tokens import hash_of, new_link, new_token, token_from

# Whoever comes by a customer's link; the record calls them so whatever their name is.
CUSTOMER = Actor("the customer", frozenset())
GONE = "There is no quote at this address."


@dataclass(frozen=True)
class QuoteSaid:
    """A quote as it is said. `revision` of the spec and `newest` quote are those that were on the page.

    None for either means whichever is there now.
    """

    lines: QuoteLines
    valid_until: date | None = None
    note: str = ""
    revision: int | None = None
    newest: int | None = None


def make_quote(session: Session, number: str, bench: Bench, said: QuoteSaid) -> Quote:
    """Keep a quote for a build at the newest revision of its spec, by the taxes that are on and hold today.

    Raises `BadInput` with every fault by field, `NotOnFile`, or `Overtaken` where the order was closed, or
    the spec or the newest quote is another one than was looked at.
    """
    build = build_record(session, number)
    revision, newest = revisions_of_build(session, build.id).spec, newest_number(session, build.id)
    _check_looked_at(build, said, revision, newest)
    shop = read_shop(session)
    today = bench.now.astimezone(shop.zone).date()
    if errors := _faults_of_words(said, today):
        raise BadInput(errors)
    rules = [view.rule for view in tax_rules_on(session)]
    currency = owed_of_build(session, build.id).currency
    offer = work_out(trimmed(said.lines), rules, today, currency, shop.terms)
    quote = Quote(
        build_id=build.id, number=newest + 1, spec_revision=revision, made_at=bench.now,
        by=bench.actor.name, note=said.note.strip(), currency=currency, price_cents=offer.made.price_cents,
        total_cents=offer.made.total_cents, deposit_cents=offer.made.deposit_cents,
        valid_until=said.valid_until, document=document_of(offer),
        # Before it is sent nobody has its link: this is the hash of a token that is thrown away.
        nonce=new_token(), token_hash=hash_of(new_token()),
    )  # fmt: skip
    session.add(quote)
    session.flush()
    return quote


def _check_looked_at(build: Build, said: QuoteSaid, revision: int, newest: int) -> None:
    if build.closed_as:
        raise Overtaken(f"The order of {build.number} was closed ({build.closed_as}); it needs no quote.")
    if said.revision is not None and said.revision != revision:
        raise Overtaken(f"The spec is at revision {revision} now; look at what has changed first.")
    if said.newest is not None and said.newest != newest:
        raise Overtaken(f"Quote {newest} has been made meanwhile; look at that first.")


def _faults_of_words(said: QuoteSaid, today: date) -> dict[str, str]:
    errors = {}
    if said.valid_until is not None and said.valid_until < today:
        errors["valid_until"] = f"The last day to answer cannot lie before today, {today}."
    if len(said.note) > MOST_NOTE or "\0" in said.note:
        errors["note"] = f"The words are at most {MOST_NOTE} characters."
    return errors


def send_quote(session: Session, secret: bytes, quote_id: int, bench: Bench) -> str:
    """Give a quote its link, by which the customer can answer; gives the link's token.

    Every quote of the build that was sent before no longer counts, unless it has a yes. Raises `NotOnFile`,
    or `Overtaken` where it was sent or withdrawn, or is no longer what would be offered.
    """
    build, view = _locked(session, quote_id)
    day = shop_day(session, bench.now)
    if view.state(day) is not QuoteState.DRAFT:
        raise Overtaken(f"Quote {view.number} cannot be sent again. {why_not(view.standing, day)}".strip())
    _check_still_meant(session, build, view, day)
    quote = quote_record(session, quote_id)
    link = new_link(secret)
    quote.nonce, quote.token_hash, quote.sent_at = link.nonce, link.token_hash, bench.now
    _note(session, build, bench, view, "was sent")
    tell_of_quote(session, build, quote, now=bench.now)
    return link.token


def _check_still_meant(session: Session, build: Build, view: QuoteView, day: date) -> None:
    revision = revisions_of_build(session, build.id).spec
    if build.closed_as:
        raise Overtaken(f"The order of {build.number} was closed ({build.closed_as}); nothing can be sent.")
    if view.newer_sent is not None:
        raise Overtaken(f"Quote {view.newer_sent} has been sent already; make a new one instead.")
    if view.spec_revision != revision:
        raise Overtaken(
            f"The spec is at revision {revision} now and this quote is for revision {view.spec_revision}; "
            "make a new one."
        )
    if view.valid_until is not None and view.valid_until < day:
        raise Overtaken(f"The last day to answer it was {view.valid_until}; make a new one.")


def withdraw_quote(session: Session, quote_id: int, bench: Bench) -> Quote:
    """Take a quote back; its link ends. Raises `NotOnFile`, or `Overtaken` where it has a yes."""
    build, view = _locked(session, quote_id)
    if view.answer == YES:
        raise Overtaken(f"Quote {view.number} has been agreed to; what changes from here on is a new quote.")
    if view.withdrawn_at is not None:
        raise Overtaken(f"Quote {view.number} has been withdrawn already.")
    quote = quote_record(session, quote_id)
    quote.withdrawn_at = bench.now
    if view.sent_at is not None:
        _note(session, build, bench, view, "was withdrawn")
    session.flush()
    return quote


def answer_quote(
    session: Session, secret: bytes, token: str, bench: Bench, *, answer: str, name: str
) -> QuoteView:
    """Take the customer's answer over their own link; the same answer again does nothing.

    With a yes the rod gets a status link, unless it has one: mails lead there, and the customer may look.

    Raises `NotOnFile` for a token that opens nothing, `BadInput`, or `Overtaken` with the reason why the
    quote can no longer be answered.
    """
    found = quote_of_token(session, hash_of(token))
    if found is None:
        raise NotOnFile(GONE)
    build, view = _locked(session, found.id)
    if view.withdrawn_at is not None:
        raise NotOnFile(GONE)
    _check_answer(answer, name, needs_name=True)
    if view.answer == answer:
        return view
    if why := why_not(view.standing, shop_day(session, bench.now)):
        raise Overtaken(why)
    _answer(session, view, QuoteAnswer(answer=answer, name=name.strip(), said_at=bench.now), bench.now)
    _note(session, build, bench, view, f"was answered with {answer}, over its link")
    if answer == YES and live_status_token(session, secret, build.id) is None:
        give_link(session, secret, build.id, now=bench.now)
    return quote_view(session, view.id)


def take_down_answer(
    session: Session,
    quote_id: int,
    bench: Bench,
    *,
    answer: str,
    name: str = "",
    said_at: datetime | None = None,
    note: str = "",
) -> QuoteView:
    """Write down what a customer said to the shop, on the telephone or across the counter, and when.

    It is judged at the time it was said. A yes may follow a no; nothing follows a yes. Raises `NotOnFile`,
    `BadInput`, or `Overtaken` with the reason why the quote can no longer be answered.
    """
    build, view = _locked(session, quote_id)
    _check_answer(answer, name, needs_name=False)
    if len(note) > MOST_NOTE or "\0" in note:
        raise BadInput({"answer_note": f"The note is at most {MOST_NOTE} characters."})
    at = bench.past("said_at", said_at, view.sent_at, "this quote was sent")
    asked = view if view.answer != NO or answer == NO else view._replace(answer="")
    if why := why_not(asked.standing, shop_day(session, at)):
        raise Overtaken(why)
    said = QuoteAnswer(
        answer=answer, name=name.strip(), said_at=at, entered_by=bench.actor.name, note=note.strip()
    )
    _answer(session, view, said, bench.now)
    _note(session, build, bench, view, f"was answered with {answer}, as the customer told the shop")
    return quote_view(session, quote_id)


def live_token(secret: bytes, view: QuoteView) -> str | None:
    """The token of a quote's link, to be shown again to signed-in people; none while there is no link."""
    has_link = view.sent_at is not None and view.withdrawn_at is None
    return token_from(secret, view.nonce) if has_link else None


def _check_answer(answer: str, name: str, needs_name: bool) -> None:
    errors = {}
    if answer not in ANSWERS:
        errors["answer"] = "Please answer with yes or no."
    if needs_name and not name.strip():
        errors["name"] = "Please write your name, so that the shop knows who has answered."
    elif len(name) > MOST_NAME or "\0" in name:
        errors["name"] = f"The name is at most {MOST_NAME} characters."
    if errors:
        raise BadInput(errors)


def _locked(session: Session, quote_id: int) -> tuple[Build, QuoteView]:
    """The build of a quote, locked until the transaction ends, and the quote as it stands then."""
    build = build_by_id(session, quote_view(session, quote_id).build_id)
    return build, quote_view(session, quote_id)


def _answer(session: Session, view: QuoteView, said: QuoteAnswer, now: datetime) -> None:
    said.quote_id, said.entered_at = view.id, now
    session.add(said)
    session.flush()


def _note(session: Session, build: Build, bench: Bench, view: QuoteView, what: str) -> None:
    note = f"Quote {view.number}, for revision {view.spec_revision} of the spec, {what}."
    details = {"quote": view.number, "revision": view.spec_revision}
    add_event(session, build, bench, EventKind.QUOTE, bench.now, "", note, details)
    session.flush()
