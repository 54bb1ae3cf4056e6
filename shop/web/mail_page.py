"""What the pages of mail show: the outbox and what was mailed about a rod, in finished words; an example."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from shop.db.sessions import Session
from shop.queries.mail_settings import mail_templates, read_mail_settings
from shop.queries.mails import MailView, given_up_mails, mails_of_build, sent_mails, waiting_mails
from shop.rules.mail_words import Words, filled, finished
from shop.rules.mails import MEANINGS, OCCASIONS, PLACEHOLDERS, TITLES, MailKind, MailState, day_words
from shop.services.mail_settings import DEMO
from shop.web.templating import Frame
from shop.web.wording import when

MOST = 50
MOST_WAITING = 200
NEWEST = 2**31 - 1
SECURITY_OPTIONS = [
    ("starttls", "STARTTLS (port 587)"), ("tls", "TLS from the start (port 465)"),
    ("none", "open line: only within this machine or your own network"),
]  # fmt: skip
# What stands where the link goes in: it opens the customer's page, so it is only made when it is sent.
LINK_WORDS = "(the address of the customer’s page)"


class MailLine(NamedTuple):
    """A mail in a list: what about, to whom, how far it has come and why, and what may be done with it."""

    href: str
    subject: str
    to: str
    build: str
    build_href: str
    state: str
    says: str
    may_try: bool
    may_drop: bool


def mail_line(mail: MailView, now: datetime, zone: ZoneInfo) -> MailLine:
    """A mail of the outbox in finished words."""
    is_open = mail.state is not MailState.SENT and not _is_being_sent(mail, now)
    return MailLine(
        href=f"/desk/outbox/{mail.id}",
        subject=mail.subject or "(erased)",
        to=mail.to_address or "nobody",
        build=mail.build or "",
        build_href=f"/builds/{mail.build}" if mail.build else "",
        state=_state_words(mail, now, zone),
        says=mail.last_error,
        may_try=is_open and bool(mail.to_address),
        may_drop=is_open and mail.state is MailState.WAITING,
    )


def _is_being_sent(mail: MailView, now: datetime) -> bool:
    waits = mail.state is MailState.WAITING
    return waits and mail.claimed_until is not None and mail.claimed_until > now


def _state_words(mail: MailView, now: datetime, zone: ZoneInfo) -> str:
    if mail.sent_at is not None:
        return f"sent {when(mail.sent_at, now, zone)}"
    if mail.given_up_at is not None:
        return f"given up {when(mail.given_up_at, now, zone)}"
    if _is_being_sent(mail, now):
        return "is being sent"
    tried = f"tried {mail.tries} {'time' if mail.tries == 1 else 'times'}, " if mail.tries else ""
    return f"{tried}next try {when(max(mail.next_try_at, now), now, zone)}"


def outbox_context(page: Frame, session: Session, now: datetime, before: int) -> dict[str, Any]:
    """Everything that `pages/outbox.html` needs."""
    sent = sent_mails(session, before, MOST + 1)
    first = before == NEWEST

    def lines(mails: Iterable[MailView]) -> list[MailLine]:
        return [mail_line(mail, now, page.zone) for mail in mails]

    return {
        "is_on": read_mail_settings(session).is_on,
        "waiting": lines(waiting_mails(session, MOST_WAITING)) if first else [],
        "given_up": lines(given_up_mails(session, MOST)) if first else [],
        "sent": lines(sent[:MOST]),
        "first": first,
        "older": sent[MOST - 1].id if len(sent) > MOST else None,
    }


def mail_context(page: Frame, mail: MailView, now: datetime) -> dict[str, Any]:
    """Everything that `pages/mail.html` needs."""
    words = finished(Words(mail.subject, mail.text, mail.html), LINK_WORDS)
    return {
        "mail": mail_line(mail, now, page.zone),
        "title": TITLES[MailKind(mail.kind)],
        "written": when(mail.created_at, now, page.zone),
        "words": words,
    }


def lines_of_build(page: Frame, session: Session, build_id: int, now: datetime) -> list[MailLine]:
    """What was mailed about a rod, newest first."""
    return [mail_line(mail, now, page.zone) for mail in mails_of_build(session, build_id)]


def settings_context(page: Frame, session: Session) -> dict[str, Any]:
    """What `pages/mail_settings.html` needs beside its form and what is said of the password."""
    settings = read_mail_settings(session)
    return {
        "version": settings.version,
        "on_file": [
            ("Mail to customers", "on" if settings.is_on else "off"),
            ("Server", f"{settings.host or 'none'}, port {settings.port}, {settings.security}"),
            ("User name", settings.user_name or "none"),
            ("The shop’s address", settings.from_address or "none"),
            ("The shop’s name as sender", settings.from_name or "none"),
        ],
        "kinds": [
            (TITLES[item.kind], f"/ways/mail/kinds/{item.kind}", OCCASIONS[item.kind], item.is_on)
            for item in mail_templates(session)
        ],
        "security_options": SECURITY_OPTIONS,
        "has_address": bool(page.hub.settings.public_url),
        "demo": DEMO if page.hub.demo else "",
    }


def template_context(kind: MailKind) -> dict[str, Any]:
    """What `pages/mail_template.html` needs beside its form and the example."""
    return {
        "kind": kind,
        "title": TITLES[kind],
        "occasion": OCCASIONS[kind],
        "placeholders": [(f"{{{name}}}", MEANINGS[name]) for name in PLACEHOLDERS[kind]],
    }


def example_of(page: Frame, words: Words, now: datetime) -> Words:
    """The words as they would arrive at an invented customer of an invented rod."""
    today = now.astimezone(page.zone).date()
    values = {
        "customer": "Ines Vale", "rod": "7 ft casting rod for pike", "number": "26-014",
        "shop": page.shop_name, "stage": "The guides are wrapped on.", "day": day_words(today),
        "owed": f"188.67 {page.shop.currency}", "care": page.shop.care_sheet,
        "was": day_words(today - timedelta(days=3)), "reason": "A guide came bent and is on its way again.",
        "total": f"388.67 {page.shop.currency}", "until": day_words(today + timedelta(days=14)),
    }  # fmt: skip
    return finished(filled(words, values), "https://rods.example/rod/an-invented-address")
