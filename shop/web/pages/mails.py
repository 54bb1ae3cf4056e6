"""The outbox: what waits to be mailed, what was given up and why, and what was sent."""

from fastapi import APIRouter
from starlette.responses import Response

from shop.queries.mails import mail_view
from shop.services.outbox import drop_mail, try_again
from shop.web.deps import Asked, Now, Reading, Writing
from shop.web.doors import AtDesk
from shop.web.mail_page import NEWEST, mail_context, outbox_context
from shop.web.running import ReadingRoute
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)


@router.get("/desk/outbox")
def show_outbox(actor: AtDesk, page: Page, session: Reading, now: Now, before: Asked = NEWEST) -> Response:
    """What waits, what was given up, and what was sent, newest first."""
    context = outbox_context(page, session, now, before)
    return page.show("pages/outbox.html", here="desk", tab="outbox", **context)


@router.get("/desk/outbox/{mail_id}")
def show_mail(actor: AtDesk, page: Page, session: Reading, now: Now, mail_id: int) -> Response:
    """One mail, as it was or will be sent."""
    return page.show("pages/mail.html", here="desk", **mail_context(page, mail_view(session, mail_id), now))


@router.post("/desk/outbox/{mail_id}/try-again")
def try_mail_again(actor: AtDesk, page: Page, session: Writing, now: Now, mail_id: int) -> Response:
    """Try a mail again now, to the address that the customer has by now."""
    mail = try_again(session, mail_id, now=now)
    return page.go(f"/desk/outbox/{mail_id}", f"It is tried again now, to {mail.to_address}.")


@router.post("/desk/outbox/{mail_id}/drop")
def do_not_send(actor: AtDesk, page: Page, session: Writing, now: Now, mail_id: int) -> Response:
    """Say that a mail is not to be sent."""
    drop_mail(session, mail_id, now=now, by=actor.name)
    return page.go(f"/desk/outbox/{mail_id}", "It is not sent.")
