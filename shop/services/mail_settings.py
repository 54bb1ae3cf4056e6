"""The settings of mail: over which server it goes, and what the shop writes on each occasion.

The server's password is not kept here: it lies in a file of the data folder (`shop.outside.folder`).
"""

from dataclasses import asdict, dataclass

from sqlalchemy.orm import Session

from shop.db.mails import MailSettings, MailTemplate
from shop.queries.mail_settings import (
    MailTemplateView,
    mail_settings_record,
    mail_template,
    mail_template_record,
)
from shop.rules.mail_addresses import fault_of_address, is_host
from shop.rules.mail_words import Words, faults_of_words
from shop.rules.mails import MailKind, Security
from shop.rules.refusals import BadInput, Overtaken

MOST_NAME = 120
MOST_USER_NAME = 254
MOST_PASSWORD = 500
MOST_PORT = 65_535
# A password may go in the clear only where nobody else can listen.
_THIS_MACHINE = ("localhost", "127.0.0.1", "::1")
CHANGED = "Somebody else changed this meanwhile; look at it again."
DEMO = "This is a demo shop: no mail leaves it."


@dataclass(frozen=True)
class Line:
    """Over which server mail goes, and as whom."""

    is_on: bool = False
    host: str = ""
    port: int = 587
    security: str = Security.STARTTLS
    user_name: str = ""
    from_address: str = ""
    from_name: str = ""


def change_mail_settings(
    session: Session, line: Line, *, version: int, is_demo: bool = False
) -> MailSettings:
    """Change the settings of mail as one. Raises `BadInput`, `Overtaken`; a demo stays off."""
    if errors := faults_of_line(line, is_demo=is_demo):
        raise BadInput(errors)
    settings = mail_settings_record(session)
    if settings.version != version:
        raise Overtaken(CHANGED)
    for name, value in asdict(line).items():
        setattr(settings, name, value)
    session.flush()
    return settings


def faults_of_line(line: Line, *, is_demo: bool = False) -> dict[str, str]:
    """What is wrong with the settings of mail, by field."""
    errors = {}
    if line.is_on and is_demo:
        errors["is_on"] = DEMO
    if line.host and not _is_server(line.host):
        errors["host"] = f"“{line.host}” is not the name of a server, such as mail.example.org."
    elif line.is_on and not line.host:
        errors["host"] = "Without a server no mail can be sent; please fill it in."
    if not 1 <= line.port <= MOST_PORT:
        errors["port"] = f"The port is a whole number from 1 to {MOST_PORT}."
    if line.security not in tuple(Security):
        errors["security"] = f"The line is one of {', '.join(Security)}."
    elif line.user_name and line.security == Security.NONE and line.host not in _THIS_MACHINE:
        errors["security"] = "A password is not sent over an open line; choose TLS or STARTTLS."
    if line.from_address and (sentence := fault_of_address(line.from_address)):
        errors["from_address"] = sentence
    elif line.is_on and not line.from_address:
        errors["from_address"] = "Without an address of its own the shop cannot write; please fill it in."
    for field, most in (("user_name", MOST_USER_NAME), ("from_name", MOST_NAME)):
        value = getattr(line, field)
        if len(value) > most or not value.isprintable():
            errors[field] = f"This must be one line of at most {most} characters."
    if not line.user_name.isascii():
        errors["user_name"] = "A user name with letters beyond plain ASCII cannot be sent to a mail server."
    return errors


def fault_of_mail_password(password: str) -> str:
    """What is wrong with the password of a mail server, as a sentence; empty where nothing is."""
    if len(password) > MOST_PASSWORD or not password.isprintable() or not password.isascii():
        return f"The password must be plain ASCII, one line of at most {MOST_PASSWORD} characters."
    return ""


def _is_server(host: str) -> bool:
    return is_host(host) or (":" in host and set(host) <= set("0123456789abcdefABCDEF:."))


def change_mail_template(
    session: Session, kind: MailKind, words: Words, *, is_on: bool, version: int
) -> MailTemplateView:
    """Say what is written on one occasion, and whether. Raises `BadInput`, `Overtaken`."""
    if errors := faults_of_words(kind, words):
        raise BadInput(errors)
    record = mail_template_record(session, kind)
    if (0 if record is None else record.version) != version:
        raise Overtaken(CHANGED)
    if record is None:
        record = MailTemplate(kind=kind)
        session.add(record)
    record.is_on = is_on
    record.subject, record.text, record.html = words
    session.flush()
    return mail_template(session, kind)
