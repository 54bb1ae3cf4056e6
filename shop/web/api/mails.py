"""The API of mail: what was written to customers, how far it has come, and a word about one."""

from typing import Annotated, Any

from fastapi import Query
from pydantic import BaseModel

from shop.queries.mails import MailView, mail_view, mails_after
from shop.rules.mails import MailKind, MailState
from shop.services.outbox import drop_mail, try_again
from shop.web.api.base import After, Limit, Once, Page, api_router, page_of
from shop.web.api.times import InstantOut
from shop.web.deps import Now, Reading, Writing
from shop.web.doors import KeyForDesk

router = api_router("mails")

OfBuild = Annotated[
    str | None, Query(max_length=20, description="Only mails about the build of this printed number.")
]


class MailOut(BaseModel):
    """A mail in the outbox.

    In `text` and `html`, `{link}` stands where the address of the customer's page is put in on sending, and
    braces of their own are doubled. `next_try_at` counts while its state is waiting; `last_error` is what the
    last try came to, or why it was given up.
    """

    id: int
    kind: MailKind
    state: MailState
    build: str | None
    customer_id: int | None
    to_address: str
    subject: str
    text: str
    html: str
    created_at: InstantOut
    next_try_at: InstantOut
    sent_at: InstantOut | None
    given_up_at: InstantOut | None
    tries_count: int
    last_error: str


def _out(mail: MailView) -> MailOut:
    return MailOut(
        state=mail.state,
        tries_count=mail.tries,
        **{name: value for name, value in mail._asdict().items() if name in MailOut.model_fields},
    )


@router.get("/mails", response_model=Page[MailOut])
def list_mails(
    actor: KeyForDesk, session: Reading, build: OfBuild = None, after: After = 0, limit: Limit = 50
) -> Any:
    """Mails by id, in every state."""
    found = mails_after(session, after, limit + 1, build)
    return page_of([_out(mail) for mail in found], limit, lambda item: item.id)


@router.get("/mails/{mail_id}", response_model=MailOut)
def get_mail(actor: KeyForDesk, session: Reading, mail_id: int) -> Any:
    """One mail."""
    return _out(mail_view(session, mail_id))


@router.post("/mails/{mail_id}/try-again", response_model=MailOut)
def post_mail_try_again(actor: KeyForDesk, session: Writing, _once: Once, now: Now, mail_id: int) -> Any:
    """Try a mail again now, to the address that the customer has by now."""
    return _out(mail_view(session, try_again(session, mail_id, now=now).id))


@router.post("/mails/{mail_id}/drop", response_model=MailOut)
def post_mail_drop(actor: KeyForDesk, session: Writing, _once: Once, now: Now, mail_id: int) -> Any:
    """Say that a mail is not to be sent."""
    return _out(mail_view(session, drop_mail(session, mail_id, now=now, by=actor.name).id))
