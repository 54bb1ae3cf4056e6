"""Enquiries: every one that is open, with what it waits for; and changes to orders that wait likewise."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, select
from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.customers import Customer
from shop.db.quotes import Quote, QuoteAnswer
from shop.db.specs import Spec as SpecRecord
from shop.queries.builds import BuildView, enquiries
from shop.queries.desk_facts import DeskFacts, desk_facts, open_desk_facts
from shop.queries.specs import latest_spec, specs_of_enquiries
from shop.rules.enquiries import Enquiry, Waiting, waiting_for
from shop.rules.quote_answers import QuoteState, Standing, state_of
from shop.rules.spec import Spec, missing_from, spec_from
from shop.rules.spec_changes import rework_waits_for


class EnquiryView(NamedTuple):
    """An open enquiry and what it waits for."""

    build: BuildView
    waiting: Waiting


class ReworkView(NamedTuple):
    """A change to an order on the bench that came too late to be free: in which fields, what it waits for.

    It waits for a price, or for the customer's yes to that.
    """

    number: str
    title: str
    revision: int
    fields: tuple[str, ...]
    waits_for: str


_REWORKS: Select[*tuple[Any, ...]] = (
    select(Build.id, Build.number, Build.title, SpecRecord.revision, SpecRecord.rework, SpecRecord.asked_by)
    .join(SpecRecord, SpecRecord.build_id == Build.id)
    .where(Build.closed_at.is_(None), ~Build.is_enquiry, SpecRecord.revision > 1)
    .order_by(Build.number, SpecRecord.revision)
)
_ANSWER = (
    select(QuoteAnswer.answer)
    .where(QuoteAnswer.quote_id == Quote.id)
    .order_by(QuoteAnswer.id.desc())
    .limit(1)
    .correlate(Quote)
    .scalar_subquery()
)
_SENT: Select[*tuple[Any, ...]] = (
    select(Quote.build_id, Quote.number, Quote.valid_until, _ANSWER)
    .where(Quote.sent_at.is_not(None), Quote.withdrawn_at.is_(None))
    .order_by(Quote.id)
)
_SENT_FOR_ENQUIRIES = _SENT.where(
    Quote.build_id.in_(select(Build.id).where(Build.closed_at.is_(None), Build.is_enquiry))
)
_SENT_FOR_BUILD = _SENT.where(Quote.build_id == bindparam("build_id"))


_TAKEN_DOWN: Select[*tuple[Any, ...]] = (
    select(Build.number, Build.customer_id, Customer.name, SpecRecord.document)
    .join(Customer, Customer.id == Build.customer_id)
    .join(SpecRecord, (SpecRecord.build_id == Build.id) & (SpecRecord.revision == 1))
    .where(Build.closed_at.is_(None), Build.created_at >= bindparam("since"))
    .order_by(Build.id)
)


class AtDesk(NamedTuple):
    """What waits at the desk: enquiries, newest first, and changes that came too late, by number."""

    enquiries: list[EnquiryView]
    reworks: list[ReworkView]


def waiting_at_desk(session: Session, today: date) -> AtDesk:
    """Every open enquiry and every rework that waits, in a number of statements that does not grow."""
    desk = open_desk_facts(session)
    return AtDesk(_enquiries(session, desk, today), _reworks(session, desk))


def _enquiries(session: Session, desk: Mapping[int, DeskFacts], today: date) -> list[EnquiryView]:
    specs = specs_of_enquiries(session)
    offers = _newest(session.execute(_SENT_FOR_ENQUIRIES).all(), today)
    return [
        EnquiryView(build, _waiting(desk.get(build.id), specs.get(build.id), offers.get(build.id)))
        for build in enquiries(session)
    ]


def _reworks(session: Session, desk: Mapping[int, DeskFacts]) -> list[ReworkView]:
    found = []
    for build_id, number, title, revision, rework, asked_by in session.execute(_REWORKS):
        waits_for = rework_waits_for(revision, asked_by, desk.get(build_id, DeskFacts()).approval)
        if rework and waits_for:
            found.append(ReworkView(number, title, revision, tuple(rework), waits_for))
    return found


def waiting_of(session: Session, build_id: int, today: date) -> Waiting:
    """What one enquiry waits for."""
    latest = latest_spec(session, build_id)
    offers = _newest(session.execute(_SENT_FOR_BUILD, {"build_id": build_id}).all(), today)
    spec = None if latest is None else latest.value
    return _waiting(desk_facts(session, build_id), spec, offers.get(build_id))


def just_taken_down(
    session: Session, spec: Spec, customer_id: int | None, name: str, since: datetime
) -> str | None:
    """The number of the very same rod that was taken down for a customer since an instant, if there is one.

    The customer is known by id, or where that is none by name.
    """
    for number, of_customer, of_name, document in session.execute(_TAKEN_DOWN, {"since": since}):
        is_theirs = of_name == name if customer_id is None else of_customer == customer_id
        if is_theirs and spec_from(document) == spec:
            return str(number)
    return None


def _waiting(desk: DeskFacts | None, spec: Spec | None, offer: QuoteState | None) -> Waiting:
    known = desk or DeskFacts()
    missing = () if spec is None else missing_from(spec)
    return waiting_for(Enquiry(missing, known.approval, known.money, offer))


def _newest(sent: Iterable[Any], today: date) -> dict[int, QuoteState]:
    """Where the newest quote of each build stands; the rows come in the order they were made."""
    return {
        build_id: state_of(
            Standing(number, is_sent=True, answer=answer or "", valid_until=valid_until), today
        )
        for build_id, number, valid_until, answer in sent
    }
