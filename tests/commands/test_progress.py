"""The bar of a long command: only on a terminal, only after a while, and gone at the end."""

import os
import pty
import select
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from shop.commands import progress as bars
from shop.commands.progress import progress


def told(*shares: float) -> None:
    walk = iter(shares)
    with progress("Taking in", lambda: next(walk)) as bar:
        for _ in shares:
            bar.tell()


@contextmanager
def at_a_terminal(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[], str]]:
    """A terminal as standard error; gives what reads all that a person sees there, to the wiping."""
    reading, writing = pty.openpty()
    os.set_blocking(reading, False)

    def see() -> str:
        seen = os.read(reading, 4096).decode()
        while not seen.endswith(" \r"):
            # A terminal may hand on what was written in pieces.
            select.select([reading], [], [], 30)
            seen += os.read(reading, 4096).decode()
        return seen

    with os.fdopen(writing, "w") as stderr, monkeypatch.context() as patched:
        patched.setattr(sys, "stderr", stderr)
        yield see
    os.close(reading)


def test_a_person_at_a_terminal_sees_how_far_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bars, "QUIET_SECONDS", 0.0)
    monkeypatch.setattr(bars, "BETWEEN_SECONDS", 0.0)
    with at_a_terminal(monkeypatch) as see:
        told(0.0, 0.5, 1.5)
        seen = see()
    drawn = [part for part in seen.split("\r") if part.strip()]
    bars_drawn = [f"[{'-' * 30}]   0%", f"[{'#' * 15}{'-' * 15}]  50%", f"[{'#' * 30}] 100%"]
    assert drawn == [f"Taking in {bar}" for bar in bars_drawn]
    assert seen.endswith(" \r"), "it is wiped away"


def test_a_short_command_shows_none(monkeypatch: pytest.MonkeyPatch) -> None:
    with at_a_terminal(monkeypatch) as see:
        told(0.2, 0.9)
        with pytest.raises(BlockingIOError):
            see()


def test_nothing_is_drawn_into_a_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bars, "QUIET_SECONDS", 0.0)
    with (tmp_path / "log").open("w") as log:
        monkeypatch.setattr(sys, "stderr", log)
        told(0.2, 0.9)
    assert (tmp_path / "log").read_text() == ""
