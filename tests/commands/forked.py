"""Commands in processes that begin with the program already imported, which takes longer than most commands.

Each is a process of its own, with its own surroundings, streams, folder and status, forked from a server
of Python's `multiprocessing` that has imported `shop` and done nothing else. That the program starts from
nothing is left to the tests that say so.
"""

import multiprocessing
import os
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path

from shop.__main__ import main

_FORKING = multiprocessing.get_context("forkserver")
_FORKING.set_forkserver_preload([__name__])
_STREAMS = ((0, "stdin", os.O_RDONLY), (1, "stdout", os.O_WRONLY), (2, "stderr", os.O_WRONLY))


def _carry_out(words: Sequence[str], surroundings: Mapping[str, str], streams: Path, folder: Path) -> None:
    """In the new process: become a command with these words, and carry it out."""
    for number, name, mode in _STREAMS:
        opened = os.open(streams / name, mode)
        os.dup2(opened, number)
        os.close(opened)
    sys.stdin = open(0, encoding="utf-8", closefd=False)  # noqa: SIM115 - open as long as the process lives
    os.environ.clear()
    os.environ.update(surroundings)
    os.chdir(folder)
    sys.argv[:] = ["tackfree", *words]
    main()


def carry_out(
    words: Sequence[str], surroundings: Mapping[str, str], streams: Path, folder: Path, seconds: float
) -> int:
    """Carry out a command in a process of its own, within so many seconds; gives its status.

    It reads the file `stdin` in the folder `streams`, and writes to `stdout` and `stderr` there.
    """
    process = _FORKING.Process(target=_carry_out, args=(words, surroundings, streams, folder))
    process.start()
    process.join(seconds)
    status = process.exitcode
    if status is None:
        process.kill()
        process.join()
        raise AssertionError(f"not done after {seconds} s: {' '.join(words)}")
    process.close()
    return status
