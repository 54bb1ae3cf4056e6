"""Messages of customers: the Desk's list of what is to be read, and the exchange about one rod."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.builds import build_view
from shop.queries.messages import messages_of_build, read_messages, unread_messages
from shop.services.bench import Signer
from shop.services.messages import mark_read, write_from_shop
from shop.web.deps import Asked, Form, Now, Reading, Writing
from shop.web.doors import AtDesk
from shop.web.forms import FormView, showing_again
from shop.web.message_page import MOST_SHOWN, WRITE_HINT, shop_lines
from shop.web.rod_page import status_address
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
LIST, THREAD = "pages/messages.html", "pages/build_messages.html"
NEWEST = 2**31 - 1


@router.get("/desk/messages")
def show_messages(actor: AtDesk, page: Page, session: Reading, now: Now, before: Asked = NEWEST) -> Response:
    """What customers wrote: unread ones first, the oldest first among them; then those that were read."""
    first = before == NEWEST
    unread = unread_messages(session, 0, MOST_SHOWN) if first else []
    read = read_messages(session, before, MOST_SHOWN + 1)
    return page.show(
        LIST, here="desk", tab="messages", first=first, unread=shop_lines(unread, now, page.zone),
        read=shop_lines(read[:MOST_SHOWN], now, page.zone),
        older=read[MOST_SHOWN - 1].id if len(read) > MOST_SHOWN else None,
    )  # fmt: skip


@router.post("/desk/messages/{message_id}/read")
def read_message(actor: AtDesk, page: Page, session: Writing, now: Now, message_id: int) -> Response:
    """Say that a message has been read."""
    mark_read(session, message_id, Signer(now, actor))
    return page.go("/desk/messages", "Marked as read.")


@router.get("/builds/{number}/messages")
def show_thread(actor: AtDesk, page: Page, session: Reading, now: Now, number: str) -> Response:
    """What was written to and fro about one rod."""
    return page.show(THREAD, here="desk", form=FormView(), **_thread(page, session, now, number))


@router.post("/builds/{number}/messages")
def answer(actor: AtDesk, page: Page, session: Writing, now: Now, number: str, posted: Form) -> Response:
    """Write to the rod's customer; what they wrote before is read with that."""
    page.here = "desk"
    with showing_again(page, THREAD, posted, lambda: _thread(page, session, now, number)):
        write_from_shop(session, number, Signer(now, actor), text=posted.get("text", ""))
    return page.go(f"/builds/{number}/messages", "The customer finds it on the page of the rod.")


def _thread(page: Frame, session: Session, now: Now, number: str) -> dict[str, Any]:
    build = build_view(session, number)
    messages = messages_of_build(session, build.id, MOST_SHOWN)
    return {
        "build": build,
        "lines": shop_lines(messages, now, page.zone),
        "status_url": status_address(page, session, build.id),
        "write_hint": WRITE_HINT,
    }
