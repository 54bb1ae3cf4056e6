"""What a person does with their own account: a new password, signing out everywhere, a calendar's address.

The calendar and its address are `shop.web.pages.calendar_feeds`'s.
"""

from functools import partial
from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import Response

from shop.rules.people import Actor
from shop.rules.refusals import BadInput
from shop.services.tokens import hash_of, new_token
from shop.services.users import change_own_password, end_sessions, faults_of_password
from shop.web.deps import Form, Now, Reading, TheHub, Writing, write
from shop.web.doors import Looking
from shop.web.entering import faults_of_repeat, give_cookie, judge
from shop.web.forms import FormView, showing_again
from shop.web.pages.calendar_feeds import feed_context
from shop.web.pages.sign_in import signed_out, wait_sentence
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/you.html"
WRONG = "That is not your present password; please type it again."


@router.get("/ways/you")
def show_you(actor: Looking, page: Page, session: Reading) -> Response:
    """One's own account."""
    return page.show(TEMPLATE, here="ways", form=FormView(), **feed_context(page, session, actor))


@router.post("/ways/you/password")
async def change_my_password(
    actor: Looking, page: Page, hub: TheHub, now: Now, request: Request, posted: Form
) -> Response:
    """Take a new password for oneself; every other browser is signed out."""
    page.here, token = "ways", new_token()
    assert actor.user_id is not None
    shown = await hub.running.read(_shown, page, actor)
    with showing_again(page, TEMPLATE, posted, lambda: shown):
        password = posted.get("password", "")
        if faults := faults_of_password(password) | faults_of_repeat(posted):
            raise BadInput(faults)
        judged = await judge(request, hub, now, actor.name, posted.get("current", ""))
        if judged.wait_until is not None:
            raise BadInput({"current": wait_sentence(page, judged.wait_until, now)})
        if judged.known is None:
            raise BadInput({"current": WRONG})
        change = partial(
            change_own_password, passwords=hub.passwords, user_id=actor.user_id,
            now=now, password=password, token_hash=hash_of(token),
        )  # fmt: skip
        await write(hub, now, change)
    response = page.go("/ways/you", "Your password is changed, and every other browser is signed out.")
    give_cookie(response, hub, token)
    return response


def _shown(page: Frame, actor: Actor) -> dict[str, Any]:
    """What the page shows besides the form, read before the slow judging of a password begins."""
    with page.hub.database.reading() as session:
        return feed_context(page, session, actor)


@router.post("/ways/you/sign-out")
def sign_out_everywhere(actor: Looking, page: Page, session: Writing, now: Now, hub: TheHub) -> Response:
    """End every session of one's own, this one too."""
    assert actor.user_id is not None
    end_sessions(session, actor.user_id, now=now)
    return signed_out(page, hub, "You are signed out everywhere.")
