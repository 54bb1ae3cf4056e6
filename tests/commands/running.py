"""Running commands as a person does: in a process of their own, over a data folder of their own."""

import os
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

from tests.commands.forked import carry_out
from tests.house.tree import ROOT

# Generous, for a loaded machine: only ever waited out when nothing comes at all.
START_SECONDS = 60.0
STOP_SECONDS = 30.0


class Done(NamedTuple):
    """What a command that has ended left behind."""

    status: int
    out: str
    err: str


class Server(NamedTuple):
    """A running server: its process, the address without a slash at its end, and all that it printed."""

    process: "subprocess.Popen[bytes]"
    address: str
    lines: list[str]


def surroundings(data: Path, more: Mapping[str, str]) -> dict[str, str]:
    """The environment of a command: nothing of ours but the data folder, and quick passwords."""
    ours = {
        "PYTHONPATH": str(ROOT),
        "TACKFREE_DATA": str(data),
        "TACKFREE_PASSWORD_TIME_COST": "1",
        "TACKFREE_PASSWORD_MEMORY_KIB": "8",
    }
    kept = {name: value for name, value in os.environ.items() if not name.startswith("TACKFREE_")}
    return {**kept, **ours, **more}


def run(data: Path, *words: str, typed: str = "", **settings: str) -> Done:
    """Run a command to its end, in a process that has the program imported already."""
    with tempfile.TemporaryDirectory(prefix="tackfree-streams-") as folder:
        streams = Path(folder)
        (streams / "stdin").write_text(typed, encoding="utf-8")
        for name in ("stdout", "stderr"):
            (streams / name).touch()
        status = carry_out(words, surroundings(data, settings), streams, data.parent, START_SECONDS)
        out, err = ((streams / name).read_text(encoding="utf-8") for name in ("stdout", "stderr"))
    return Done(status, out, err)


def run_anew(data: Path, *words: str, typed: str = "", **settings: str) -> Done:
    """Run a command to its end, from nothing, as a person does."""
    done = subprocess.run(
        [sys.executable, "-m", "shop", *words],
        env=surroundings(data, settings), input=typed, capture_output=True, text=True, check=False,
        timeout=START_SECONDS, cwd=data.parent,
    )  # fmt: skip
    return Done(done.returncode, done.stdout, done.stderr)


def assert_refused(done: Done, *words: str) -> None:
    """A refusal: status 1, nothing on standard output, and one plain line that has these words."""
    assert done.status == 1, done
    assert done.out == ""
    assert done.err.count("\n") == 1, done.err
    assert "Traceback" not in done.err
    assert [word for word in words if word not in done.err] == [], done.err


@contextmanager
def serving(data: Path, *words: str, port: str = "0", **settings: str) -> Iterator[Server]:
    """A server on a free port, once it says that it is open; killed at the end if it still runs.

    `port` is another port to ask for; empty for the one that the command takes by itself.
    """
    output, errors = data.parent / "stdout.txt", data.parent / "stderr.txt"
    with output.open("wb") as stdout, errors.open("wb") as stderr:
        process = subprocess.Popen(
            [sys.executable, "-m", "shop", "serve", *(["--port", port] if port else []), *words],
            env=surroundings(data, settings), stdin=subprocess.DEVNULL, stdout=stdout, stderr=stderr,
            cwd=data.parent,
        )  # fmt: skip
    try:
        address = _wait_until_open(process, output, errors)
        yield Server(process, address, output.read_text().splitlines())
    finally:
        if process.poll() is None:
            process.kill()
        process.wait(STOP_SECONDS)


def _wait_until_open(process: "subprocess.Popen[bytes]", output: Path, errors: Path) -> str:
    deadline = time.monotonic() + START_SECONDS
    while time.monotonic() < deadline:
        ended = process.poll() is not None
        if said := re.match(r"open (\S+)/\n", output.read_text()):
            return said.group(1)
        if ended:
            break
        time.sleep(0.05)
    raise AssertionError(f"the server did not start:\n{output.read_text()}\n{errors.read_text()}")
