"""The outbox: claiming the mail that is due, noting what became of it, and a person's word about one.

Sending goes in three steps, so that nothing is sent inside a transaction: `claim_mail` in one, the sending
by `shop.outside.mail`, and `mark_sent` or `mark_failed` in another. A mail is claimed for a while only, so
that one whose process has died is tried again. What this leaves open: a process that dies after the server
has taken a mail and before that is written down sends it again once the claim has run out, under the same
Message-ID, by which most mail programs show it once.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from shop.db.customers import Customer
from shop.db.mails import Mail
from shop.queries.customers import customer_record
from shop.queries.mail_settings import MailSettingsView, mail_template, read_mail_settings
from shop.queries.mails import due_mail, ground_of_build, mail_record, nonce_of_quote
from shop.queries.status_links import live_nonce
from shop.rules.mail_addresses import fault_of_address
from shop.rules.mail_words import Words, finished
from shop.rules.mails import MOST_ERROR, MOST_TRIES, MailKind, is_stale, one_line, record_id_of, wait_after
from shop.rules.refusals import Overtaken
from shop.services.tokens import token_from

# Longer than any try may take (`shop.outside.mail`), with what comes before and after it.
CLAIM = timedelta(minutes=15)
STALE = "It waited for more than a week without a try; look whether it is still true."
WITHDRAWN = "The quote was withdrawn before the mail went out."
NOT_WANTED = "The customer wants no mail any more."
NO_ADDRESS = "There is no address on file to send it to any more."
KIND_IS_OFF = "Mail of this kind was switched off before it went out."
OUTRUN = "What has happened to the rod since makes it untrue."


@dataclass(frozen=True)
class Claim:
    """A mail that one process may send now, finished with its link, and the settings to send it by.

    `until` is when the claim runs out, and by which it is known as one's own.
    """

    mail_id: int
    until: datetime
    to_address: str
    words: Words
    message_id: str
    created_at: datetime
    settings: MailSettingsView


def claim_mail(session: Session, *, now: datetime, secret: bytes, public_url: str) -> Claim | None:
    """Claim the mail that is due first; none where none is, or where that one had to be given up.

    `public_url` is the shop's own address as customers reach it; without it no mail has a link.
    """
    mail = due_mail(session, now)
    if mail is None:
        return None
    if sentence := _why_not(session, mail, now):
        _give_up(mail, now, sentence)
        session.flush()
        return None
    mail.to_address = _address_of(mail, _customer_of(session, mail))
    mail.claimed_until = now + CLAIM
    mail.tries += 1
    session.flush()
    link = _link_of(session, mail, secret, public_url)
    words = finished(Words(mail.subject, mail.text, mail.html), link)
    return Claim(
        mail.id, mail.claimed_until, mail.to_address, words, mail.message_id, mail.created_at,
        read_mail_settings(session),
    )  # fmt: skip


def _why_not(session: Session, mail: Mail, now: datetime) -> str:
    """Why a mail that is due is not sent after all, or nothing."""
    if mail.tries >= MOST_TRIES:  # the process of its last try has died
        return f"Given up after {mail.tries} tries. {mail.last_error}"
    if is_stale(mail.claimed_until or mail.next_try_at, now):
        return STALE
    if mail.kind == MailKind.QUOTE and nonce_of_quote(session, record_id_of(mail.key)) is None:
        return WITHDRAWN
    return OUTRUN if _is_outrun(session, mail) else _why_nobody(session, mail)


def _is_outrun(session: Session, mail: Mail) -> bool:
    """Whether a mail would tell what is no longer so, as one may that waited for its server for long."""
    ground = None if mail.build_id is None else ground_of_build(session, mail.build_id)
    if ground is None:
        return False
    # The link that goes in opens a rod that is somebody else's by now.
    if ground.customer_id != mail.customer_id:
        return True
    if mail.kind == MailKind.SLIP and ground.last_promise_id != record_id_of(mail.key):
        return True
    return ground.is_closed and mail.kind in (MailKind.READY, MailKind.SLIP)


def _why_nobody(session: Session, mail: Mail) -> str:
    """Why a mail is for nobody, or for nobody any more; or nothing."""
    customer = _customer_of(session, mail)
    address = _address_of(mail, customer)
    if not address or not mail.text:
        return NO_ADDRESS
    if sentence := fault_of_address(address):
        return sentence
    if customer is not None and not customer.wants_mail:
        return NOT_WANTED
    return "" if mail_template(session, MailKind(mail.kind)).is_on else KIND_IS_OFF


def _customer_of(session: Session, mail: Mail) -> Customer | None:
    return None if mail.customer_id is None else customer_record(session, mail.customer_id)


def _address_of(mail: Mail, customer: Customer | None) -> str:
    """Where a mail goes: to the address that its customer has by now."""
    return mail.to_address if customer is None else customer.email


def _link_of(session: Session, mail: Mail, secret: bytes, public_url: str) -> str:
    """The address of the customer's page that a mail is about; empty where there is none."""
    if not public_url or mail.build_id is None:
        return ""
    if mail.kind == MailKind.QUOTE:
        room, nonce = "quote", nonce_of_quote(session, record_id_of(mail.key))
    else:
        room, nonce = "rod", live_nonce(session, mail.build_id)
    return "" if nonce is None else f"{public_url.rstrip('/')}/{room}/{token_from(secret, nonce)}"


def mark_sent(session: Session, claim: Claim, *, now: datetime) -> None:
    """Note that a mail was taken by the server."""
    mail = mail_record(session, claim.mail_id)
    mail.sent_at, mail.given_up_at, mail.claimed_until, mail.last_error = now, None, None, ""
    session.flush()


def mark_failed(session: Session, claim: Claim, *, now: datetime, says: str, is_for_good: bool) -> None:
    """Note that a mail was not taken, and when it is tried again, if it is at all."""
    mail = mail_record(session, claim.mail_id)
    if mail.claimed_until != claim.until:  # the claim ran out, and somebody else has it
        return
    mail.claimed_until = None
    if mail.given_up_at is not None:  # taken back meanwhile
        session.flush()
        return
    mail.last_error = one_line(says, MOST_ERROR)
    wait = None if is_for_good else wait_after(mail.tries)
    if wait is not None:
        mail.next_try_at = now + wait
    else:
        tries = "" if is_for_good else f"Given up after {mail.tries} tries. "
        _give_up(mail, now, tries + mail.last_error)
    session.flush()


def try_again(session: Session, mail_id: int, *, now: datetime) -> Mail:
    """Try a mail again now, to the address that the customer has by now. Raises `NotOnFile`, `Overtaken`."""
    mail = _open_record(session, mail_id, now)
    if sentence := _why_nobody(session, mail):
        raise Overtaken(sentence)
    mail.to_address = _address_of(mail, _customer_of(session, mail))
    mail.given_up_at, mail.claimed_until, mail.next_try_at, mail.tries = None, None, now, 0
    session.flush()
    return mail


def drop_mail(session: Session, mail_id: int, *, now: datetime, by: str) -> Mail:
    """Say that a mail is not to be sent. Raises `NotOnFile`, `Overtaken`."""
    mail = _open_record(session, mail_id, now)
    if mail.given_up_at is not None:
        raise Overtaken("It is not being sent anyway.")
    _give_up(mail, now, f"Not to be sent, {by} says.")
    session.flush()
    return mail


def _open_record(session: Session, mail_id: int, now: datetime) -> Mail:
    mail = mail_record(session, mail_id)
    if mail.sent_at is not None:
        raise Overtaken("It has been sent already.")
    if mail.claimed_until is not None and mail.claimed_until > now:
        raise Overtaken("It is being sent at this moment; look at it again in some minutes.")
    return mail


def _give_up(mail: Mail, now: datetime, sentence: str) -> None:
    mail.given_up_at, mail.claimed_until, mail.last_error = now, None, one_line(sentence, MOST_ERROR)
