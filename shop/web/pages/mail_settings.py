"""The settings of mail, for an owner: over which server it goes, and a trial of it."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.outside.folder import keep_mail_password, read_mail_password
from shop.outside.mail import MailFault
from shop.queries.mail_settings import read_mail_settings
from shop.rules.mails import Security
from shop.services.mail_settings import (
    DEMO,
    MOST_PORT,
    Line,
    change_mail_settings,
    fault_of_mail_password,
    faults_of_line,
)
from shop.web.deps import Form, Hub, Now, Posted, Reading, TheHub, Writing
from shop.web.doors import AtWays
from shop.web.forms import Fields, FormView, ShowAgain, showing_again
from shop.web.mail_page import settings_context
from shop.web.mail_trial import send_trial
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
SETTINGS = "pages/mail_settings.html"
TRIAL = "pages/mail_trial.html"


@router.get("/ways/mail")
def show_mail_settings(actor: AtWays, page: Page, session: Reading) -> Response:
    """The settings of mail, and what is written on which occasion."""
    form = FormView(read_mail_settings(session)._asdict())
    return page.show(SETTINGS, here="ways", form=form, **_context(page, session))


@router.post("/ways/mail")
def save_mail_settings(actor: AtWays, page: Page, session: Writing, hub: TheHub, posted: Form) -> Response:
    """Change the settings of mail."""
    page.here = "ways"
    with showing_again(page, SETTINGS, _without_password(posted), lambda: _context(page, session)):
        line, version = _line(posted, hub)
        change_mail_settings(session, line, version=version, is_demo=hub.demo)
        if posted.get("forget_password") or posted.get("password"):
            keep_mail_password(hub.settings.data, posted.get("password", ""))
    return page.go("/ways/mail", f"Saved. Mail is {'on' if line.is_on else 'off'}.")


@router.get("/ways/mail/trial")
def show_trial(actor: AtWays, page: Page) -> Response:
    """The form of a trial mail."""
    return page.show(TRIAL, here="ways", form=FormView(), **_trial(page))


@router.post("/ways/mail/trial")
async def post_trial(actor: AtWays, page: Page, hub: TheHub, now: Now, posted: Form) -> Response:
    """Send a trial mail now, and say what the server said."""
    page.here, to = "ways", posted.get("to", "")
    with showing_again(page, TRIAL, posted, lambda: _trial(page)):
        try:
            says = await send_trial(hub, now, to, page.shop_name)
        except (MailFault, OSError) as fault:
            form = FormView(posted, {"": str(fault)})
            raise ShowAgain(page.show(TRIAL, status=409, form=form, **_trial(page))) from fault
    return page.go("/ways/mail/trial", f"The server has taken it for {to}; it said: {says}")


def _line(posted: Posted, hub: Hub) -> tuple[Line, int]:
    fields = Fields(posted)
    port = fields.required("port", "The port", fields.whole("port", "The port", 1, MOST_PORT))
    version = fields.required("version", "The version", fields.whole("version", "The version", 1, 10**9))
    line = Line(
        is_on=bool(posted.get("is_on")),
        host=fields.text("host", "The server", 253),
        port=port or 1,
        security=fields.choice("security", "The line", tuple(Security)),
        user_name=fields.text("user_name", "The user name", 254),
        from_address=fields.text("from_address", "The address", 254),
        from_name=fields.text("from_name", "The name", 120),
    )
    fields.errors = {**faults_of_line(line, is_demo=hub.demo), **fields.errors}
    if sentence := fault_of_mail_password(posted.get("password", "")):
        fields.errors["password"] = sentence
    fields.done()
    return line, version or 0


def _without_password(posted: Posted) -> Posted:
    """The form to be shown again: a password that was typed is on no page."""
    return Posted([(name, value) for name, value in posted.items() if name != "password"])


def _trial(page: Frame) -> dict[str, Any]:
    return {"demo": DEMO if page.hub.demo else ""}


def _context(page: Frame, session: Session) -> dict[str, Any]:
    settings = page.hub.settings
    return {
        "from_outside": bool(settings.smtp_password),
        "has_password": bool(settings.smtp_password or read_mail_password(settings.data)),
        **settings_context(page, session),
    }
