"""Quotes: what a rod was offered for, what was answered, and which quote a customer's link opens."""

from datetime import date, datetime
from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, case, func, select
from sqlalchemy.orm import Session, aliased

from shop.db.builds import Build
from shop.db.quotes import Quote, QuoteAnswer
from shop.rules.quote_answers import YES, QuoteState, Standing, state_of
from shop.rules.quotes import Offer, quote_from
from shop.rules.refusals import NotOnFile


class QuoteView(NamedTuple):
    """One quote with what was answered to it; `answer` is empty while nothing was.

    `said_by` is who the customer said they were, `taken_down_by` who of the shop wrote the answer down, empty
    where it came over the customer's own link. `newer_sent` is the number of a quote sent later, or none.
    """

    id: int
    build_id: int
    build: str
    number: int
    spec_revision: int
    made_at: datetime
    by: str
    note: str
    valid_until: date | None
    offer: Offer
    nonce: str
    sent_at: datetime | None
    withdrawn_at: datetime | None
    answer: str
    answered_at: datetime | None
    said_by: str
    taken_down_by: str
    answer_note: str
    newer_sent: int | None
    order_closed: bool

    @property
    def standing(self) -> Standing:
        """What is to be known of it to judge whether it may be answered."""
        return Standing(
            self.number, self.sent_at is not None, self.withdrawn_at is not None, self.answer,
            self.newer_sent, self.valid_until, self.order_closed,
        )  # fmt: skip

    def state(self, day: date) -> QuoteState:
        """Where it stands on a day."""
        return state_of(self.standing, day)


# Whether a quote has a yes; to be used in a statement that asks for quotes.
HAS_YES = (
    select(QuoteAnswer.id)
    .where(QuoteAnswer.quote_id == Quote.id, QuoteAnswer.answer == YES)
    .correlate(Quote)
    .exists()
)
_NEWER = aliased(Quote)
# A yes is never taken back, so it counts whatever else was said; else the latest word does.
_ANSWER = (
    select(QuoteAnswer.id)
    .where(QuoteAnswer.quote_id == Quote.id)
    .order_by(case((QuoteAnswer.answer == YES, 0), else_=1), QuoteAnswer.id.desc())
    .limit(1)
    .correlate(Quote)
    .scalar_subquery()
)
_NEWER_SENT = (
    select(func.max(_NEWER.number))
    .where(_NEWER.build_id == Quote.build_id, _NEWER.number > Quote.number, _NEWER.sent_at.is_not(None))
    .correlate(Quote)
    .scalar_subquery()
)
_VIEW: Select[*tuple[Any, ...]] = (
    select(
        Quote.id, Quote.build_id, Build.number, Quote.number, Quote.spec_revision, Quote.made_at, Quote.by,
        Quote.note, Quote.valid_until, Quote.document, Quote.nonce, Quote.sent_at, Quote.withdrawn_at,
        func.coalesce(QuoteAnswer.answer, ""), QuoteAnswer.said_at, func.coalesce(QuoteAnswer.name, ""),
        func.coalesce(QuoteAnswer.entered_by, ""), func.coalesce(QuoteAnswer.note, ""), _NEWER_SENT,
        Build.closed_as != "",
    )
    .join(Build, Build.id == Quote.build_id)
    .join(QuoteAnswer, QuoteAnswer.id == _ANSWER, isouter=True)
)  # fmt: skip
_ONE = _VIEW.where(Quote.id == bindparam("id"))
_OF_BUILD = _VIEW.where(Quote.build_id == bindparam("build_id")).order_by(Quote.number.desc())
_OF_TOKEN = _VIEW.where(
    Quote.token_hash == bindparam("token_hash"), Quote.sent_at.is_not(None), Quote.withdrawn_at.is_(None)
)
_NEWEST_NUMBER = select(func.coalesce(func.max(Quote.number), 0)).where(
    Quote.build_id == bindparam("build_id")
)


def _view(row: Any) -> QuoteView:
    view = QuoteView._make(row)
    return view._replace(offer=quote_from(row.document), order_closed=bool(view.order_closed))


def quote_view(session: Session, quote_id: int) -> QuoteView:
    """One quote. Raises `NotOnFile`."""
    row = session.execute(_ONE, {"id": quote_id}).first()
    if row is None:
        raise NotOnFile(f"There is no quote {quote_id} on file.")
    return _view(row)


def quotes_of_build(session: Session, build_id: int) -> list[QuoteView]:
    """Every quote of a build, newest first, withdrawn ones included."""
    return [_view(row) for row in session.execute(_OF_BUILD, {"build_id": build_id})]


def quote_of_token(session: Session, token_hash: str) -> QuoteView | None:
    """The quote that a customer's link opens, or none: one that was sent and not withdrawn."""
    row = session.execute(_OF_TOKEN, {"token_hash": token_hash}).first()
    return None if row is None else _view(row)


def newest_number(session: Session, build_id: int) -> int:
    """The number of a build's newest quote, 0 before the first."""
    return session.execute(_NEWEST_NUMBER, {"build_id": build_id}).scalar_one()


def quote_record(session: Session, quote_id: int) -> Quote:
    """The record of one quote, for a verb; locked until the transaction ends. Raises `NotOnFile`."""
    record = session.get(Quote, quote_id, with_for_update=True)
    if record is None:
        raise NotOnFile(f"There is no quote {quote_id} on file.")
    return record
