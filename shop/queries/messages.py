"""Messages between customers and the shop: those of one build, and what the Desk has to read."""

from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import Select, bindparam, exists, func, select
from sqlalchemy.orm import Session, aliased

from shop.db.builds import Build
from shop.db.customers import Customer
from shop.db.messages import Message
from shop.rules.refusals import NotOnFile


class MessageView(NamedTuple):
    """A message; `by` is empty where the customer wrote it. `is_answered` once the shop wrote after it."""

    id: int
    build_id: int
    build: str
    title: str
    customer: str
    from_customer: bool
    text: str
    at: datetime
    by: str
    read_at: datetime | None
    read_by: str
    is_answered: bool


class SentText(NamedTuple):
    """What a customer wrote last, and when."""

    text: str
    at: datetime


_LATER = aliased(Message)
_VIEW: Select[*tuple[Any, ...]] = (
    select(
        Message.id, Message.build_id, Build.number, Build.title, Customer.name, Message.from_customer,
        Message.text, Message.at, Message.by, Message.read_at, Message.read_by,
        exists()
        .where(
            _LATER.build_id == Message.build_id, _LATER.id > Message.id, ~_LATER.from_customer,
            Message.from_customer,
        )
        .correlate(Message),
    )
    .join(Build, Build.id == Message.build_id)
    .join(Customer, Customer.id == Build.customer_id)
)  # fmt: skip
_LATEST = (
    _VIEW.where(Message.build_id == bindparam("build_id"))
    .order_by(Message.id.desc())
    .limit(bindparam("most"))
)
_OF_BUILD_AFTER = (
    _VIEW.where(Message.build_id == bindparam("build_id"), Message.id > bindparam("after"))
    .order_by(Message.id)
    .limit(bindparam("most"))
)
_AFTER = _VIEW.where(Message.id > bindparam("after")).order_by(Message.id).limit(bindparam("most"))
_UNREAD = (
    _VIEW.where(Message.read_at.is_(None), Message.from_customer, Message.id > bindparam("after"))
    .order_by(Message.id)
    .limit(bindparam("most"))
)
_READ = (
    _VIEW.where(Message.read_at.is_not(None), Message.from_customer, Message.id < bindparam("before"))
    .order_by(Message.id.desc())
    .limit(bindparam("most"))
)
_FROM_CUSTOMER_SINCE = select(func.count()).where(
    Message.build_id == bindparam("build_id"), Message.from_customer, Message.at > bindparam("since")
)
_LAST = select(Message).where(Message.build_id == bindparam("build_id")).order_by(Message.id.desc()).limit(1)
_LAST_FROM_CUSTOMER = (
    select(Message.text, Message.at)
    .where(Message.build_id == bindparam("build_id"), Message.from_customer)
    .order_by(Message.id.desc())
    .limit(1)
)


def messages_of_build(session: Session, build_id: int, most: int) -> list[MessageView]:
    """The last messages about a build, at most `most`, in the order in which they were written."""
    rows = session.execute(_LATEST, {"build_id": build_id, "most": most})
    return [MessageView(*row) for row in rows][::-1]


def messages_of_build_after(session: Session, build_id: int, after: int, most: int) -> list[MessageView]:
    """At most `most` messages about a build whose id is above `after`, by id."""
    rows = session.execute(_OF_BUILD_AFTER, {"build_id": build_id, "after": after, "most": most})
    return [MessageView(*row) for row in rows]


def messages_after(session: Session, after: int, most: int) -> list[MessageView]:
    """At most `most` messages whose id is above `after`, by id."""
    return [MessageView(*row) for row in session.execute(_AFTER, {"after": after, "most": most})]


def unread_messages(session: Session, after: int, most: int) -> list[MessageView]:
    """Messages of customers that nobody in the shop has read, by id, from above `after` on."""
    return [MessageView(*row) for row in session.execute(_UNREAD, {"after": after, "most": most})]


def read_messages(session: Session, before: int, most: int) -> list[MessageView]:
    """Messages of customers that were read, newest first, of those whose id is below `before`."""
    return [MessageView(*row) for row in session.execute(_READ, {"before": before, "most": most})]


def messages_since(session: Session, build_id: int, since: datetime) -> int:
    """How many messages a build's customer has written after an instant."""
    return session.scalar(_FROM_CUSTOMER_SINCE, {"build_id": build_id, "since": since}) or 0


def last_from_customer(session: Session, build_id: int) -> SentText | None:
    """What a build's customer wrote last; none before the first."""
    row = session.execute(_LAST_FROM_CUSTOMER, {"build_id": build_id}).first()
    return None if row is None else SentText(*row)


def last_message(session: Session, build_id: int) -> Message | None:
    """The record of the last message about a build, whoever wrote it; none before the first."""
    return session.scalars(_LAST, {"build_id": build_id}).first()


def message_view(session: Session, message_id: int) -> MessageView:
    """One message. Raises `NotOnFile`."""
    found = messages_after(session, message_id - 1, 1)
    if not found or found[0].id != message_id:
        raise NotOnFile(f"There is no message {message_id} on file.")
    return found[0]


def unread_records(session: Session, build_id: int, *, from_customer: bool) -> list[Message]:
    """The records of a build's messages that the other side has not read, for a verb to mark."""
    wanted = select(Message).where(
        Message.build_id == build_id, Message.from_customer.is_(from_customer), Message.read_at.is_(None)
    )
    return list(session.scalars(wanted))


def message_record(session: Session, message_id: int) -> Message:
    """The record of one message, for a verb to mark. Raises `NotOnFile`."""
    message = session.get(Message, message_id, with_for_update=True)
    if message is None:
        raise NotOnFile(f"There is no message {message_id} on file.")
    return message
