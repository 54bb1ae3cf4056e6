"""Where handlers run, decided in this one place.

Reads of the embedded database take less time than a change of thread, and many pool threads fight over
the interpreter's lock, so on SQLite they run on the event loop. PostgreSQL answers over a socket, so
there they run in the thread pool. Writes always run in the pool: their commit waits for the disk.
"""

import asyncio
import functools
from collections.abc import AsyncIterator, Callable, Coroutine
from contextlib import asynccontextmanager
from contextvars import ContextVar
from typing import Any, TypeVar

from fastapi.routing import APIRoute
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from shop.web.addresses import check_address

T = TypeVar("T")
# A password's hash takes 64 MB while it is made; a crowd at the door must not take the machine's memory.
SLOW_AT_ONCE = 2
# A token is hashed before the database is asked, and an odd one must look like an unknown one; so must the
# odd name of a picture behind a token.
UNREAD = frozenset({"token", "picture"})


class Running:
    """How this process runs its work: `reads_on_loop`, and whose turn it is to write."""

    def __init__(self, reads_on_loop: bool) -> None:
        self.reads_on_loop = reads_on_loop
        self._turn = asyncio.Lock()
        self._slow = asyncio.Semaphore(SLOW_AT_ONCE)
        self._heavy = asyncio.Lock()

    async def read(self, work: Callable[..., T], *args: Any, **kwargs: Any) -> T:
        """Do a piece of reading where reads belong."""
        if self.reads_on_loop:
            return work(*args, **kwargs)
        return await run_in_threadpool(work, *args, **kwargs)

    async def slowly(self, work: Callable[..., T], *args: Any) -> T:
        """Do work that is slow on purpose, such as judging a password, in the pool and few at a time."""
        async with self._slow:
            return await run_in_threadpool(work, *args)

    async def heavily(self, work: Callable[..., T], *args: Any) -> T:
        """Do work that takes much memory, such as making a photo anew, in the pool and one at a time."""
        async with self._heavy:
            return await run_in_threadpool(work, *args)

    @asynccontextmanager
    async def turn_to_write(self) -> AsyncIterator[None]:
        """Wait for this process's turn to write, where the database has one writer anyway.

        Without it a writer that waits for SQLite's lock would hold a pool thread which the writer that
        has the lock may need to go on.
        """
        if not self.reads_on_loop:
            yield
            return
        async with self._turn:
            yield


# Set for each request from the app that answers it; routes are made before any app knows its database.
_READS_ON_LOOP: ContextVar[bool] = ContextVar("reads_on_loop", default=False)


class ReadingRoute(APIRoute):
    """A route whose plain `def` handler for GET runs where reads belong."""

    def __init__(self, path: str, endpoint: Callable[..., Any], **options: Any) -> None:
        methods = set(options.get("methods") or {"GET"})
        if methods <= {"GET", "HEAD"} and not asyncio.iscoroutinefunction(endpoint):
            endpoint = _reading(endpoint)
        super().__init__(path, endpoint, **options)

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """The handler, told first where this app's reads run."""
        handle = super().get_route_handler()

        async def told(request: Request) -> Response:
            parts = request.path_params.items()
            check_address(part for name, part in parts if name not in UNREAD)
            _READS_ON_LOOP.set(request.app.state.hub.running.reads_on_loop)
            return await handle(request)

        return told


def _reading(endpoint: Callable[..., T]) -> Callable[..., Coroutine[Any, Any, T]]:
    @functools.wraps(endpoint)
    async def run(**values: Any) -> T:
        if _READS_ON_LOOP.get():
            return endpoint(**values)
        return await run_in_threadpool(endpoint, **values)

    return run
