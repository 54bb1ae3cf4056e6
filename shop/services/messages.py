"""Messages: what a customer writes over the status link, what the shop answers, and who has read what."""

from datetime import datetime

from sqlalchemy.orm import Session

from shop.db.messages import Message
from shop.queries.builds import build_by_id, build_record
from shop.queries.messages import (
    last_from_customer,
    last_message,
    message_record,
    messages_since,
    unread_records,
)
from shop.rules.messages import A_DAY, MOST_A_DAY, SAME_TAP, TOO_MANY, faults_of_message, plain_text
from shop.rules.refusals import BadInput, Overtaken
from shop.services.bench import Signer


def write_from_customer(session: Session, build_id: int, *, now: datetime, text: str) -> Message | None:
    """Take down what the holder of a build's status link writes; none for the same text sent twice at once.

    Whoever answers has read what the shop wrote before. Raises `BadInput`, or `Overtaken` where too many came
    over the link within a day.
    """
    # The build stays locked until the commit: many at once must not all be the twentieth.
    build_by_id(session, build_id)
    said = _checked(text)
    last = last_from_customer(session, build_id)
    if last is not None and last.text == said and now - last.at < SAME_TAP:
        return None
    if messages_since(session, build_id, now - A_DAY) >= MOST_A_DAY:
        raise Overtaken(TOO_MANY)
    mark_seen_by_customer(session, build_id, now=now)
    return _add(session, Message(build_id=build_id, from_customer=True, text=said, at=now))


def write_from_shop(session: Session, number: str, signer: Signer, *, text: str) -> Message:
    """Write to a build's customer, who reads it on the page behind the status link.

    Whoever answers has read what the customer wrote before. The same text sent twice at once is one message,
    which both get. Raises `BadInput` or `NotOnFile`.
    """
    build = build_record(session, number)
    said = _checked(text)
    last = last_message(session, build.id)
    if last is not None and (last.by, last.text) == (signer.actor.name, said) and _is_same_tap(last, signer):
        return last
    for message in unread_records(session, build.id, from_customer=True):
        message.read_at, message.read_by = signer.now, signer.actor.name
    by = signer.actor.name
    return _add(session, Message(build_id=build.id, from_customer=False, text=said, at=signer.now, by=by))


def mark_read(session: Session, message_id: int, signer: Signer) -> Message:
    """Say that somebody in the shop has read what a customer wrote; who read it first stays on it.

    Raises `NotOnFile`, or `Overtaken` for a message of the shop's own.
    """
    message = message_record(session, message_id)
    if not message.from_customer:
        raise Overtaken("The shop wrote this itself; the customer marks it as read.")
    if message.read_at is None:
        message.read_at, message.read_by = signer.now, signer.actor.name
        session.flush()
    return message


def mark_seen_by_customer(session: Session, build_id: int, *, now: datetime) -> None:
    """Say that the holder of a build's status link has read what the shop wrote."""
    for message in unread_records(session, build_id, from_customer=False):
        message.read_at = now
    session.flush()


def _checked(text: str) -> str:
    said = plain_text(text)
    if errors := faults_of_message(said):
        raise BadInput(errors)
    return said


def _is_same_tap(last: Message, signer: Signer) -> bool:
    return not last.from_customer and signer.now - last.at < SAME_TAP


def _add(session: Session, message: Message) -> Message:
    session.add(message)
    session.flush()
    return message
