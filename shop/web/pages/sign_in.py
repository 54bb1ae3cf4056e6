"""Signing in and out of the pages."""

from datetime import datetime, timedelta
from functools import partial

from fastapi import APIRouter, Request
from starlette.responses import Response

from shop.services.tokens import hash_of, new_token
from shop.services.users import end_session, let_in
from shop.web.deps import Form, Hub, Now, Posted, TheHub, Writing, write
from shop.web.doors import COOKIE, Looking
from shop.web.entering import give_cookie, judge, take_cookie
from shop.web.forms import FormView
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page
from shop.web.wording import when

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/sign_in.html"
WRONG = "That name and that password do not belong together; please type both again."
CHANGED = "This account was changed at this very moment; please try again."


@router.get("/sign-in")
def ask_who_it_is(page: Page, request: Request) -> Response:
    """The form to sign in with; somebody who is signed in goes straight on."""
    next_page = local_path(request.query_params.get("next", ""))
    if page.person is not None:
        return page.go(next_page)
    return page.show(TEMPLATE, form=FormView({"next": next_page}))


@router.post("/sign-in")
async def sign_in(page: Page, hub: TheHub, now: Now, request: Request, posted: Form) -> Response:
    """Let somebody in."""
    name = posted.get("name", "")
    judged = await judge(request, hub, now, name, posted.get("password", ""))
    if judged.wait_until is not None:
        return too_many_tries(page, posted, judged.wait_until, now)
    if judged.known is None:
        return page.show(TEMPLATE, status=422, form=_again(posted, WRONG))
    token, earlier = new_token(), hash_of(request.cookies.get(COOKIE, ""))
    entry = partial(
        let_in, now=now, name=name, known=judged.known, token_hash=hash_of(token), instead_of=earlier
    )
    if not await write(hub, now, entry):
        return page.show(TEMPLATE, status=422, form=_again(posted, CHANGED))
    response = page.go(local_path(posted.get("next", "")))
    give_cookie(response, hub, token)
    return response


@router.post("/sign-out")
def sign_out(
    actor: Looking, page: Page, session: Writing, now: Now, hub: TheHub, request: Request
) -> Response:
    """End this browser's session."""
    end_session(session, hash_of(request.cookies.get(COOKIE, "")), now=now)
    return signed_out(page, hub, "You are signed out.")


def signed_out(page: Frame, hub: Hub, notice: str) -> Response:
    """To the door, without the cookie."""
    response = page.go("/sign-in", notice)
    take_cookie(response, hub)
    return response


def too_many_tries(page: Frame, posted: Posted, wait_until: datetime, now: datetime) -> Response:
    """Say plainly when another try will be judged."""
    response = page.show(TEMPLATE, status=429, form=_again(posted, wait_sentence(page, wait_until, now)))
    response.headers["retry-after"] = str(int((wait_until - now).total_seconds()) + 1)
    return response


def wait_sentence(page: Frame, wait_until: datetime, now: datetime) -> str:
    """When another try will be judged; rounded up, since the clock on the page shows no seconds."""
    moment = when(wait_until + timedelta(seconds=59), now, page.zone)
    return f"There were too many wrong tries; please try again at {moment}."


def local_path(address: str) -> str:
    """Where to go on to: a path of this shop, or In hand for anything that leads elsewhere."""
    here = address.startswith("/") and not address.startswith("//")
    # Browsers read a backslash as a slash, and leave out tabs and line ends.
    return address if here and address.isprintable() and "\\" not in address else "/"


def _again(posted: Posted, sentence: str) -> FormView:
    return FormView(
        {"name": posted.get("name", ""), "next": local_path(posted.get("next", ""))}, {"": sentence}
    )
