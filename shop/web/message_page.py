"""Messages as pages show them: finished words for the shop's side and for the customer's."""

from collections.abc import Iterable
from datetime import datetime
from typing import NamedTuple
from zoneinfo import ZoneInfo

from shop.queries.messages import MessageView
from shop.rules.messages import MOST_TEXT
from shop.web.wording import when

MOST_SHOWN = 50
MOST_ON_ROD = 3


class MessageLine(NamedTuple):
    """A message: who wrote it and when, what it says, and what has become of it.

    `may_mark` is whether whoever looks may say that it is read.
    """

    id: int
    who: str
    about: str
    href: str
    at_text: str
    at_iso: str
    text: str
    state: str
    from_customer: bool
    may_mark: bool


def shop_line(message: MessageView, now: datetime, zone: ZoneInfo) -> MessageLine:
    """A message for the shop."""
    return MessageLine(
        message.id, message.customer if message.from_customer else message.by,
        f"{message.build} {message.title}", f"/builds/{message.build}/messages",
        when(message.at, now, zone), message.at.isoformat(), message.text,
        _state_for_shop(message, now, zone), message.from_customer,
        message.from_customer and message.read_at is None,
    )  # fmt: skip


def _state_for_shop(message: MessageView, now: datetime, zone: ZoneInfo) -> str:
    if message.read_at is None:
        return "not read yet" if message.from_customer else "the customer has not marked it as read"
    read = when(message.read_at, now, zone)
    if not message.from_customer:
        return f"read by the customer {read}"
    return f"read by {message.read_by} {read}" + (", answered" if message.is_answered else "")


def customer_line(message: MessageView, shop_name: str, now: datetime, zone: ZoneInfo) -> MessageLine:
    """A message for the customer, who hears nothing of who in the shop did what."""
    if message.from_customer:
        state = "sent; the shop has not read it yet" if message.read_at is None else "read by the shop"
    else:
        state = "new" if message.read_at is None else ""
    return MessageLine(
        message.id, "You" if message.from_customer else shop_name, "", "", when(message.at, now, zone),
        message.at.isoformat(), message.text, state, message.from_customer, False,
    )  # fmt: skip


def shop_lines(messages: Iterable[MessageView], now: datetime, zone: ZoneInfo) -> list[MessageLine]:
    """Messages for the shop."""
    return [shop_line(message, now, zone) for message in messages]


WRITE_HINT = f"at most {MOST_TEXT} characters"
