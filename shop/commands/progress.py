"""How far a long command has come, as one line on standard error; only for a person who watches a terminal.

Nothing is shown for the first seconds, so that a short command says nothing but what it did.
"""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from shop.clock import read_steady

QUIET_SECONDS = 2.0
BETWEEN_SECONDS = 0.2
WIDTH = 30


class Bar:
    """A bar that is drawn anew now and then; `share` says how much is done, from 0 to 1."""

    def __init__(self, label: str, share: Callable[[], float]) -> None:
        self._label = label
        self._share = share
        self._next = read_steady() + QUIET_SECONDS
        self.shown = False

    def tell(self) -> None:
        """Draw the bar, if it is time for it."""
        now = read_steady()
        if now < self._next or not sys.stderr.isatty():
            return
        self._next = now + BETWEEN_SECONDS
        share = min(1.0, max(0.0, self._share()))
        done = round(share * WIDTH)
        sys.stderr.write(f"\r{self._label} [{'#' * done}{'-' * (WIDTH - done)}] {share:4.0%}")
        sys.stderr.flush()
        self.shown = True


@contextmanager
def progress(label: str, share: Callable[[], float]) -> Iterator[Bar]:
    """A bar that is wiped away at the end, however it ends."""
    bar = Bar(label, share)
    try:
        yield bar
    finally:
        if bar.shown:
            sys.stderr.write("\r" + " " * (len(label) + WIDTH + 10) + "\r")
            sys.stderr.flush()
