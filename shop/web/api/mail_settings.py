"""The API of the settings of mail. The password is taken and never given."""

from dataclasses import asdict, replace
from typing import Annotated, Any

from pydantic import BaseModel, Field

from shop.db.sessions import Session
from shop.outside.folder import keep_mail_password, read_mail_password
from shop.queries.mail_settings import read_mail_settings
from shop.rules.mails import Security
from shop.rules.refusals import BadInput
from shop.services.mail_settings import (
    MOST_PASSWORD,
    MOST_PORT,
    Line,
    change_mail_settings,
    fault_of_mail_password,
)
from shop.web.api.base import Body, Once, OnlyNumber, Truth, api_router, changes_of
from shop.web.deps import Hub, Reading, TheHub, Writing
from shop.web.doors import KeyForWays

router = api_router("mail settings")

Host = Annotated[str, Field(max_length=253, examples=["mail.example.org"])]
Port = Annotated[int, Field(ge=1, le=MOST_PORT), OnlyNumber]
Text = Annotated[str, Field(max_length=254)]
Name = Annotated[str, Field(max_length=120)]
Password = Annotated[
    str,
    Field(max_length=MOST_PASSWORD, description="Never given again; empty to forget the one that is kept."),
]


class MailSettingsChanges(Body):
    """What changes of the settings of mail; whatever is left out stays."""

    is_on: Truth | None = None
    host: Host | None = None
    port: Annotated[Port | None, Field(description="The server's port.")] = None
    security: Security | None = None
    user_name: Text | None = None
    password: Password | None = None
    from_address: Text | None = None
    from_name: Name | None = None


class MailSettingsOut(BaseModel):
    """Over which server mail goes, and as whom; of the password only whether there is one."""

    is_on: bool
    host: str
    port: Annotated[int, Field(description="The server's port.")]
    security: Security
    user_name: str
    has_password: bool
    from_address: str
    from_name: str
    version: int


@router.get("/mail-settings", response_model=MailSettingsOut)
def get_mail_settings(actor: KeyForWays, session: Reading, hub: TheHub) -> Any:
    """The settings of mail."""
    return _out(session, hub)


@router.patch("/mail-settings", response_model=MailSettingsOut)
def patch_mail_settings(
    actor: KeyForWays, session: Writing, _once: Once, hub: TheHub, body: MailSettingsChanges
) -> Any:
    """Change some of the settings of mail."""
    changes = changes_of(body)
    password = changes.pop("password", None)
    if password is not None and (sentence := fault_of_mail_password(password)):
        raise BadInput({"password": sentence})
    now = read_mail_settings(session)
    as_it_was = Line(**{name: getattr(now, name) for name in asdict(Line())})
    line = replace(as_it_was, **changes)
    change_mail_settings(session, line, version=now.version, is_demo=hub.demo)
    if password is not None:
        keep_mail_password(hub.settings.data, password)
    return _out(session, hub)


def _out(session: Session, hub: Hub) -> dict[str, Any]:
    has_password = bool(hub.settings.smtp_password or read_mail_password(hub.settings.data))
    return {**read_mail_settings(session)._asdict(), "has_password": has_password}
