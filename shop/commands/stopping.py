"""Stopping a command half way: a signal becomes one plain line, and what was begun is thrown away.

Once the work is whole and only the commit is left, a signal waits: nobody is told that nothing was done of
something that was. A kill that cannot be caught leaves the database as it was, since it sees no commit.
"""

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

from shop.commands.faults import CannotDo

SIGNALS = (signal.SIGINT, signal.SIGTERM)


@contextmanager
def undone_when_stopped() -> Iterator[None]:
    """Let a signal inside the block end the command; after it, until the process ends, none does."""

    def stop(_number: int, _frame: FrameType | None) -> None:
        raise CannotDo("Stopped half way; nothing was done.")

    for number in SIGNALS:
        signal.signal(number, stop)
    try:
        yield
    finally:
        for number in SIGNALS:
            signal.signal(number, signal.SIG_IGN)
