"""News of your rod: the customer's private page, the messages written on it, and the shop's preview of it."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.builds import build_view, build_view_by_id
from shop.queries.photos import shared_photos
from shop.queries.status_links import build_of_token
from shop.rules.refusals import NotOnFile
from shop.services.messages import mark_seen_by_customer, write_from_customer
from shop.services.tokens import hash_of
from shop.web.benches import BenchSide, TheBench
from shop.web.deps import Form, Reading, Writing
from shop.web.doors import AtDesk
from shop.web.forms import FormView, showing_again
from shop.web.news_page import news_of, shown_as
from shop.web.photo_page import preview_picture, shared_picture
from shop.web.private_pages import GONE, HEADERS, privately
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE, NONE = "pages/news.html", "pages/news_none.html"


@router.post("/rod/{token}/messages")
def take_message(page: Page, session: Writing, bench: TheBench, token: str, posted: Form) -> Response:
    """Take down what the customer writes; then the same page, which shows it."""
    with (
        privately(page, NONE),
        showing_again(page, TEMPLATE, posted, lambda: _told_anew(page, session, bench, token)),
    ):
        text = posted.get("text", "")
        write_from_customer(session, _build_of(session, token), now=bench.now, text=text)
    return _back(page, token)


@router.get("/rod/{token}/messages")
def go_to_news(page: Page, session: Reading, token: str) -> Response:
    """Whoever asks again for the address that a message was sent to is led to the page itself."""
    with privately(page, NONE):
        _build_of(session, token)
    return _back(page, token)


@router.post("/rod/{token}/messages/seen")
def take_seen(page: Page, session: Writing, bench: TheBench, token: str) -> Response:
    """The customer says that they have read what the shop wrote."""
    with privately(page, NONE):
        mark_seen_by_customer(session, _build_of(session, token), now=bench.now)
    return _back(page, token)


@router.get("/rod/{token:path}")
def show_news(page: Page, session: Reading, bench: TheBench, token: str) -> Response:
    """How the rod is coming; a link that is unknown, replaced or ended always answers the same."""
    # A host of plain files leads to the same page with a slash behind it, and that is what a phone keeps.
    token = token.removesuffix("/")
    with privately(page, NONE):
        response = page.show(TEMPLATE, form=FormView(), **_told(page, session, bench, token))
    response.headers.update(HEADERS)
    return response


@router.get("/builds/{number}/news")
def show_preview(actor: AtDesk, page: Page, session: Reading, bench: TheBench, number: str) -> Response:
    """The customer's page as the shop sees it before anybody else; it needs no link."""
    build = build_view(session, number)
    row = bench.row_of(session, build)
    pictures = [preview_picture(photo) for photo in shared_photos(session, build.id)]
    told = news_of(session, row, page.shop, bench.now, pictures)
    page.notice = None
    return page.show(TEMPLATE, form=FormView(), **told, **shown_as(preview=number))


def _build_of(session: Session, token: str) -> int:
    """The id of the build that a live link opens. Raises `NotOnFile`."""
    build_id = build_of_token(session, hash_of(token))
    if build_id is None:
        raise NotOnFile(GONE)
    return build_id


def _told(page: Frame, session: Session, bench: BenchSide, token: str) -> dict[str, Any]:
    build_id = _build_of(session, token)
    row = bench.row_of(session, build_view_by_id(session, build_id))
    pictures = [shared_picture(token, photo) for photo in shared_photos(session, build_id)]
    told = news_of(session, row, page.shop, bench.now, pictures)
    return {**told, **shown_as(action=f"/rod/{token}/messages")}


def _told_anew(page: Frame, session: Session, bench: BenchSide, token: str) -> dict[str, Any]:
    # What was written before a refusal is dropped; the page must not show it as taken.
    session.rollback()
    return _told(page, session, bench, token)


def _back(page: Frame, token: str) -> Response:
    response = page.go(f"/rod/{token}#messages")
    response.headers.update(HEADERS)
    return response
