"""Mail to customers, written into the outbox in the transaction of what it tells of.

Written only where mail is on, its kind is on, and the customer wants mail and has an address; never twice
for one occasion. What is done with the outbox is in `shop.services.outbox`, the settings and the words in
`shop.services.mail_settings`.
"""

from collections.abc import Collection, Mapping
from datetime import date, datetime
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from shop.craft.saying import say_money
from shop.db.builds import Build
from shop.db.events import Event
from shop.db.mails import Mail
from shop.db.promises import Promise
from shop.db.quotes import Quote
from shop.queries.mails import (
    MailGround,
    due_cares,
    has_mail,
    mail_ground,
    mail_records_of,
    slip_records,
    stages_of_events,
    waiting_records,
)
from shop.queries.payments import owed_of_build
from shop.queries.promises import PromiseView, promises_of_build
from shop.rules.mail_addresses import fault_of_address
from shop.rules.mail_words import Words, filled
from shop.rules.mails import (
    DAY_NOT_KNOWN,
    PLACEHOLDERS,
    MailKind,
    day_words,
    key_of,
    kinds_for_stage,
    record_id_of,
)
from shop.rules.sequences import Sequence
from shop.services.tokens import new_token

_OF_STAGES = (MailKind.STAGE, MailKind.READY, MailKind.HANDED_OVER)
TAKEN_BACK = "Taken back before it went out: what it tells of was put right on the record."
ERASED = "The customer was erased."
MOVED_AGAIN = "The promised day moved again before it went out; a later mail tells of that."


def write_mail(
    session: Session,
    kind: MailKind,
    build_id: int,
    *,
    now: datetime,
    record_id: int,
    values: Mapping[str, str],
    day: datetime | None = None,
) -> Mail | None:
    """Put a mail about a build into the outbox; none where nothing is to be written.

    `record_id` is that of what it tells of (see `key_of`), `values` what the words of the kind ask for beside
    customer, rod, shop, care sheet and what is owed. `day` is an instant whose day in the shop's calendar
    the words may name.
    """
    ground = mail_ground(session, kind, build_id)
    key = key_of(kind, record_id)
    if ground is None or fault_of_address(ground.email) or has_mail(session, key):
        return None
    said = {**_common(ground), "owed": _owed(session, kind, build_id), **values}
    if day is not None:
        said["day"] = day_words(day.astimezone(ZoneInfo(ground.time_zone)).date())
    words = filled(Words(ground.subject, ground.text, ground.html), said)
    mail = Mail(
        key=key, kind=kind, build_id=build_id, customer_id=ground.customer_id, to_address=ground.email,
        subject=words.subject, text=words.text, html=words.html,
        message_id=new_message_id(ground.from_address), created_at=now, next_try_at=now,
    )  # fmt: skip
    session.add(mail)
    session.flush()
    return mail


def new_message_id(from_address: str) -> str:
    """An id for a message that no other has (RFC 5322, 3.6.4)."""
    return f"<{new_token()}@{from_address.rpartition('@')[2]}>"


def _common(ground: MailGround) -> dict[str, str]:
    return {
        "customer": ground.customer, "rod": ground.title, "number": ground.number, "shop": ground.shop,
        "care": ground.care_sheet,
    }  # fmt: skip


def _owed(session: Session, kind: MailKind, build_id: int) -> str:
    if "owed" not in PLACEHOLDERS[kind]:
        return ""
    owed = owed_of_build(session, build_id)
    return f"{say_money(owed.owed_cents)} {owed.currency}" if owed.owed_cents else ""


def tell_of_stage(
    session: Session, event: Event, sequence: Sequence, name: str, reached: Collection[str]
) -> Mail | None:
    """Tell the customer that a stage was reached, by its event; `reached` has every stage reached by now."""
    stage = next(stage for stage in sequence.stages if stage.name == name)
    for kind in kinds_for_stage(sequence, stage, reached):
        mail = write_mail(
            session, kind, event.build_id, now=event.entered_at, record_id=event.id,
            values={"stage": stage.customer_words}, day=event.happened_at,
        )  # fmt: skip
        if mail is not None:
            return mail
    return None


def tell_of_slip(session: Session, build: Build, promise: Promise) -> Mail | None:
    """Tell the customer that the promised day has moved, and why; a first promise is no slip.

    Nor is one that went back to the day it was before anybody was told.
    """
    if promise.promised_on == promise.was_on or build.closed_at is not None:
        return None
    before = {item.id: item for item in promises_of_build(session, build.id) if item.id < promise.id}
    if not any(item.promised_on for item in before.values()) and promise.was_on is None:
        return None
    was_on = _day_told(session, promise, before)
    if was_on == promise.promised_on:
        return None
    values = {
        "was": "" if was_on is None else day_words(was_on), "reason": promise.reason,
        "day": DAY_NOT_KNOWN if promise.promised_on is None else day_words(promise.promised_on),
    }  # fmt: skip
    return write_mail(
        session, MailKind.SLIP, build.id, now=promise.at, record_id=promise.id, values=values
    )  # fmt: skip


def _day_told(session: Session, promise: Promise, before: Mapping[int, PromiseView]) -> date | None:
    """The promised day that a customer knows of, by the promises `before`.

    Mail that waits to tell of another is taken back: it might go out after the one about to be written.
    """
    told = promise.was_on
    for mail in slip_records(session, promise.build_id):
        is_being_sent = mail.claimed_until is not None and mail.claimed_until > promise.at
        waits = mail.sent_at is None and mail.given_up_at is None and not is_being_sent
        if waits:
            _take_back(mail, promise.at, MOVED_AGAIN)
        elif mail.last_error != MOVED_AGAIN:
            break
        was_on = before[record_id_of(mail.key)].was_on
        # One that was tried may have arrived after all, so the way back from it must be told.
        if was_on != promise.promised_on or not mail.tries:
            told = was_on
    session.flush()
    return told


def tell_of_quote(session: Session, build: Build, quote: Quote, *, now: datetime) -> Mail | None:
    """Send the customer a quote: what it comes to, until when it stands, and the link to answer by."""
    values = {
        "total": f"{say_money(quote.total_cents)} {quote.currency}",
        "until": "" if quote.valid_until is None else day_words(quote.valid_until),
    }
    return write_mail(session, MailKind.QUOTE, build.id, now=now, record_id=quote.id, values=values)


def write_due_mails(session: Session, *, now: datetime) -> int:
    """Write the care notes that have fallen due; gives how many were written."""
    written = [
        write_mail(
            session, MailKind.CARE, build_id, now=now, record_id=build_id, values={}, day=handed_over_at
        )
        for build_id, handed_over_at in due_cares(session, now)
    ]
    return sum(mail is not None for mail in written)


def take_back_mails(session: Session, build: Build, stage_ids: Collection[int], *, now: datetime) -> None:
    """Take back what has not gone out and is no longer so, after the record of a build was put right.

    `stage_ids` has the stages that it has reached by what is on record now.
    """
    waiting = waiting_records(session, build.id)
    told = {mail.id: record_id_of(mail.key) for mail in waiting if mail.kind in _OF_STAGES}
    stages = stages_of_events(session, list(told.values())) if told else {}
    for mail in waiting:
        untrue = mail.id in told and stages.get(told[mail.id]) not in stage_ids
        # A rod that has come back to the bench is not in its customer's hands.
        if untrue or (mail.kind == MailKind.CARE and build.closed_at is None):
            _take_back(mail, now)
    session.flush()


def take_back_care(session: Session, build_id: int, *, now: datetime) -> None:
    """Take back a care note that has not gone out, since its rod has come back."""
    for mail in waiting_records(session, build_id):
        if mail.kind == MailKind.CARE:
            _take_back(mail, now)
    session.flush()


def _take_back(mail: Mail, now: datetime, sentence: str = TAKEN_BACK) -> None:
    mail.given_up_at, mail.last_error = now, sentence


def forget_mails(session: Session, customer_id: int, *, now: datetime) -> None:
    """Take a person out of the outbox: what was written to them goes, that something was written stays."""
    for mail in mail_records_of(session, customer_id):
        # What a server answered may name the address too.
        mail.to_address = mail.subject = mail.text = mail.html = mail.last_error = ""
        if mail.sent_at is None:
            mail.given_up_at, mail.last_error = mail.given_up_at or now, ERASED
    session.flush()
