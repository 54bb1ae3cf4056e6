"""The settings of mail: over which server it goes, and what is written on each occasion."""

from typing import NamedTuple

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from shop.db.mails import MailSettings, MailTemplate
from shop.rules.mail_words import OUR_WORDS, Words
from shop.rules.mails import MailKind


class MailSettingsView(NamedTuple):
    """Over which server mail goes, and as whom; the password is not in the database."""

    is_on: bool
    host: str
    port: int
    security: str
    user_name: str
    from_address: str
    from_name: str
    version: int


class MailTemplateView(NamedTuple):
    """What is written on one occasion: the shop's words, or ours. Version 0 is one never changed."""

    kind: MailKind
    is_on: bool
    subject: str
    text: str
    html: str
    version: int

    @property
    def words(self) -> Words:
        """Its subject, text and HTML."""
        return Words(self.subject, self.text, self.html)


_SETTINGS = select(
    MailSettings.is_on, MailSettings.host, MailSettings.port, MailSettings.security, MailSettings.user_name,
    MailSettings.from_address, MailSettings.from_name, MailSettings.version,
)  # fmt: skip
_TEMPLATES = select(
    MailTemplate.kind, MailTemplate.is_on, MailTemplate.subject, MailTemplate.text, MailTemplate.html,
    MailTemplate.version,
)  # fmt: skip
_TEMPLATE = select(MailTemplate).where(MailTemplate.kind == bindparam("kind")).with_for_update()


def read_mail_settings(session: Session) -> MailSettingsView:
    """The settings as they stand."""
    return MailSettingsView._make(session.execute(_SETTINGS).one())


def mail_settings_record(session: Session) -> MailSettings:
    """The record of the settings, for a verb to change; locked until the transaction ends."""
    return session.get_one(MailSettings, 1, with_for_update=True)


def mail_templates(session: Session) -> list[MailTemplateView]:
    """What is written on every occasion, in the order of the kinds."""
    own = {row.kind: row for row in session.execute(_TEMPLATES)}
    return [
        MailTemplateView(kind, *own[kind][1:]) if kind in own
        else MailTemplateView(kind, False, *OUR_WORDS[kind], 0)
        for kind in MailKind
    ]  # fmt: skip


def mail_template(session: Session, kind: MailKind) -> MailTemplateView:
    """What is written on one occasion."""
    return next(item for item in mail_templates(session) if item.kind is kind)


def mail_template_record(session: Session, kind: MailKind) -> MailTemplate | None:
    """The record of what the shop writes on one occasion, for a verb to change; none where it never did."""
    return session.scalars(_TEMPLATE, {"kind": kind.value}).first()
