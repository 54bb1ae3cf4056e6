"""A demo server in a process of its own, for the tests that need a real one: browser and installed wheel.

It is started as a person starts it and found by the three lines it prints. What is asked of it is left
to the tests.
"""

import re
import socket
import subprocess
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

# Generous, for a loaded machine: it is only ever waited out when the server does not start at all.
START_SECONDS = 90.0
STOP_SECONDS = 30.0
THREE_LINES = re.compile(
    r"open (?P<address>\S+)\n"
    r"sign in as (?P<name>.+) with (?P<password>\S+)\n"
    r"status link (?P<status_link>\S+)\n"
)


class Demo(NamedTuple):
    """A running demo: the process and what its three lines say. `address` has no slash at its end."""

    process: subprocess.Popen[bytes]
    address: str
    name: str
    password: str
    status_link: str


def free_port() -> int:
    """A port of the loopback address that nobody listens on at this moment."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextmanager
def demo_server(command: Sequence[str], logs: Path, env: Mapping[str, str] | None = None) -> Iterator[Demo]:
    """Run `command serve --demo` from the folder `logs` on a free port, and end it afterwards.

    Its output goes to two files in `logs`, since nobody empties a pipe while a test runs.
    Raises AssertionError with what it wrote when the three lines do not come.
    """
    output, errors = logs / "stdout.txt", logs / "stderr.txt"
    with output.open("wb") as stdout, errors.open("wb") as stderr:
        process = subprocess.Popen(
            [*command, "serve", "--demo", "--port", str(free_port())],
            stdin=subprocess.DEVNULL,
            stdout=stdout,
            stderr=stderr,
            cwd=logs,
            env=env,
        )
    try:
        said = _three_lines(process, output, errors)
        yield Demo(process, said["address"].rstrip("/"), said["name"], said["password"], said["status_link"])
    finally:
        stop(process)


def stop(process: subprocess.Popen[bytes]) -> int:
    """Ask a server to end and return its exit status; kill it when it does not end by itself."""
    process.terminate()
    try:
        return process.wait(STOP_SECONDS)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
        raise


def _three_lines(process: subprocess.Popen[bytes], output: Path, errors: Path) -> re.Match[str]:
    deadline = time.monotonic() + START_SECONDS
    while time.monotonic() < deadline:
        ended = process.poll() is not None
        if said := THREE_LINES.match(output.read_text()):
            return said
        if ended:
            break
        time.sleep(0.1)
    raise AssertionError(f"the demo did not start:\n{output.read_text()}\n{errors.read_text()}")
