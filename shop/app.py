"""The one place where settings, clock, database and web meet."""

import asyncio
import gc
import logging
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import datetime

from fastapi import FastAPI
from starlette.middleware.body_limit import RequestBodyLimitMiddleware
from starlette.staticfiles import StaticFiles

from shop.clock import Clock
from shop.config import Settings
from shop.db.sessions import Database, DatabaseFault
from shop.outside.folder import prepare_folder, read_secret
from shop.outside.migrations import migrate
from shop.outside.passwords import Passwords
from shop.outside.photo_files import PhotoFolder
from shop.paths import STATIC
from shop.queries.cure_clock import CureClock
from shop.queries.kept_records import KeptRecords
from shop.queries.kept_sequences import KeptSequences
from shop.queries.kept_sheets import KeptSheets
from shop.queries.photos import photo_names
from shop.queries.shop import last_instant, open_doubts
from shop.services.clock import record_doubt
from shop.web.api import add_api
from shop.web.deps import Hub
from shop.web.guards import Guards
from shop.web.kept_pages import KeptPages
from shop.web.listening import listening
from shop.web.memory import Memory
from shop.web.pages import add_pages
from shop.web.problems import add_handlers
from shop.web.running import Running
from shop.web.sending import sending

LOG = logging.getLogger("tackfree")
MOST_BODY_BYTES = 2_000_000
WATCH_SECONDS = 10.0


def open_hub(settings: Settings, clock: Clock, demo: bool = False) -> Hub:
    """Open the data folder and the database, bring its tables up to date, and check the clock.

    Raises `OSError` for an unusable folder and SQLAlchemy's `OperationalError` for an unusable database.
    """
    prepare_folder(settings.data)
    database = Database(settings.url())
    with database.engine.begin() as connection:
        migrate(connection)
    with database.reading() as session:
        clock.compare_with_record(last_instant(session))
    hub = Hub(
        settings=settings,
        database=database,
        clock=clock,
        memory=Memory(database),
        running=Running(reads_on_loop=database.embedded),
        cure_clock=CureClock(),
        sequences=KeptSequences(),
        records=KeptRecords(),
        sheets=KeptSheets(),
        passwords=Passwords(settings.password_time_cost, settings.password_memory_kib),
        photos=PhotoFolder(settings.data),
        secret=read_secret(settings.data),
        demo=demo,
    )
    write_down_doubt(hub)
    return hub


def write_down_doubt(hub: Hub) -> None:
    """Put a doubt about the clock on record, unless it stands there, so that it outlives this process."""
    now = hub.clock.now()
    if not hub.clock.doubt:
        return
    with hub.database.reading() as session:
        known = any(doubt.reason == hub.clock.doubt for doubt in open_doubts(session))
    if not known:
        with hub.database.writing(now) as session:
            record_doubt(session, now=now, reason=hub.clock.doubt)


def create_app(hub: Hub) -> FastAPI:
    """The web app around an open hub."""

    @asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncIterator[None]:
        watch = asyncio.create_task(_watch_clock(hub))
        clearing = asyncio.create_task(asyncio.to_thread(clear_photos, hub, hub.clock.now()))
        async with listening(hub), sending(hub):
            yield
        watch.cancel()
        await clearing
        hub.database.close()

    app = FastAPI(
        title="Tackfree",
        lifespan=lifespan,
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
    )
    app.state.hub = hub
    add_handlers(app)
    add_pages(app)
    add_api(app)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    app.add_middleware(RequestBodyLimitMiddleware, max_body_size=MOST_BODY_BYTES)
    app.add_middleware(Guards, most_body_bytes=MOST_BODY_BYTES)
    if hub.running.reads_on_loop:
        # Outermost: a page that was kept has its guards' headers already.
        app.add_middleware(KeptPages, hub=hub)
    return app


def settle_memory() -> None:
    """For a process that serves for long: what was made at start stays, so it is not looked through again.

    Looking through it at every collection costs the slowest answers most.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 50)


def clear_photos(hub: Hub, now: datetime) -> None:
    """Delete the files of photos that no row knows: a crash, or a full disk, came between the two."""
    try:
        with hub.database.reading() as session:
            known = photo_names(session)
        hub.photos.clear_orphans(known, now)
    except (OSError, DatabaseFault) as fault:
        LOG.error("files of photos that are on no record could not be cleared away: %s", fault)


async def _watch_clock(hub: Hub) -> None:
    while True:
        await asyncio.sleep(WATCH_SECONDS)
        hub.clock.now()
        if hub.clock.doubt:
            try:
                await asyncio.to_thread(write_down_doubt, hub)
            except DatabaseFault as fault:
                LOG.error("the doubt about the clock is not on record yet: %s", fault.orig)
