"""Privacy: erasing a customer. The person goes, the rods' record stays; it cannot be undone.

What the database never changes (events, payments, promises, moves of stock) is left as it is: nothing there
is meant to name anybody, and `shop.queries.privacy.named_elsewhere` says where somebody was all the same.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import text
from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.customers import Customer
from shop.db.intakes import Intake
from shop.db.make_ups import MakeUp
from shop.db.messages import Message
from shop.db.photos import Photo
from shop.db.returns import Return
from shop.db.specs import Spec
from shop.queries.customers import customer_record
from shop.queries.privacy import (
    builds_of_person,
    obstacles_to_erasing,
    records_of_builds,
)
from shop.rules.privacy import ERASED_NAME, ERASED_WORDS, faults_of_erasing, scrubbed, traces_of
from shop.rules.record import EventKind
from shop.rules.refusals import BadInput, Overtaken
from shop.services.answers import forget_answers
from shop.services.bench import Bench
from shop.services.events import add_event
from shop.services.mails import forget_mails
from shop.services.photos import remove_photo, share_photo
from shop.services.quote_links import end_quote_links
from shop.services.status_links import end_link

WHY_PHOTOS_GO = "The customer was erased."


@dataclass(frozen=True)
class ErasingSaid:
    """How a customer is to be erased: the name typed again, and what goes that would else stay.

    `reason` is one of `shop.rules.privacy.REASONS`, needed while an order is open or money is owed.
    """

    confirm: str
    reason: str = ""
    photos: bool = False
    inscriptions: bool = False


def erase_customer(session: Session, customer_id: int, bench: Bench, said: ErasingSaid) -> list[str]:
    """Erase a person for good; gives the names of photos whose files are to be deleted after the commit.

    Raises `NotOnFile`, `Overtaken` where the customer was erased already, or `BadInput` where the name is not
    typed right, or something is open and no reason is given.
    """
    customer = customer_record(session, customer_id)
    if customer.erased_at is not None:
        raise Overtaken("This customer was erased already.")
    obstacles = obstacles_to_erasing(session, customer_id)
    if errors := faults_of_erasing(said.confirm, customer.name, said.reason, obstacles):
        raise BadInput(errors)
    traces = traces_of(customer.name, customer.email, customer.phone)
    builds = builds_of_person(session, customer_id)
    ids = [build.id for build in builds]
    _forget_wishes(session, ids, traces, said.inscriptions)
    _forget_quotes(session, ids, traces, bench.now)
    _forget_words(session, ids, traces)
    gone = _forget_photos(session, bench, ids, traces, said.photos)
    _forget_builds(session, bench, builds, traces, said.reason)
    forget_mails(session, customer_id, now=bench.now)
    forget_answers(session, [*traces, *(f'"{build.number}"' for build in builds)], now=bench.now)
    _forget_person(customer, bench)
    session.flush()
    _clear_index(session)
    return gone


def _clear_index(session: Session) -> None:
    """Put the search index together anew: SQLite's keeps the words of a deleted row until it is."""
    if session.get_bind().dialect.name == "sqlite":
        session.execute(text("INSERT INTO search_words (search_words) VALUES ('optimize')"))


def _forget_person(customer: Customer, bench: Bench) -> None:
    customer.name, customer.email, customer.phone, customer.notes = ERASED_NAME, "", "", ""
    customer.wants_mail, customer.photo_consent_on, customer.erased_at = False, None, bench.now


def _forget_builds(
    session: Session, bench: Bench, builds: Sequence[Build], traces: Sequence[str], reason: str
) -> None:
    """The rods stay with their record, which says that the customer was erased and why, if that was said."""
    words = f"The customer was erased: {reason}." if reason else "The customer was erased."
    for build in builds:
        build.title, build.notes = scrubbed(build.title, traces), ""
        end_link(session, build.id, now=bench.now)
        add_event(session, build, bench, EventKind.ORDER, bench.now, "", words)


def _forget_wishes(session: Session, ids: Sequence[int], traces: Sequence[str], inscriptions: bool) -> None:
    """Figures and parts stay, wishes and hand size go; an inscription is on the rod, and goes if asked."""
    for spec in records_of_builds(session, Spec, ids):
        kept: dict[str, Any] = {
            name: spec.document[name]
            for name in ("inscription", "inscription_again")
            if name in spec.document and not inscriptions
        }
        gone = dict.fromkeys(("wishes", "hand_size"), "")
        if inscriptions:
            gone |= dict.fromkeys(("inscription", "inscription_again", "inscription_side"), "")
        spec.document = {**scrubbed(spec.document, traces), **gone, **kept}
        spec.reason = scrubbed(spec.reason, traces)
    for make_up in records_of_builds(session, MakeUp, ids):
        make_up.reason = scrubbed(make_up.reason, traces)


def _forget_quotes(session: Session, ids: Sequence[int], traces: Sequence[str], now: datetime) -> None:
    """What was agreed stays for the accounts; who said it goes, and no link opens it any more."""
    quotes, answers = end_quote_links(session, ids, now=now)
    for quote in quotes:
        quote.note, quote.document = "", scrubbed(quote.document, traces)
    for answer in answers:
        answer.name, answer.note = "", ""


def _forget_words(session: Session, ids: Sequence[int], traces: Sequence[str]) -> None:
    for message in records_of_builds(session, Message, ids):
        message.text = ERASED_WORDS
    for intake in records_of_builds(session, Intake, ids):
        intake.signed_name, intake.wish = "", ERASED_WORDS
        intake.rod = scrubbed(intake.rod, traces)
        intake.conditions = scrubbed(intake.conditions, traces)
    for line in records_of_builds(session, Return, ids):
        line.note, line.person = "", scrubbed(line.person, traces)


def _forget_photos(
    session: Session, bench: Bench, ids: Sequence[int], traces: Sequence[str], take_away: bool
) -> list[str]:
    """No photo is shown to the customer any more; they are taken away if asked. Gives the files to delete."""
    gone = []
    for photo in records_of_builds(session, Photo, ids):
        photo.caption = scrubbed(photo.caption, traces)
        if photo.removed_at is not None:
            continue
        if take_away:
            remove_photo(session, photo.id, bench, reason=WHY_PHOTOS_GO)
            gone.append(photo.name)
        else:
            share_photo(session, photo.id, bench, shared=False)
    return gone
