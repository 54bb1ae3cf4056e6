"""What a handler may ask for, as aliases that make its signature read as prose.

`Reading` and `Writing` are the two sessions, `Now` the instant of the request, `Posted` a form as typed.
Who may do what is in `shop.web.doors`.
"""

from collections.abc import AsyncIterator, Callable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Annotated, TypeVar

from fastapi import Depends, Query, Request
from starlette.concurrency import run_in_threadpool

from shop.clock import Clock
from shop.config import Settings
from shop.db.sessions import Database, Session
from shop.outside.passwords import Passwords
from shop.outside.photo_files import PhotoFolder
from shop.queries.cure_clock import CureClock
from shop.queries.kept_records import KeptRecords
from shop.queries.kept_sequences import KeptSequences
from shop.queries.kept_sheets import KeptSheets
from shop.services.tokens import new_token
from shop.web.addresses import MOST_WHOLE
from shop.web.heard import Heard
from shop.web.looked_at import ListFile, LookedAt, LookedAtFiles
from shop.web.memory import Memory
from shop.web.running import Running

T = TypeVar("T")


@dataclass(frozen=True)
class Hub:
    """What the app was put together from; made once in `shop.app` and kept at `app.state.hub`.

    `first_run` is the token of the page where the first owner is made; it lives as long as the process.
    """

    settings: Settings
    database: Database
    clock: Clock
    running: Running
    memory: Memory
    cure_clock: CureClock
    sequences: KeptSequences
    records: KeptRecords
    sheets: KeptSheets
    passwords: Passwords
    photos: PhotoFolder
    secret: bytes
    demo: bool = False
    heard: Heard = field(default_factory=Heard)
    looked_at: LookedAtFiles[LookedAt] = field(default_factory=LookedAtFiles)
    # Each may have several megabytes.
    list_files: LookedAtFiles[ListFile] = field(default_factory=lambda: LookedAtFiles(2))
    first_run: str = field(default_factory=new_token, repr=False)


def hub_of(request: Request) -> Hub:
    """The hub of the app that answers this request."""
    hub: Hub = request.app.state.hub
    return hub


async def the_hub(request: Request) -> Hub:
    """`hub_of` as a dependency; async so that it costs no change of thread."""
    return hub_of(request)


async def instant(request: Request) -> datetime:
    """The one reading of the clock that this request goes by."""
    return hub_of(request).clock.now()


async def reading_session(request: Request) -> AsyncIterator[Session]:
    """A session that sees one moment of the database."""
    with hub_of(request).database.reading() as session:
        yield session


async def writing_session(
    request: Request, now: Annotated[datetime, Depends(instant)]
) -> AsyncIterator[Session]:
    """A session whose work is committed before the answer is sent, and dropped if the handler raises."""
    hub = hub_of(request)
    async with hub.running.turn_to_write():
        session = await run_in_threadpool(hub.database.begin)
        try:
            request.state.writing = session
            yield session
        except BaseException:
            await run_in_threadpool(hub.database.abandon, session)
            raise
        await run_in_threadpool(hub.database.finish, session, now)


async def write(hub: Hub, now: datetime, work: Callable[[Session], T]) -> T:
    """Do a piece of writing of its own and commit it: where more is to be done after the commit."""

    def commit() -> T:
        with hub.database.writing(now) as session:
            return work(session)

    async with hub.running.turn_to_write():
        return await run_in_threadpool(commit)


class Posted(dict[str, str]):
    """A form as it was typed: the last value of each field, and every value of a repeated one."""

    def __init__(self, pairs: list[tuple[str, str]]) -> None:
        super().__init__(pairs)
        self._pairs = pairs

    def all(self, name: str) -> list[str]:
        """Every value of a repeated field, such as ticked boxes of one name."""
        return [value for key, value in self._pairs if key == name]

    def with_rows(self, prefix: str, columns: dict[str, list[str]]) -> "Posted":
        """The same form with other rows: the fields that begin with `prefix` give way to these columns."""
        kept = [(key, value) for key, value in self._pairs if not key.startswith(prefix)]
        return Posted(kept + [(key, value) for key, values in columns.items() for value in values])


async def posted_form(request: Request) -> Posted:
    """The posted fields; uploaded files are not taken here."""
    form = await request.form(max_files=0, max_fields=400)
    return Posted([(key, value.strip()) for key, value in form.multi_items() if isinstance(value, str)])


TheHub = Annotated[Hub, Depends(the_hub)]
Now = Annotated[datetime, Depends(instant)]
Reading = Annotated[Session, Depends(reading_session)]
# scope="function": the commit must come before the answer, or a failed commit would still show success.
Writing = Annotated[Session, Depends(writing_session, scope="function")]
Form = Annotated[Posted, Depends(posted_form)]
# A whole number that a page is asked with behind its address; a larger one would break the driver.
Asked = Annotated[int, Query(ge=0, le=MOST_WHOLE)]
