"""Listening to sensors over MQTT: which topics, and each message through the services in the writing turn.

Runs beside the requests on the event loop for as long as the app does. The client itself is
`shop.outside.mqtt`; what a payload means is `shop.web.mqtt_payloads`.
"""

import asyncio
import logging
from collections.abc import AsyncIterator, Callable, Sequence
from contextlib import asynccontextmanager, suppress
from datetime import datetime
from functools import partial
from typing import NamedTuple, TypeVar

from shop.db.sessions import ChangedMeanwhile, Clash, DatabaseFault, Session
from shop.outside.mqtt import Listener, Message
from shop.queries.sensors import Topic, sensor_topics
from shop.rules.refusals import Refusal
from shop.services.zones import hear_sensor
from shop.web.deps import Hub, write
from shop.web.mqtt_payloads import PayloadFault, read_payload

T = TypeVar("T")
LOG = logging.getLogger("tackfree")
# How often the sensors on file are compared with the topics that are heard.
LOOK_SECONDS = 2.0
# More than this waiting means that nothing can be stored; what comes then is let go.
MOST_WAITING = 10_000
# So many are stored together, so that a request that writes need not wait for long.
MOST_TOGETHER = 500
RETRY_SECONDS = 5.0


class Arrived(NamedTuple):
    """A message and the instant at which it came."""

    message: Message
    at: datetime


class Turned(NamedTuple):
    """A message that was not taken in, by whose sensor, and why."""

    arrived: Arrived
    sensor_id: int
    says: str


@asynccontextmanager
async def listening(hub: Hub) -> AsyncIterator[None]:
    """Hear the sensors' topics for as long as the block lasts, where a broker is set. Raises `MqttFault`."""
    if not hub.settings.mqtt_url:
        yield
        return
    ears = _Ears(hub)
    tasks = [asyncio.create_task(ears.follow_topics()), asyncio.create_task(ears.store())]
    for task in tasks:
        task.add_done_callback(_say_if_it_broke)
    ears.listener.start()
    try:
        yield
    finally:
        for task in tasks:
            task.cancel()
        for task in tasks:
            with suppress(asyncio.CancelledError):
                await task
        await asyncio.to_thread(ears.listener.stop)


def _say_if_it_broke(task: "asyncio.Task[None]") -> None:
    if not task.cancelled() and task.exception() is not None:
        LOG.error("MQTT: nothing more is heard until a restart", exc_info=task.exception())


class _Ears:
    """The listener and the queue between its thread and the event loop."""

    def __init__(self, hub: Hub) -> None:
        self._hub = hub
        self._loop = asyncio.get_running_loop()
        self._queue: asyncio.Queue[Arrived] = asyncio.Queue(MOST_WAITING)
        self._sensors: dict[str, int] = {}
        self.listener = Listener(
            hub.settings.mqtt_url,
            deliver=lambda message: self._on_loop(self._came, message),
            connected=lambda is_connected: self._on_loop(self._connection, is_connected),
        )

    def _on_loop(self, do: Callable[[T], None], what: T) -> None:
        with suppress(RuntimeError):  # the loop has ended: the app is being stopped
            self._loop.call_soon_threadsafe(do, what)

    def _came(self, message: Message) -> None:
        if self._queue.full():
            LOG.error("MQTT: %d messages wait to be stored; one of %s is let go", MOST_WAITING, message.topic)
            return
        self._queue.put_nowait(Arrived(message, self._hub.clock.now()))

    def _connection(self, is_connected: bool) -> None:
        self._hub.heard.connection(is_connected, self._hub.clock.now())

    async def follow_topics(self) -> None:
        """Hear the topics of the sensors on file, now and whenever they change."""
        while True:
            try:
                topics = await self._topics()
                self._sensors = {topic.topic: topic.sensor_id for topic in topics}
                self.listener.hear(self._sensors)
            except DatabaseFault as fault:
                LOG.error("MQTT: the sensors on file cannot be read: %s", fault.orig)
            await asyncio.sleep(LOOK_SECONDS)

    async def _topics(self) -> Sequence[Topic]:
        if self._hub.running.reads_on_loop:
            return self._hub.memory.recall("topics", self._read_topics)
        return await self._hub.running.read(self._read_topics)

    def _read_topics(self) -> Sequence[Topic]:
        with self._hub.database.reading() as session:
            return sensor_topics(session)

    async def store(self) -> None:
        """Store what comes, several at a time where they crowd; tried again while the database cannot."""
        while True:
            waiting = [await self._queue.get()]
            while len(waiting) < MOST_TOGETHER and not self._queue.empty():
                waiting.append(self._queue.get_nowait())
            try:
                refused = await self._stored(waiting)
            except Exception:  # a mistake of ours must not make the shop deaf until a restart
                LOG.exception("MQTT: %d messages are let go", len(waiting))
                continue
            for turned in refused:
                self._refuse(turned)

    async def _stored(self, waiting: list[Arrived]) -> list[Turned]:
        while True:
            try:
                return await write(self._hub, self._hub.clock.now(), partial(self._take_in, waiting))
            except (DatabaseFault, Clash, ChangedMeanwhile) as fault:
                LOG.error("MQTT: %d readings cannot be stored, trying again: %s", len(waiting), fault)
                await asyncio.sleep(RETRY_SECONDS)

    def _take_in(self, waiting: list[Arrived], session: Session) -> list[Turned]:
        """Take in what can be; gives what cannot."""
        turned = []
        for came in waiting:
            sensor_id = self._sensors.get(came.message.topic)
            if sensor_id is None:  # nobody's any more
                continue
            try:
                said = read_payload(came.message.payload, came.message.is_retained)
                hear_sensor(
                    session, sensor_id, now=came.at, at=said.at or came.at, celsius=said.celsius
                )  # fmt: skip
            except PayloadFault as fault:
                turned.append(Turned(came, sensor_id, str(fault)))
            except Refusal as refusal:
                turned.append(Turned(came, sensor_id, refusal.sentence))
        return turned

    def _refuse(self, turned: Turned) -> None:
        if self._hub.heard.refuse(turned.sensor_id, turned.says, turned.arrived.at):
            LOG.warning("MQTT: refused from %s: %s", turned.arrived.message.topic, turned.says)
