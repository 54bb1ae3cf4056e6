"""The API of messages: what customers wrote over their status links, and the shop's answers."""

from typing import Annotated, Any

from fastapi import Query
from pydantic import BaseModel, Field

from shop.queries.builds import build_view
from shop.queries.messages import (
    MessageView,
    message_view,
    messages_after,
    messages_of_build_after,
    unread_messages,
)
from shop.rules.messages import MOST_TEXT
from shop.services.bench import Signer
from shop.services.messages import mark_read, write_from_shop
from shop.web.api.base import After, Body, Limit, Once, Page, api_router, page_of
from shop.web.api.times import InstantOut
from shop.web.deps import Now, Reading, Writing
from shop.web.doors import KeyForDesk

router = api_router("messages")

Unread = Annotated[bool, Query(description="Only messages of customers that nobody in the shop has read.")]
Text = Annotated[str, Field(min_length=1, max_length=MOST_TEXT, examples=["The guides are here."])]


class MessageIn(Body):
    """What the shop writes to a build's customer."""

    text: Text


class MessageOut(BaseModel):
    """A message about a build; `by` is empty where the customer wrote it.

    `read_at` says when the other side had read it; `read_by` who in the shop, for a message of a customer.
    """

    id: int
    build: str
    from_customer: bool
    text: str
    at: InstantOut
    by: str
    read_at: InstantOut | None
    read_by: str
    is_answered: bool


def _page(found: list[MessageView], limit: int) -> dict[str, Any]:
    return page_of([message._asdict() for message in found], limit, lambda item: item["id"])


@router.get("/messages", response_model=Page[MessageOut])
def list_messages(
    actor: KeyForDesk, session: Reading, unread: Unread = False, after: After = 0, limit: Limit = 50
) -> Any:
    """Messages by id, of every build."""
    read = unread_messages if unread else messages_after
    return _page(read(session, after, limit + 1), limit)


@router.post("/messages/{message_id}/read", response_model=MessageOut)
def post_message_read(actor: KeyForDesk, session: Writing, _once: Once, now: Now, message_id: int) -> Any:
    """Say that a customer's message has been read; who read it first stays on it."""
    mark_read(session, message_id, Signer(now, actor))
    return message_view(session, message_id)._asdict()


@router.get("/builds/{number}/messages", response_model=Page[MessageOut])
def list_build_messages(
    actor: KeyForDesk, session: Reading, number: str, after: After = 0, limit: Limit = 50
) -> Any:
    """Messages about a build, by id."""
    build_id = build_view(session, number).id
    return _page(messages_of_build_after(session, build_id, after, limit + 1), limit)


@router.post("/builds/{number}/messages", status_code=201, response_model=MessageOut)
def post_build_message(
    actor: KeyForDesk, session: Writing, _once: Once, now: Now, number: str, body: MessageIn
) -> Any:
    """Write to a build's customer; what they wrote before counts as read."""
    message = write_from_shop(session, number, Signer(now, actor), text=body.text)
    return message_view(session, message.id)._asdict()
