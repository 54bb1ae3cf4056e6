"""What is written on each occasion, for an owner: the words, a look at them, and whether they are sent."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.mail_settings import mail_template
from shop.rules.mail_words import OUR_WORDS, Words, faults_of_words
from shop.rules.mails import TITLES, MailKind
from shop.rules.refusals import BadInput, NotOnFile
from shop.services.mail_settings import change_mail_template
from shop.web.deps import Form, Now, Posted, Reading, Writing
from shop.web.doors import AtWays
from shop.web.forms import Fields, FormView, showing_again
from shop.web.mail_page import example_of, template_context
from shop.web.running import ReadingRoute
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/mail_template.html"


@router.get("/ways/mail/kinds/{kind}")
def show_mail_template(actor: AtWays, page: Page, session: Reading, now: Now, kind: str) -> Response:
    """The words of one kind, to change, and what they look like to a customer."""
    known = _kind(kind)
    found = mail_template(session, known)
    example = example_of(page, found.words, now)
    form = FormView(found._asdict())
    return page.show(TEMPLATE, here="ways", form=form, **{**_context(session, known), "example": example})


@router.post("/ways/mail/kinds/{kind}")
def save_mail_template(actor: AtWays, page: Page, session: Writing, posted: Form, kind: str) -> Response:
    """Change the words of one kind and whether they are sent."""
    page.here, known = "ways", _kind(kind)
    with showing_again(page, TEMPLATE, posted, lambda: _context(session, known)):
        words = OUR_WORDS[known] if posted.get("ours") else _words(posted)
        is_on, version = bool(posted.get("is_on")), _version(posted)
        change_mail_template(session, known, words, is_on=is_on, version=version)
    return page.go(f"/ways/mail/kinds/{known}", f"Saved. “{TITLES[known]}” is {'on' if is_on else 'off'}.")


@router.post("/ways/mail/kinds/{kind}/preview")
def preview_mail_template(
    actor: AtWays, page: Page, session: Reading, now: Now, posted: Form, kind: str
) -> Response:
    """What words look like that are not saved yet."""
    page.here, known = "ways", _kind(kind)
    with showing_again(page, TEMPLATE, posted, lambda: _context(session, known)):
        words = _words(posted)
        if errors := faults_of_words(known, words):
            raise BadInput(errors)
    example = example_of(page, words, now)
    return page.show(TEMPLATE, form=FormView(posted), **{**_context(session, known), "example": example})


def _kind(text: str) -> MailKind:
    try:
        return MailKind(text)
    except ValueError as fault:
        raise NotOnFile("There is no mail of that kind.") from fault


def _words(posted: Posted) -> Words:
    return Words(posted.get("subject", ""), posted.get("text", ""), posted.get("html", ""))


def _version(posted: Posted) -> int:
    fields = Fields(posted)
    version = fields.required("version", "The version", fields.whole("version", "The version", 0, 10**9))
    fields.done()
    return version or 0


def _context(session: Session, kind: MailKind) -> dict[str, Any]:
    return {"example": None, "on_file": mail_template(session, kind), **template_context(kind)}
