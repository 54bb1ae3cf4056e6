"""What stands before every request: posts from other sites and far too large ones are refused, and every
answer carries its headers.

Plain ASGI, so that it costs next to nothing. Rights are asked for in `shop.web.doors`.
"""

from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from shop.web.problems import API, SENTENCES, problem
from shop.web.uploads import most_bytes_at

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
CONTENT_POLICY = (
    "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'; "
    "form-action 'self'; frame-ancestors 'none'"
)
# Pages that a token in their own address opens. No cookie is asked for there that another site could borrow,
# and browsers that send only `Origin` send it as null from a page that gives no referrer.
TOKEN_PATHS = ("/quote/", "/rod/")
CROSS_SITE = "This form was sent from another site and was not taken."
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


def is_too_large(headers: Headers, most_bytes: int) -> bool:
    """Whether a request says itself that its body is too large; other bodies are counted as they come."""
    length = headers.get("content-length", "")
    return length.isdecimal() and int(length) > most_bytes


class Guards:
    """Refuses what is not to come near a handler, and adds the headers that every answer carries."""

    def __init__(self, app: ASGIApp, most_body_bytes: int) -> None:
        self._app = app
        self._most_body_bytes = most_body_bytes

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

        app: ASGIApp = self._refusal(scope) or self._app
        await app(scope, receive, send_guarded)

    def _refusal(self, scope: Scope) -> Response | None:
        """Why a request is not let in, if it is not."""
        headers = Headers(scope=scope)
        if is_too_large(headers, most_bytes_at(scope["path"], self._most_body_bytes)):
            return _refused(scope, 413, "Content Too Large", SENTENCES[413])
        has_own_token = scope["path"].startswith(TOKEN_PATHS)
        if scope["method"] not in SAFE_METHODS and not has_own_token and is_cross_site(headers):
            return _refused(scope, 403, "Not allowed", CROSS_SITE)
        return None


def _refused(scope: Scope, status: int, title: str, sentence: str) -> Response:
    if scope["path"].startswith(API):
        return problem(status, title, sentence)
    return PlainTextResponse(sentence, status)
