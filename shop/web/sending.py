"""Sending what waits in the outbox, one mail at a time, beside the requests for as long as the app runs.

A mail is claimed in one short transaction, sent by a thread outside of any, and marked in another
(`shop.services.outbox` says what that leaves open). A server that hangs keeps that thread busy and nothing
else. Care notes that have fallen due are written here too. A demo sends nothing.
"""

import asyncio
import logging
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from datetime import datetime, timedelta
from enum import Enum
from functools import partial
from typing import NamedTuple

from shop.db.sessions import ChangedMeanwhile, Clash, DatabaseFault, LostUpdate, Session
from shop.outside.folder import read_mail_password
from shop.outside.mail import Letter, MailFault, MailServer, Sending
from shop.queries.mail_settings import MailSettingsView
from shop.queries.mails import due_cares, next_mail_at
from shop.services.mails import write_due_mails
from shop.services.outbox import Claim, claim_mail, mark_failed, mark_sent
from shop.web.deps import Hub, write

LOG = logging.getLogger("tackfree")
# How often the outbox is looked at; a look costs nothing while nobody has written anything.
LOOK_SECONDS = 2.0
# After a fault of the server the next mail waits too: it would only meet the same.
REST_SECONDS = 60.0
CARES_EVERY = timedelta(hours=1)
# How long a try that is running may go on after the app was told to stop, before it is cut.
GRACE_SECONDS = 10.0
DATABASE_FAULTS = (DatabaseFault, Clash, ChangedMeanwhile, LostUpdate)


class Step(Enum):
    """What one look at the outbox came to."""

    NOTHING = "nothing was due"
    SENT = "a mail was sent"
    REFUSED = "a mail was refused for good"
    LATER = "a mail is tried again later"


class Outcome(NamedTuple):
    """What became of a try: nothing wrong, or the fault's sentence and whether it is for good."""

    fault: str = ""
    is_for_good: bool = False


@asynccontextmanager
async def sending(hub: Hub) -> AsyncIterator[None]:
    """Send what waits in the outbox for as long as the block lasts."""
    if hub.demo:
        yield
        return
    post = Post(hub)
    task = asyncio.create_task(post.keep_going())
    try:
        yield
    finally:
        post.stop()
        seconds = GRACE_SECONDS
        while not (await asyncio.wait([task], timeout=seconds))[0]:
            # Cutting a try makes its thread end, and with it the task.
            post.cut()
            seconds = 1.0
        await task


def mail_server(hub: Hub, settings: MailSettingsView) -> MailServer:
    """The server of the settings with its password. Raises `OSError` where that cannot be read."""
    password = hub.settings.smtp_password or read_mail_password(hub.settings.data)
    return MailServer(settings.host, settings.port, settings.security, settings.user_name, password)


class Post:
    """Carries mail from the outbox to the server; one for a process."""

    def __init__(self, hub: Hub) -> None:
        self._hub = hub
        self._stopped = asyncio.Event()
        self._running: Sending | None = None
        self._cares_at: datetime | None = None

    def stop(self) -> None:
        """Begin nothing more; what is being sent is sent to its end."""
        self._stopped.set()

    def cut(self) -> None:
        """End the try that is running."""
        if self._running is not None:
            self._running.cut()

    async def keep_going(self) -> None:
        """Look at the outbox again and again, until `stop`."""
        rest = LOOK_SECONDS
        while not await self._stops_within(rest):
            try:
                await self.write_cares()
                step = await self.step()
            except Exception as fault:  # whatever it is, mail must not stop until a restart
                LOG.error("mail: %s", fault, exc_info=not isinstance(fault, DATABASE_FAULTS))
                step = Step.LATER
            rest = {Step.NOTHING: LOOK_SECONDS, Step.LATER: REST_SECONDS}.get(step, 0.0)

    async def _stops_within(self, seconds: float) -> bool:
        with suppress(TimeoutError):
            await asyncio.wait_for(self._stopped.wait(), seconds)
        return self._stopped.is_set()

    async def write_cares(self) -> None:
        """Write the care notes that have fallen due; looked for now and then, since nobody waits for them."""
        now = self._hub.clock.now()
        if self._cares_at is not None and self._cares_at <= now < self._cares_at + CARES_EVERY:
            return
        if await asyncio.to_thread(self._has_cares, now):
            await write(self._hub, now, lambda session: write_due_mails(session, now=now))
        self._cares_at = now

    def _has_cares(self, now: datetime) -> bool:
        with self._hub.database.reading() as session:
            return bool(due_cares(session, now))

    async def step(self) -> Step:
        """Send the mail that is due first, if there is one."""
        now = self._hub.clock.now()
        due_at = await self._due_at()
        if due_at is None or due_at > now:
            return Step.NOTHING
        settings = self._hub.settings
        claiming = partial(
            claim_mail, now=now, secret=self._hub.secret, public_url=settings.public_url
        )  # fmt: skip
        claim = await write(self._hub, now, claiming)
        if claim is None:
            return Step.NOTHING
        outcome = await asyncio.to_thread(self._try, claim)
        await self._mark(claim, outcome)
        if not outcome.fault:
            return Step.SENT
        LOG.warning("mail %d was not taken; the outbox says why", claim.mail_id)
        return Step.REFUSED if outcome.is_for_good else Step.LATER

    async def _due_at(self) -> datetime | None:
        if self._hub.running.reads_on_loop:
            return self._hub.memory.recall("next mail", self._read_due_at)
        return await self._hub.running.read(self._read_due_at)

    def _read_due_at(self) -> datetime | None:
        with self._hub.database.reading() as session:
            return next_mail_at(session)

    def _try(self, claim: Claim) -> Outcome:
        try:
            running = Sending(mail_server(self._hub, claim.settings), letter_of(claim))
            self._running = running
            running.run()
        except MailFault as fault:
            return Outcome(str(fault), fault.is_for_good)
        except OSError as fault:
            return Outcome(f"The mail server's password cannot be read: {fault.strerror}.")
        finally:
            self._running = None
        return Outcome()

    async def _mark(self, claim: Claim, outcome: Outcome) -> None:
        """Write down what became of a try, however long the database takes: else it would be sent twice."""
        while True:
            now = self._hub.clock.now()
            try:
                await write(self._hub, now, partial(_note, claim, outcome, now))
                return
            except DATABASE_FAULTS as fault:
                LOG.error("mail %d: what became of it cannot be written down yet: %s", claim.mail_id, fault)
                if await self._stops_within(LOOK_SECONDS):
                    return


def letter_of(claim: Claim) -> Letter:
    """A claimed mail as it is sent."""
    settings, words = claim.settings, claim.words
    return Letter(
        claim.message_id, claim.created_at, settings.from_address, settings.from_name, claim.to_address,
        words.subject, words.text, words.html,
    )  # fmt: skip


def _note(claim: Claim, outcome: Outcome, now: datetime, session: Session) -> None:
    if outcome.fault:
        mark_failed(session, claim, now=now, says=outcome.fault, is_for_good=outcome.is_for_good)
    else:
        mark_sent(session, claim, now=now)
