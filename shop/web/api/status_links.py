"""The API of status links: giving one, showing it again, ending it."""

from typing import Any

from fastapi import Request
from pydantic import BaseModel

from shop.db.sessions import Session
from shop.queries.builds import build_view
from shop.rules.refusals import NotOnFile
from shop.services.status_links import end_link, give_link, live_token
from shop.web.api.base import Once, api_router
from shop.web.deps import Now, Reading, TheHub, Writing, hub_of
from shop.web.doors import KeyForDesk

router = api_router("status links")


class StatusLinkOut(BaseModel):
    """The private address of a build's customer."""

    url: str


def _url(request: Request, token: str) -> dict[str, str]:
    base = hub_of(request).settings.public_url or str(request.base_url)
    return {"url": f"{base.rstrip('/')}/rod/{token}"}


@router.get("/builds/{number}/status-link", response_model=StatusLinkOut)
def get_status_link(actor: KeyForDesk, session: Reading, hub: TheHub, request: Request, number: str) -> Any:
    """The live address, shown again."""
    token = live_token(session, hub.secret, build_view(session, number).id)
    if token is None:
        raise NotOnFile(f"Build {number} has no live status link.")
    return _url(request, token)


@router.post("/builds/{number}/status-link", status_code=201, response_model=StatusLinkOut)
def post_status_link(
    actor: KeyForDesk, session: Writing, _once: Once, now: Now, hub: TheHub, request: Request, number: str
) -> Any:
    """Give a new address; the one before ends."""
    return _url(request, give_link(session, hub.secret, build_view(session, number).id, now=now))


@router.delete("/builds/{number}/status-link", status_code=204)
def delete_status_link(actor: KeyForDesk, session: Writing, _once: Once, now: Now, number: str) -> None:
    """End the address."""
    _end(session, number, now)


def _end(session: Session, number: str, now: Now) -> None:
    if not end_link(session, build_view(session, number).id, now=now):
        raise NotOnFile(f"Build {number} has no live status link.")
