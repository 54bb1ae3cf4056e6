"""What stands before every request: cross-site posts are refused, and every answer carries its headers.

Plain ASGI, so that it costs next to nothing. Rights are asked for in `shop.web.doors`.
"""

from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
CONTENT_POLICY = (
    "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'; "
    "form-action 'self'; frame-ancestors 'none'"
)
HEADERS = {
    "content-security-policy": CONTENT_POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
}


def is_cross_site(headers: Headers) -> bool:
    """Whether a browser sent this from another site's page.

    Browsers say so themselves in `Sec-Fetch-Site`; older ones send `Origin`. A program sends neither,
    and has no cookie that another site could borrow.
    """
    site = headers.get("sec-fetch-site")
    if site is not None:
        return site not in ("same-origin", "none")
    origin = headers.get("origin")
    return origin is not None and urlsplit(origin).netloc != headers.get("host", "")


class Guards:
    """Refuses posts from other sites and adds the headers that every answer carries."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def send_guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        if scope["method"] not in SAFE_METHODS and is_cross_site(Headers(scope=scope)):
            refusal = PlainTextResponse("This form was sent from another site and was not taken.", 403)
            await refusal(scope, receive, send_guarded)
            return
        await self._app(scope, receive, send_guarded)
