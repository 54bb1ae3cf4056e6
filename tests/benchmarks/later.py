"""The program with a clock that goes on by a minute for each request for Setting.

A tablet on the wall asks once a minute, and whatever is kept within a minute is of no use to it. After four
hours the clock goes back to where it was: so many requests in a row would else see every cure hard. What
outlasts a minute, the words of the rows, is forgotten each time too where that is asked for.

python -m tests.benchmarks.later --port PORT [--forget]
"""

import argparse
import logging
import time
from datetime import UTC, datetime, timedelta

import uvicorn
from starlette.types import ASGIApp, Receive, Scope, Send

from shop.app import create_app, open_hub
from shop.clock import Clock
from shop.commands.serve import AnnouncingServer
from shop.config import Settings
from shop.web.setting_rows import kept_rows
from tests.benchmarks.setting import PATH

MINUTE = 60.0
# More than a frame of rows is kept for, or the minute would be known when it comes again.
MINUTES = 240


class MinuteByMinute:
    """Another minute for each request for Setting; the program's clock reads `wall` and `steady`."""

    def __init__(self, forgets: bool) -> None:
        self._forgets = forgets
        self._began, self._count = datetime.now(UTC), 0
        self._steady = time.monotonic()
        self.app: ASGIApp

    def wall(self) -> datetime:
        """The instant of the present request, in UTC."""
        return self._began + timedelta(seconds=self._ahead())

    def steady(self) -> float:
        """The same on the clock that the program checks the other by, in seconds."""
        return self._steady + self._ahead()

    def _ahead(self) -> float:
        return MINUTE * (self._count % MINUTES)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http" and scope["path"] == PATH:
            self._count += 1
            if self._forgets:
                kept_rows.cache_clear()
        await self.app(scope, receive, send)


def main() -> None:
    """Serve on loopback until stopped."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--port", type=int, required=True)
    parser.add_argument("--forget", action="store_true")
    given = parser.parse_args()
    minutes = MinuteByMinute(given.forget)
    hub = open_hub(Settings(database_url="", mqtt_url=""), Clock(minutes.wall, minutes.steady))
    minutes.app = create_app(hub)
    config = uvicorn.Config(
        minutes, port=given.port, lifespan="on", log_config=None, log_level=logging.WARNING, access_log=False,
        server_header=False,
    )  # fmt: skip
    AnnouncingServer(config, ()).run()


if __name__ == "__main__":
    main()
