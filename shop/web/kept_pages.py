"""Pages kept until something changes, and 304 for a browser that has the page already.

Every commit moves the database's version number, pages show whole minutes, and a session that ends is a
write too. So a page that was made for a cookie at one version and in one minute is the page that would
be made again, and may be given again without asking anything else. Only plain successes are kept.
"""

from collections import OrderedDict
from typing import NamedTuple

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import cookie_parser
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from shop.services.tokens import hash_of, new_token
from shop.web.deps import Hub
from shop.web.doors import COOKIE
from shop.web.templating import NOTICE_COOKIE, wants_fragment

MOST_PAGES = 256
MOST_BYTES = 400_000
PATHS = ("/", "/setting")
PREFIXES = ("/builds/", "/rod/")
MINUTE = 60


class _Key(NamedTuple):
    path: str
    query: bytes
    token: str
    fragment: bool


class _Kept(NamedTuple):
    number: int
    minute: int
    doubt: str
    headers: list[tuple[bytes, bytes]]
    body: bytes
    etag: str


class KeptPages:
    """Answers from what was kept, and keeps what is answered. For the embedded database alone."""

    def __init__(self, app: ASGIApp, hub: Hub) -> None:
        self._app = app
        self._hub = hub
        self._pages: OrderedDict[_Key, _Kept] = OrderedDict()
        # Versions and minutes may come again in another process; its tags must not.
        self._process = new_token()[:8]

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["method"] != "GET" or not _is_keepable(scope["path"]):
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        cookies = cookie_parser(headers.get("cookie", ""))
        if NOTICE_COOKIE in cookies:
            await self._app(scope, receive, send)
            return
        part = wants_fragment(headers)
        key = _Key(scope["path"], scope["query_string"], cookies.get(COOKIE, ""), part)
        # Asked before the page is made: a write in between then makes the kept page old, not wrong.
        number, doubt = self._hub.database.data_version(), self._hub.clock.doubt
        minute = int(self._hub.clock.now().timestamp()) // MINUTE
        kept = self._pages.get(key)
        if kept is not None and kept[:3] == (number, minute, doubt):
            await _give(kept, headers.get("if-none-match", ""), send)
            return
        await self._make(key, (number, minute, doubt), scope, receive, send)

    async def _make(
        self, key: _Key, state: tuple[int, int, str], scope: Scope, receive: Receive, send: Send
    ) -> None:
        """Have the page made, and keep it if it is a plain success."""
        started: list[Message] = []
        parts: list[bytes] = []
        etag = f'W/"{self._process}-{hash_of(repr((key, state)))[:24]}"'

        async def keep(message: Message) -> None:
            if message["type"] == "http.response.start":
                started.append(message)
                if message["status"] == 200:
                    MutableHeaders(scope=message).setdefault("etag", etag)
            elif message["type"] == "http.response.body":
                parts.append(message.get("body", b""))
            await send(message)

        await self._app(scope, receive, keep)
        body = b"".join(parts)
        if started and started[0]["status"] == 200 and len(body) <= MOST_BYTES:
            self._pages[key] = _Kept(*state, list(started[0]["headers"]), body, etag)
            self._pages.move_to_end(key)
            while len(self._pages) > MOST_PAGES:
                self._pages.popitem(last=False)


def _is_keepable(path: str) -> bool:
    # Pictures are too large to be kept, and a signed-in browser keeps them itself.
    return (path in PATHS or path.startswith(PREFIXES)) and not path.endswith(".jpg")


async def _give(kept: _Kept, seen: str, send: Send) -> None:
    if kept.etag in seen:
        headers = [(name, value) for name, value in kept.headers if name != b"content-length"]
        await send({"type": "http.response.start", "status": 304, "headers": headers})
        await send({"type": "http.response.body", "body": b""})
        return
    await send({"type": "http.response.start", "status": 200, "headers": list(kept.headers)})
    await send({"type": "http.response.body", "body": kept.body})
