"""The API of what is written on each occasion."""

from typing import Annotated, Any

from pydantic import BaseModel, Field

from shop.queries.mail_settings import mail_template, mail_templates
from shop.rules.mail_words import Words
from shop.rules.mails import MOST_HTML, MOST_SUBJECT, MOST_TEXT, PLACEHOLDERS, MailKind
from shop.services.mail_settings import change_mail_template
from shop.web.api.base import Body, Once, Page, Truth, api_router, changes_of
from shop.web.deps import Reading, Writing
from shop.web.doors import KeyForLooking, KeyForWays

router = api_router("mail templates")

Subject = Annotated[str, Field(max_length=MOST_SUBJECT, examples=["News of your rod {number}"])]
Text = Annotated[str, Field(max_length=MOST_TEXT)]
Html = Annotated[str, Field(max_length=MOST_HTML)]


class MailTemplateChanges(Body):
    """What changes of the words of one kind; whatever is left out stays."""

    is_on: Truth | None = None
    subject: Subject | None = None
    text: Text | None = None
    html: Html | None = None


class MailTemplateOut(BaseModel):
    """What is written on one occasion, and which placeholders its words may have; version 0 is ours."""

    kind: MailKind
    is_on: bool
    subject: str
    text: str
    html: str
    placeholders: list[str]
    version: int


@router.get("/mail-templates", response_model=Page[MailTemplateOut])
def list_mail_templates(actor: KeyForLooking, session: Reading) -> Any:
    """What is written on every occasion."""
    return {"items": [_out(item._asdict()) for item in mail_templates(session)]}


@router.get("/mail-templates/{kind}", response_model=MailTemplateOut)
def get_mail_template(actor: KeyForLooking, session: Reading, kind: MailKind) -> Any:
    """What is written on one occasion."""
    return _out(mail_template(session, kind)._asdict())


@router.patch("/mail-templates/{kind}", response_model=MailTemplateOut)
def patch_mail_template(
    actor: KeyForWays, session: Writing, _once: Once, kind: MailKind, body: MailTemplateChanges
) -> Any:
    """Change the words of one kind, or whether they are sent."""
    before = mail_template(session, kind)
    changes = changes_of(body)
    is_on = changes.pop("is_on", before.is_on)
    words = Words(**{**before.words._asdict(), **changes})
    return _out(change_mail_template(session, kind, words, is_on=is_on, version=before.version)._asdict())


def _out(template: dict[str, Any]) -> dict[str, Any]:
    return {**template, "placeholders": list(PLACEHOLDERS[template["kind"]])}
